//go:build unix

package main

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// hostile is a file and what the command is to say of it.
type hostile struct {
	file   string
	make   func(w *bufio.Writer)
	check  int // exit status of check and of convert
	conv   int
	says   string   // is said by check, in either stream
	limits []string // flags
}

const reportHead = `{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e","finds":[`

const lineHead = `{"type":"report","report":{"findslip":"1.0"}}` + "\n"

func text(s string) func(*bufio.Writer) { return func(w *bufio.Writer) { w.WriteString(s) } }

func oneFind(members string) func(*bufio.Writer) {
	return text(reportHead + `{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12","number":"1"` + members + `}]}`)
}

var hostileTexts = map[string]hostile{
	"empty":       {file: "a.json", make: text(""), check: 2, conv: 2, says: "the file is empty"},
	"only a mark": {file: "a.findslip.json", make: text("\xef\xbb\xbf"), check: 2, conv: 2, says: "empty"},
	"cut short": {file: "a.findslip.json", make: text(reportHead + `{"number":"1"`), check: 2, conv: 2,
		says: "ends in the middle"},
	"duplicate key": {file: "a.findslip.json", make: oneFind(`,"name":"a","name":"b"`), check: 2, conv: 2,
		says: "same member stands twice"},
	"duplicate in words": {file: "a.findslip.json", make: oneFind(`,"name":"a","n\u0061me":"b"`), check: 2, conv: 2,
		says: "same member stands twice"},
	"not a number": {file: "a.findslip.json", make: oneFind(`,"depth":{"min":NaN}`), check: 2, conv: 2,
		says: "not JSON"},
	"infinity": {file: "a.findslip.json", make: oneFind(`,"depth":{"min":-Infinity}`), check: 2, conv: 2,
		says: "not JSON"},
	"1e999": {file: "a.findslip.json", make: oneFind(`,"depth":{"min":1e999}`), check: 1, conv: 1,
		says: "json-number-out-of-range"},
	"1e999999999999": {file: "a.findslip.json", make: oneFind(`,"depth":{"min":1e999999999999}`), check: 1, conv: 1,
		says: "json-number-out-of-range"},
	"lone surrogate": {file: "a.findslip.json", make: oneFind(`,"name":"\ud800"`), check: 2, conv: 2,
		says: "stands alone"},
	"NUL": {file: "a.findslip.json", make: oneFind(",\"name\":\"a\x00b\""), check: 2, conv: 2,
		says: "not JSON"},
	"escaped NUL": {file: "a.findslip.json", make: oneFind(`,"name":"a\u0000\u001b[31mb"`), check: 0, conv: 0},
	"invalid UTF-8": {file: "a.findslip.json", make: oneFind(",\"name\":\"gr\xfcn\""), check: 2, conv: 2,
		says: "not UTF-8"},
	"long line": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(reportHead + `{"name":"`)
		repeat(w, "x", 10<<20)
		w.WriteString(`"}]}`)
	}, check: 2, conv: 2, says: "--limit record=N"},
	"long header": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(`{"findslip":"1.0","title":"`)
		repeat(w, "x", 40<<20)
		w.WriteString(`"}`)
	}, check: 2, conv: 2, says: "--limit header=N"},
	"brackets": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(`{"findslip":"1.0","x":`)
		repeat(w, "[", 100_000)
		repeat(w, "]", 100_000)
		w.WriteString("}")
	}, check: 2, conv: 2, says: "too deep"},
	"brackets in a find": {file: "a.findslip.json",
		make: func(w *bufio.Writer) { w.WriteString(reportHead + `{"x":`); repeat(w, "[", 100_000) }, check: 2, conv: 2,
		says: "too deep"},
	"braces": {file: "a.findslip.json", make: func(w *bufio.Writer) { repeat(w, `{"a":`, 100_000) }, check: 2,
		conv: 2, says: "too deep"},
	"a little deep": {file: "a.findslip.json",
		make: oneFind(`,"x":` + strings.Repeat("[", 70) + strings.Repeat("]", 70)), check: 1, conv: 1,
		says: "--limit nesting=N"},
	"many members": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(reportHead + `{"number":"1"`)
		for i := range 15_000 {
			w.WriteString(`,"m` + strings.Repeat("i", 3) + string(rune('a'+i%26)) + strconv.Itoa(i) + `":1`)
		}
		w.WriteString("}]}")
	}, check: 1, conv: 1, says: "15000 remarks"},

	"lines of nothing": {file: "a.jsonl", make: func(w *bufio.Writer) {
		w.WriteString(lineHead)
		repeat(w, "x\n", 600_000)
	}, check: 1, conv: 1, says: "jsonl-line-unreadable"},
	"a line too long": {file: "a.jsonl", make: func(w *bufio.Writer) {
		w.WriteString(lineHead + `{"type":"find","find":{"name":"`)
		repeat(w, "x", 10<<20)
		w.WriteString("\"}}\n" + `{"type":"find","find":{"number":"2","name":"bell"}}` + "\n" + `{"type":"end","finds":1}`)
	}, check: 1, conv: 1, says: "--limit record=N"},
	"no end of a line": {file: "a.jsonl", make: func(w *bufio.Writer) { repeat(w, "x", 100<<20) }, check: 2, conv: 2,
		says: "--limit header=N"},
	"deep line": {file: "a.jsonl", make: func(w *bufio.Writer) {
		w.WriteString(lineHead + `{"type":"find","find":{"x":`)
		repeat(w, "[", 100_000)
		w.WriteString("\n")
	}, check: 1, conv: 1, says: "too deep"},
	"more finds": {file: "a.jsonl", make: func(w *bufio.Writer) {
		w.WriteString(lineHead)
		repeat(w, `{"type":"find","find":{"number":"1","name":"a"}}`+"\n", 300)
	}, check: 2, conv: 2, says: "--limit finds=N", limits: []string{"--limit", "finds=299"}},
	"too many bytes": {file: "a.jsonl", make: text(lineHead), check: 2, conv: 2, says: "--limit bytes=N",
		limits: []string{"--limit", "bytes=10"}},

	"million columns": {file: "a.csv", make: func(w *bufio.Writer) { repeat(w, "Depth,", 1_000_000) }, check: 2, conv: 2,
		says: "--limit columns=N"},
	"million blanks": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,Depth\n")
		repeat(w, ",",
			1_000_000)
	}, check: 2, conv: 2, says: "--limit columns=N"},
	"long cell": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,Depth\n1,")
		repeat(w, "x",
			10<<20)
	}, check: 2, conv: 2, says: "--limit cell=N"},
	"long row": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,Depth\n1,")
		for range 12 {
			repeat(w, "x", 1<<20)
			w.WriteString(",")
		}
	}, check: 2, conv: 2, says: "--limit row=N"},
	"open quote": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,Depth\n1,\"")
		repeat(w, "8 in\n", 3<<20)
	}, check: 2, conv: 2, says: "--limit rows=N", limits: []string{"--limit", "rows=100000"}},
	"NUL in a table": {file: "a.csv", make: text("No,Depth\n1,\x00\n"), check: 2, conv: 2, says: "NUL byte"},
	"too many rows": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,Depth\n")
		repeat(w, "1,8 in\n",
			1_100_000)
	}, check: 2, conv: 2, says: "--limit rows=N", limits: []string{"--limit", "rows=1000"}},
	"other encoding": {file: "a.csv", make: text("No,Find,Depth\n1,gr\xfcn,8 in\n"), check: 0, conv: 0,
		says: "table-form-found"},

	"laughing GPX": {file: "a.gpx", make: text(laughs("gpx")), check: 2, conv: 2, says: "document type"},
	"external GPX": {file: "a.gpx", make: text(`<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]><gpx><wpt lat="1" lon="1"><name>&x;</name></wpt></gpx>`), check: 2, conv: 2, says: "document type"},
	"unknown entity": {file: "a.gpx", make: text(`<gpx><wpt lat="1" lon="1"><name>&x;</name></wpt></gpx>`), check: 2,
		conv: 2, says: "well-formed"},
	"deep GPX": {file: "a.gpx", make: func(w *bufio.Writer) { w.WriteString("<gpx>"); repeat(w, "<a>", 100_000) },
		check: 2, conv: 2, says: "--limit nesting=N"},
	"deep waypoint": {file: "a.gpx", make: func(w *bufio.Writer) {
		w.WriteString(`<gpx><wpt lat="1" lon="1"><extensions>`)
		repeat(w, "<a>", 100_000)
	}, check: 2, conv: 2, says: "--limit nesting=N"},
	"long waypoint": {file: "a.gpx", make: func(w *bufio.Writer) {
		w.WriteString(`<gpx><wpt lat="1" lon="1"><name>`)
		repeat(w, "x", 10<<20)
		w.WriteString("</name></wpt></gpx>")
	}, check: 2, conv: 2, says: "--limit record=N"},
	"long attribute": {file: "a.gpx", make: func(w *bufio.Writer) {
		w.WriteString(`<gpx a="`)
		repeat(w, "x",
			100<<20)
		w.WriteString(`"/>`)
	}, check: 2, conv: 2, says: "--limit header=N"},
	"laughing KML": {file: "a.kml", make: text(laughs("kml")), check: 2, conv: 2, says: "document type"},
	"deep KML": {file: "a.kml", make: func(w *bufio.Writer) {
		w.WriteString("<kml>")
		repeat(w, "<Folder>",
			100_000)
	}, check: 2, conv: 2, says: "--limit nesting=N"},
	"deep geometry": {file: "a.kml", make: func(w *bufio.Writer) {
		w.WriteString("<kml><Placemark>")
		repeat(w,
			"<MultiGeometry>", 50_000)
	}, check: 2, conv: 2, says: "--limit nesting=N"},
	"long placemark": {file: "a.kml", make: func(w *bufio.Writer) {
		w.WriteString("<kml><Placemark><LineString><coordinates>")
		repeat(w, "1,1 ", 5<<20)
		w.WriteString("</coordinates></LineString></Placemark></kml>")
	}, check: 2, conv: 2, says: "--limit record=N"},
	"many areas": {file: "a.kml", make: func(w *bufio.Writer) {
		w.WriteString("<kml>")
		repeat(w, "<Placemark><name>f</name><Polygon><outerBoundaryIs><LinearRing><coordinates>0,0 0,1 1,1 0,0</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>", 200_000)
		w.WriteString("</kml>")
	}, check: 2, conv: 2, says: "--limit header=N"},
	"control in KML": {file: "a.kml", make: text("<kml><Placemark><name>\x1b[31m</name></Placemark></kml>"), check: 2,
		conv: 2, says: "well-formed"},
	"long feature": {file: "a.geojson", make: func(w *bufio.Writer) {
		w.WriteString(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"properties":{"a":"`)
		repeat(w, "x", 10<<20)
		w.WriteString(`"}}]}`)
	}, check: 2, conv: 2, says: "--limit record=N"},
	"deep feature": {file: "a.geojson", make: func(w *bufio.Writer) {
		w.WriteString(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":`)
		repeat(w, "[", 100_000)
	}, check: 2, conv: 2, says: "too deep"},
	"areas of GeoJSON": {file: "a.geojson", make: func(w *bufio.Writer) {
		w.WriteString(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"properties":{}}`)
		repeat(w, `,{"type":"Feature","id":"permission-1","geometry":{"type":"Polygon","coordinates":[[[0,0],[0,1],[1,1],[0,0]]]},"properties":{"record":"permission"}}`, 200_000)
		w.WriteString(`]}`)
	}, check: 2, conv: 2, says: "--limit header=N"},
	"duplicate feature": {file: "a.geojson",
		make: text(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"geometry":null,"properties":{}}]}`), check: 2, conv: 2, says: "same member stands twice"},
}

