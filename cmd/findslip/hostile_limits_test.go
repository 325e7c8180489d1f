//go:build unix

package main

import (
	"bufio"
	"bytes"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
)

// Every limit has a flag that bites, on a file that is read without it, and the message says by which flag it is
// raised.
func TestEveryLimitBites(t *testing.T) {
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewGray(image.Rect(0, 0, 3, 2))); err != nil {
		t.Fatal(err)
	}
	square := `{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[1,0],[0,0]]]}}`
	find := `{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12","number":"1","name":"bell","media":[{"file":"a.png"}],"notes":"long enough"}`
	files := map[string]func(*bufio.Writer){
		"a.csv":           text("No,Depth\n1,8 in\n2,9 in\n"),
		"a.findslip.json": text(`{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","people":[{"id":"person-1","roles":[{"code":"finder"}]}],"finds":[` + find + `]}`),
		"faults.jsonl":    text(lineHead + strings.Repeat(`{"type":"find","find":{"x":1,"y":2}}`+"\n", 3)),
		"a.xlsx":          zipping(book(text(`<row r="2"><c r="A2" t="s"><v>0</v></c></row>`), text("<sst><si><t>1</t></si><si><t>2</t></si></sst>"))),
		"blanks.xlsx": zipping(book(func(w *bufio.Writer) {
			repeat(w, strings.Repeat(" ", 1<<20), 5)
			w.WriteString(oneRow)
		}, nil)),
		"map.json":      text(`{"columns":[]}`),
		"areas.geojson": text(`{"type":"FeatureCollection","features":[` + square + `,` + square + `]}`),
		"a.png":         func(w *bufio.Writer) { w.Write(dot.Bytes()) },
	}
	share := []string{"share", "a.findslip.json", "--for", "recorder", "-o", "out.findslip.json", "--pictures", ".", "--no-log"}
	rows := map[string]struct {
		value  string
		args   []string
		status int // with the limit
	}{
		"bytes":         {"10", []string{"check", "a.csv"}, 2},
		"spool":         {"10", []string{"check", "-"}, 2},
		"side":          {"10", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"held":          {"10", share, 2},
		"record":        {"20", []string{"check", "a.findslip.json"}, 2},
		"header":        {"20", []string{"check", "a.findslip.json"}, 2},
		"values":        {"2", []string{"check", "a.findslip.json"}, 2},
		"header-values": {"2", []string{"check", "a.findslip.json"}, 2},
		"nesting":       {"1", []string{"check", "a.findslip.json"}, 1}, // a notice on the find, and the others are read
		"finds":         {"2", []string{"check", "faults.jsonl"}, 2},
		"notices":       {"1", []string{"check", "faults.jsonl"}, 2},
		"rows":          {"2", []string{"check", "a.csv"}, 2},
		"columns":       {"1", []string{"check", "a.csv"}, 2},
		"cell":          {"3", []string{"check", "a.csv"}, 2},
		"row":           {"4", []string{"check", "a.csv"}, 2},
		"texts":         {"1", []string{"check", "a.xlsx"}, 2},
		"entries":       {"3", []string{"check", "a.xlsx"}, 2},
		"expanded":      {"300", []string{"check", "a.xlsx"}, 2},
		"ratio":         {"2", []string{"check", "blanks.xlsx", "--limit", "ratio=none"}, 2},
		"marked":        {"300", []string{"check", "book.xlsx", "--mark", "out.xlsx"}, 2},
		"areas":         {"1", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"area-points":   {"9", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"bag-files":     {"3", []string{"unpack", "in.zip", "-o", "out"}, 2},
		"bag-list":      {"50", []string{"unpack", "in.zip", "-o", "out"}, 2},
		"bag-bytes":     {"100", []string{"unpack", "in.zip", "-o", "out"}, 2},
		"picture":       {"10", share, 0}, // the picture stays behind, and that is said
		"pixels":        {"5", share, 0},
	}
	for _, l := range limit.All() {
		row, ok := rows[l.Name]
		if !ok {
			t.Errorf("no row for the limit %s", l.Name)
			continue
		}
		t.Run(l.Name, func(t *testing.T) {
			run := func(flags ...string) ran {
				dir := hostileDir(t)
				for name, write := range files {
					writing(t, filepath.Join(dir, name), write)
				}
				for _, before := range [][]string{{"pack", "a.findslip.json", "-o", "in.zip", "--pictures", "."}, {"convert", "a.csv", "-o", "book.xlsx", "--quiet"}} {
					if r := hostileRun(t, dir, nil, before...); r.status == 2 {
						t.Fatal(r.err)
					}
				}
				var in io.Reader
				if row.args[1] == "-" {
					in = strings.NewReader("No,Depth\n1,8 in\n")
				}
				r := hostileRun(t, dir, in, append(append([]string{}, row.args...), flags...)...)
				for _, name := range []string{"out", "out.findslip.json", "out.xlsx"} {
					if _, err := os.Lstat(filepath.Join(dir, name)); r.status == 2 && err == nil {
						t.Errorf("%v leaves %s behind", row.args, name)
					}
				}
				return r
			}
			says := "--limit " + l.Name + "=N"
			if r := run(); r.status == 2 || strings.Contains(r.err+r.out, says) {
				t.Errorf("without a flag %v ends with %d and says %.300s", row.args, r.status, r.err)
			}
			r := run("--limit", l.Name+"="+row.value)
			if r.status != row.status || !strings.Contains(r.err+r.out, says) || l.Name != "ratio" && !strings.Contains(r.err+r.out, row.value) {
				t.Errorf("%v with %s=%s ends with %d and says %.300s%.300s", row.args, l.Name, row.value, r.status, r.err, r.out)
			}
		})
	}
}
