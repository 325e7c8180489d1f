//go:build unix

package main

import (
	"bufio"
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// Every limit has a flag that bites, on a file that is read without it, and the message says by which flag it is
// raised.
func TestEveryLimitBites(t *testing.T) {
	heavy.Test(t)
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
		"a.xlsx": zipping(book(text(`<row r="2"><c r="A2" t="s"><v>0</v></c></row>`),
			text("<sst><si><t>1</t></si><si><t>2</t></si></sst>"))),
		"blanks.xlsx": zipping(book(func(w *bufio.Writer) {
			repeat(w, strings.Repeat(" ", 1<<20), 5)
			w.WriteString(oneRow)
		}, nil)),
		"map.json":      text(`{"columns":[]}`),
		"areas.geojson": text(`{"type":"FeatureCollection","features":[` + square + `,` + square + `]}`),
		"a.png":         func(w *bufio.Writer) { w.Write(dot.Bytes()) },
	}
	share := []string{"share", "a.findslip.json", "--for", "recorder", "-o", "out.findslip.json", "--pictures", ".",
		"--no-register"}
	rows := map[string]struct {
		value  string
		args   []string
		status int // with the limit
	}{
		"bytes":         {"10", []string{"check", "a.csv"}, 2},
		"spool":         {"10", []string{"check", "-"}, 2},
		"side":          {"10", []string{"check", "a.csv", "--protected", "areas.geojson"}, 2},
		"held":          {"10", []string{"convert", "a.findslip.json", "-o", "out.xlsx", "--check-loss"}, 2},
		"record":        {"20", []string{"check", "a.findslip.json"}, 2},
		"header":        {"20", []string{"check", "a.findslip.json"}, 2},
		"values":        {"2", []string{"check", "a.findslip.json"}, 2},
		"header-values": {"2", []string{"check", "a.findslip.json"}, 2},
		"nesting":       {"1", []string{"check", "a.findslip.json"}, 1}, // a notice on the find, and the others are read
		"finds":         {"2", []string{"check", "faults.jsonl"}, 2},
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
	made := t.TempDir()
	for name, write := range files {
		writing(t, filepath.Join(made, name), write)
	}
	for _, before := range [][]string{{"pack", "a.findslip.json", "-o", "in.zip", "--pictures", "."},
		{"convert", "a.csv", "-o", "book.xlsx", "--quiet"}} {
		if r := hostileRun(t, made, nil, before...); r.status == 2 {
			t.Fatal(r.err)
		}
	}
	for _, l := range limit.All() {
		row, ok := rows[l.Name]
		if !ok {
			t.Errorf("no row for the limit %s", l.Name)
			continue
		}
		t.Run(l.Name, func(t *testing.T) {
			t.Parallel()
			run := func(flags ...string) ran {
				dir := hostileDir(t)
				if err := os.CopyFS(dir, os.DirFS(made)); err != nil {
					t.Fatal(err)
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
			if r.status != row.status || !strings.Contains(r.err+r.out, says) || l.Name != "ratio" &&
				!strings.Contains(r.err+r.out, row.value) {
				t.Errorf("%v with %s=%s ends with %d and says %.300s%.300s", row.args, l.Name, row.value, r.status, r.err, r.out)
			}
		})
	}
}

// Outlines of protected areas that were made to do harm: refused with a word, or asked as quickly as any other, and
// memory stays bounded.
func TestHostileAreas(t *testing.T) {
	heavy.Test(t)
	round := func(w *bufio.Writer, points int) {
		for i := range points {
			at := 2 * math.Pi * float64(i) / float64(points)
			fmt.Fprintf(w, "[%.6f,%.6f],", 2*math.Cos(at)-1, math.Sin(at)+52)
		}
		w.WriteString("[1.000000,52.000000]")
	}
	polygon := func(rings func(w *bufio.Writer)) func(*bufio.Writer) {
		return func(w *bufio.Writer) {
			w.WriteString(`{"type":"Polygon","coordinates":[`)
			rings(w)
			w.WriteString("]}")
		}
	}
	for name, h := range map[string]hostile{
		"one outline of a million points": {make: polygon(func(w *bufio.Writer) {
			w.WriteString("[")
			round(w,
				1_000_000)
			w.WriteString("]")
		}), check: 0, says: "protected-ground"},
		"many holes": {make: polygon(func(w *bufio.Writer) {
			w.WriteString("[")
			round(w, 200_000)
			w.WriteString("]")
			for i := range 200_000 {
				x, y := -1.5+float64(i%500)/1000, 51.8+float64(i/500)/1000
				fmt.Fprintf(w, ",[[%.4f,%.4f],[%.4f,%.4f],[%.4f,%.4f],[%.4f,%.4f]]", x, y, x+0.0005, y, x, y+0.0005, x, y)
			}
		}), check: 0, says: "protected-ground"},
		"a comb": {make: polygon(func(w *bufio.Writer) {
			w.WriteString("[[0,49]")
			for i := range 20_000 {
				if x := float64(i) / 40_000; i%2 == 0 {
					fmt.Fprintf(w, ",[%.5f,50],[%.5f,51]", x, x+1)
				} else {
					fmt.Fprintf(w, ",[%.5f,51],[%.5f,50]", x+1, x)
				}
			}
			w.WriteString(",[0.49998,49],[0,49]]")
		}), check: 0, says: "1 area"},
		"more points than are read": {make: polygon(func(w *bufio.Writer) {
			w.WriteString("[")
			repeat(w, "[0,0],",
				10_000_000)
			w.WriteString("[0,0]]")
		}), check: 2, says: "--limit area-points=N"},
		"more bytes than are read": {make: polygon(func(w *bufio.Writer) { repeat(w, "                ", 5<<20) }), check: 2,
			says: "--limit side=N"},
		"more areas than are read": {make: func(w *bufio.Writer) {
			w.WriteString(`{"type":"FeatureCollection","features":[{}`)
			repeat(w, `,{"geometry":{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[0,0]]]}}`, 200_001)
			w.WriteString("]}")
		}, check: 2, says: "--limit areas=N"},
		"empty rings": {make: polygon(func(w *bufio.Writer) { w.WriteString("[]"); repeat(w, ",[]", 10_000_000) }), check: 2,
			says: "--limit area-points=N"},
		"empty features": {make: func(w *bufio.Writer) {
			w.WriteString(`{"type":"FeatureCollection","features":[{}`)
			repeat(w, ",{}", 10_000_000)
			w.WriteString("]}")
		}, check: 2, says: "no polygon"},
		"brackets":  {make: polygon(func(w *bufio.Writer) { repeat(w, "[", 100_000) }), check: 2, says: "not GeoJSON"},
		"cut short": {make: text(`{"type":"FeatureCollection","features":[{}`), check: 2, says: "not GeoJSON"},
		"a second value": {make: text(`{"type":"FeatureCollection","features":[{}]} {}`), check: 2,
			says: "something follows"},
		"duplicate key": {make: text(`{"type":"Polygon","type":"Polygon"}`), check: 2, says: "not GeoJSON"},
		"no object":     {make: text(`[[0,0]]`), check: 2, says: "does not begin with a bracket"},
		"not a number": {make: text(`{"type":"Polygon","coordinates":[[[NaN,0],[0,1],[1,1],[0,0]]]}`), check: 2,
			says: "not GeoJSON"},
		"out of range": {make: text(`{"type":"Polygon","coordinates":[[[1e999,0],[0,1],[1,1],[1e999,0]]]}`), check: 2,
			says: "no polygon"},
		"invalid UTF-8": {make: text("{\"type\":\"\xff\"}"), check: 2, says: "not GeoJSON"},
		"an escape":     {make: text(`{"type":"\u001b[31m"}`), check: 2, says: "has the type"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			dir := hostileDir(t)
			writing(t, filepath.Join(dir, "areas.geojson"), h.make)
			writing(t, filepath.Join(dir, "a.csv"), func(w *bufio.Writer) {
				w.WriteString("No,Find,Lat,Lon\n")
				for i := range 2000 {
					fmt.Fprintf(w, "%d,bell,%.5f,%.5f\n", i, 51.5+float64(i%50)/50, -1.5+float64(i/50)/40)
				}
			})
			r := hostileRun(t, dir, nil, "check", "a.csv", "--protected", "areas.geojson", "--fail-on", "never")
			if r.status != h.check || !strings.Contains(r.out+r.err, h.says) {
				t.Errorf("check ends with %d and says %.400s%.400s", r.status, r.err, r.out)
			}
			tidy(t, dir, "a.csv", "areas.geojson")
		})
	}
}

// As many notices as there may be cost little more than the memory of one list, in every form; as a page, and packed,
// they are shown by "empty people" in TestHostileCommands.
func TestManyNotices(t *testing.T) {
	heavy.Test(t)
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.csv"), func(w *bufio.Writer) {
		w.WriteString("No,Find,Depth,Lat,Lon\n")
		for i := range 180_000 {
			fmt.Fprintf(w, "%d,bell,8 in,52.1,-1.2\n", i)
		}
	})
	for _, args := range [][]string{{"check", "a.csv", "--report", "json"}, {"check", "a.csv", "--report", "sarif"}} {
		if r := hostileRun(t, dir, nil, args...); r.status == 2 {
			t.Errorf("%v: %s", args, r.err)
		}
	}
	tidy(t, dir, "a.csv")
}

// A find with more members than anybody has columns becomes a sheet in no more than a moment.
func TestVeryWideSheet(t *testing.T) {
	heavy.Test(t)
	t.Parallel()
	dir := hostileDir(t)
	writing(t, filepath.Join(dir, "a.geojson"), func(w *bufio.Writer) {
		w.WriteString(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"properties":{"number":"1"`)
		for i := range 16_000 {
			fmt.Fprintf(w, `,"m%d":%d`, i, i)
		}
		w.WriteString("}}]}")
	})
	for _, form := range []string{"xlsx", "csv", "kml", "gpx"} {
		if r := hostileRun(t, dir, nil, "convert", "a.geojson", "-o", "out."+form, "--quiet"); r.status == 2 {
			t.Errorf("%s: %s", form, r.err)
		}
	}
	tidy(t, dir, "a.geojson", "out.xlsx", "out.csv", "out.kml", "out.gpx")
}