func laughs(root string) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><!DOCTYPE ` + root + ` [<!ENTITY l0 "ha">`)
	for i := 1; i < 10; i++ {
		b.WriteString(`<!ENTITY l` + strconv.Itoa(i) + ` "` + strings.Repeat("&l"+strconv.Itoa(i-1)+";", 10) + `">`)
	}
	return b.String() + `]><` + root + `>&l9;</` + root + `>`
}

// Files of text that were made to do harm, or that are broken: the exit status is the right one, what
// is wrong is said, nothing is left behind, the input is as it was, and memory stays bounded.
func TestHostileTexts(t *testing.T) {
	heavy.Test(t)
	for name, h := range hostileTexts {
		t.Run(name, func(t *testing.T) { t.Parallel(); h.run(t); h.stdin(t) })
	}
}

func (h *hostile) run(t *testing.T) {
	dir := hostileDir(t)
	file := filepath.Join(dir, h.file)
	writing(t, file, h.make)
	before := sumOf(t, file)
	r := hostileRun(t, dir, nil, append(h.limits, "check", h.file)...)
	if r.status != h.check || !strings.Contains(r.out+r.err, h.says) {
		t.Errorf("check ends with %d and says %.600s%.600s", r.status, r.out, r.err)
	}
	r = hostileRun(t, dir, nil, append(h.limits, "convert", h.file, "-o", "out.findslip.json", "--quiet")...)
	if r.status != h.conv {
		t.Errorf("convert ends with %d and says %.600s", r.status, r.err)
	}
	left := []string{h.file}
	if r.status < 2 {
		left = append(left, "out.findslip.json")
	}
	tidy(t, dir, left...)
	if sumOf(t, file) != before {
		t.Error("the input was changed")
	}
}

// stdin runs the same over standard input, which can be read only once, to standard output, which cannot
// be taken back.
func (h *hostile) stdin(t *testing.T) {
	dir := hostileDir(t)
	file := filepath.Join(dir, h.file)
	writing(t, file, h.make)
	in, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	form := strings.TrimPrefix(filepath.Ext(h.file), ".")
	if form == "json" {
		form = "findslip"
	}
	r := hostileRun(t, dir, io.MultiReader(in),
		append(h.limits, "convert", "-", "--from", form, "--to", "jsonl", "-o", "-")...)
	if want := h.conv; r.status != want && !strings.Contains(h.says, "bytes=") {
		t.Errorf("convert of standard input ends with %d, want %d, and says %.600s", r.status, want, r.err)
	}
	if r.status == 2 && r.out != "" {
		t.Errorf("half of the output was written: %.200s", r.out)
	}
	tidy(t, dir, h.file)
}

// Files in which each find is as large as a find may be, or makes as much as a find can make: no
// more than a few of them are in memory at a time.
var hostileFinds = map[string]hostile{
	"large finds": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(reportHead + `{"name":"a"}`)
		for range 25 {
			w.WriteString(`,{"name":"`)
			repeat(w, "x", 1_000_000)
			w.WriteString(`"}`)
		}
		w.WriteString("]}")
	}, check: 1, conv: 1},
	"large lines": {file: "a.jsonl", make: func(w *bufio.Writer) {
		w.WriteString(lineHead)
		for range 25 {
			w.WriteString(`{"type":"find","find":{"name":"`)
			repeat(w, "x", 1_000_000)
			w.WriteString("\"}}\n")
		}
	}, check: 1, conv: 1},
	"large features": {file: "a.geojson", make: func(w *bufio.Writer) {
		w.WriteString(`{"type":"FeatureCollection","features":[{"type":"Feature","geometry":null,"properties":{}}`)
		for range 40 {
			w.WriteString(`,{"type":"Feature","geometry":null,"properties":{"Wether":"`)
			repeat(w, "x", 1_000_000)
			w.WriteString(`"}}`)
		}
		w.WriteString("]}")
	}, check: 1, conv: 1},
	"large rows": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,Find,Depth,Wether,Wether 2\n")
		for range 14 {
			w.WriteString("1")
			for range 4 {
				w.WriteString(",")
				repeat(w, "x", 1_000_000)
			}
			w.WriteString("\n")
		}
	}, check: 1, conv: 1, says: "schema-pattern"},
	"long lists in rows": {file: "a.csv", make: func(w *bufio.Writer) {
		w.WriteString("No,materials.1000,marks.1000.text,media.1000.file,traces.1000,otherDatings.1000.date\n")
		repeat(w, "1,iron,a,b,plough,1700\n", 60)
	}, check: 1, conv: 1, says: "headings-not-understood"},
	"full members": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(reportHead + `{"name":"a"}`)
		for range 14 {
			w.WriteString(`,{"name":"a","materials":[{}`)
			repeat(w, ",{}", 19_990)
			w.WriteString("]}")
		}
		w.WriteString("]}")
	}, check: 1, conv: 1, says: "schema-required"},
	"empty people": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(`{"findslip":"1.0","people":[1`)
		repeat(w, ",1", 199_900)
		w.WriteString(`],"finds":[]}`)
	}, check: 1, conv: 1},
	"too many people": {file: "a.jsonl", make: func(w *bufio.Writer) {
		w.WriteString(`{"type":"report","report":{"findslip":"1.0","people":[{}`)
		repeat(w, ",{}", 3_000_000)
		w.WriteString("]}}\n")
	}, check: 2, conv: 2, says: "--limit header-values=N"},
	"empty members": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(reportHead + `{"name":"a"}`)
		for range 12 {
			w.WriteString(`,{"name":"a","materials":[{}`)
			repeat(w, ",{}", 340_000)
			w.WriteString("]}")
		}
		w.WriteString("]}")
	}, check: 2, conv: 2, says: "--limit values=N"},
	"empty finds": {file: "a.findslip.json", make: func(w *bufio.Writer) {
		w.WriteString(reportHead + "{}")
		repeat(w, ",{}", 60_000)
		w.WriteString("]}")
	}, check: 1, conv: 1, says: "60001 finds"},
}

func TestHostileFinds(t *testing.T) {
	heavy.Test(t)
	for name, h := range hostileFinds {
		t.Run(name, func(t *testing.T) { t.Parallel(); h.run(t) })
	}
}
