package find

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// small is a report as the format has it, with members that nobody knows.
//
//go:embed testdata/small.findslip.json
var small string

func decode(t *testing.T, text string) *Report {
	t.Helper()
	s, err := DecodeJSON(strings.NewReader(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, _, err := Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func encode(t *testing.T, r *Report) string {
	t.Helper()
	var b bytes.Buffer
	if err := EncodeJSON(&b, StreamOf(r)); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestCanonicalJSONComesOutTheSame(t *testing.T) {
	if d := cmp.Diff(small, encode(t, decode(t, small))); d != "" {
		t.Error(d)
	}
}

func TestMembersOutOfOrderComeOutInSchemaOrder(t *testing.T) {
	mixed := `{"finds":[{"name":"jetton","id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12"}],"title":"T",` +
		`"findslip":"1.0"}`
	want := `{
  "findslip": "1.0",
  "title": "T",
  "finds": [
    {
      "id": "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12",
      "name": "jetton"
    }
  ]
}
`
	if d := cmp.Diff(want, encode(t, decode(t, mixed))); d != "" {
		t.Error(d)
	}
}

func TestWhatDoesNotFitIsKept(t *testing.T) {
	text := `{"findslip":"1.0","finds":[{"id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12","name":"jetton",` +
		`"depth":"8 in","count":{"min":"two"},"x":1,"y":{"a":2}}]}`
	r := decode(t, text)
	if got := r.Finds[0].Name; got != "jetton" {
		t.Errorf("name = %q", got)
	}
	out := encode(t, r)
	for _, want := range []string{`"depth": "8 in"`, `"min": "two"`, `"x": 1`, `"a": 2`} {
		if !strings.Contains(out, want) {
			t.Errorf("lost %s in\n%s", want, out)
		}
	}
	if d := cmp.Diff(out, encode(t, decode(t, out))); d != "" {
		t.Error(d)
	}
}

func TestJSONLines(t *testing.T) {
	r := decode(t, small)
	var b bytes.Buffer
	if err := EncodeJSONL(&b, StreamOf(r)); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	if len(lines) != 4 || lines[3] != `{"type":"end","finds":2}` ||
		!strings.HasPrefix(lines[1], `{"type":"find","find":{"id":`) {
		t.Fatalf("lines:\n%s", b.String())
	}
	s, err := DecodeJSONL(&b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, list, err := Collect(s)
	if err != nil || len(list) > 0 {
		t.Fatal(err, list)
	}
	if d := cmp.Diff(small, encode(t, got)); d != "" {
		t.Error(d)
	}
}

func TestJSONLinesNotices(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Text  string
		Code  string
		Line  int
		Finds int
	}](t, "JSONLinesNotices") {
		t.Run(name, func(t *testing.T) {
			s, err := DecodeJSONL(strings.NewReader(c.Text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			r, list, err := Collect(s)
			if err != nil {
				t.Fatal(err)
			}
			if len(list) != 1 || list[0].Kind.Code != c.Code || list[0].Line != c.Line || len(r.Finds) != c.Finds {
				t.Errorf("%d finds, notices %+v", len(r.Finds), list)
			}
		})
	}
}

func TestUnreadableJSON(t *testing.T) {
	deep := strings.Repeat("[", 20000) + strings.Repeat("]", 20000)
	big := `{"findslip":"1.0","finds":[{"name":"` + strings.Repeat("a", 2<<20) + `"}]}`
	for name, c := range map[string]struct {
		text, code string
		line       int
	}{
		"empty":          {"", "json-empty", 0},
		"not an object":  {"[1]", "not-a-report", 0},
		"finds no list":  {`{"findslip":"1.0","finds":{}}`, "not-a-report", 1},
		"other json":     {`{"a":1}`, "not-a-report", 0},
		"version 2":      {`{"findslip":"2.0","finds":[]}`, "version-unknown", 0},
		"version 10":     {`{"findslip":"10.0","finds":[]}`, "version-unknown", 0},
		"version 0":      {`{"findslip":"0.9","finds":[]}`, "version-unknown", 0},
		"cut short":      {small[:len(small)/2], "json-cut-short", 24},
		"twice":          {"{\"findslip\":\"1.0\",\n\"finds\":[{\"a\":1,\n\"a\":2}]}", "json-duplicate-name", 3},
		"bad utf-8":      {"{\"findslip\":\"1.0\",\"finds\":[{\"name\":\"\xff\"}]}", "json-text-damaged", 1},
		"lone surrogate": {`{"findslip":"1.0","finds":[{"name":"\ud800"}]}`, "json-text-damaged", 1},
		"syntax":         {"{\"findslip\":\"1.0\",\n\"finds\":[{]}", "json-syntax", 2},
		"nan":            {`{"findslip":"1.0","finds":[{"count":{"min":NaN}}]}`, "json-syntax", 1},
		"trailing":       {small + "{}", "json-syntax", 51},
		"too deep":       {`{"findslip":"1.0","finds":[` + deep + `]}`, "json-too-large", 1},
		"too large":      {big, "json-too-large", 1},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := DecodeJSON(strings.NewReader(c.text), Options{})
			var e *ReadError
			if !errors.As(err, &e) {
				t.Fatalf("error %v", err)
			}
			if e.Code != c.code || c.line > 0 && e.Line != c.line {
				t.Errorf("code %s, line %d: %v", e.Code, e.Line, e)
			}
		})
	}
}

func TestChangedWhileRead(t *testing.T) {
	for name, text := range map[string]string{"shorter": small[:len(small)/2], "other": strings.Repeat("x", len(small))} {
		r := strings.NewReader(small)
		s, err := DecodeJSON(r, Options{})
		if err != nil {
			t.Fatal(err)
		}
		r.Reset(text)
		for _, err = range s.Entries {
		}
		if !errors.Is(err, errChanged) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestFlatThereAndBack(t *testing.T) {
	want := decode(t, small).Finds[0]
	want.Unknown = nil
	want.Columns = map[string]string{"Mood": "good"}
	yes := true
	want.HumanRemains = &yes
	want.Opinions = []Opinion{{ID: "opinion-1", Says: []byte(`{"name":"bell"}`)}}
	want.Position = &Position{Area: &Area{Type: "Polygon", Coordinates: []byte(`[[[0,1],[1,1],[1,2],[0,1]]]`)}}
	got := &Find{}
	var names []string
	for c := range Flat(want) {
		names = append(names, c.Name+"="+c.Text)
		if heading, ok := strings.CutPrefix(c.Name, "columns."); ok {
			got.Columns = map[string]string{heading: c.Text}
			continue
		}
		p, err := PathTo[Find](c.Name)
		if err != nil {
			t.Fatal(err)
		}
		if p.Pointer != c.Pointer {
			t.Errorf("%s: pointer %s, from Flat %s", c.Name, p.Pointer, c.Pointer)
		}
		if err := Set(p, got, c.Text); err != nil {
			t.Fatal(err)
		}
		if back := Get(p, got); back != c.Text {
			t.Errorf("%s: set %q, got %q", c.Name, c.Text, back)
		}
	}
	if d := cmp.Diff(want, got, cmp.AllowUnexported(Number{})); d != "" {
		t.Error(d)
	}
	list := strings.Join(names, "\n")
	for _, n := range []string{"depth=8 in", "depth.min=20.32", "depth.basis=tape", "materials.1=green metal",
		"materials.1.code=copper-alloy", "absent=position=withheld"} {
		if !strings.Contains(list, n) {
			t.Errorf("no cell %s in\n%s", n, list)
		}
	}
}

func TestPathTo(t *testing.T) {
	for _, bad := range []string{"", "depht", "materials", "materials.0", "materials.01", "materials.1001", "depth.x",
		"materials.1.", "name.1", "columns.a", "depth.unit"} {
		if _, err := PathTo[Find](bad); err == nil {
			t.Errorf("PathTo accepts %q", bad)
		}
	}
	for _, f := range FieldsOf[Find]() {
		name := strings.ReplaceAll(f.Name, "#", "2")
		p, err := PathTo[Find](name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if p.Field.Name != f.Name {
			t.Errorf("PathTo(%q) finds field %q", name, p.Field.Name)
		}
	}
}

func TestFieldUnits(t *testing.T) {
	units := map[string]string{}
	for _, f := range FieldsOf[Find]() {
		units[f.Name] = f.Unit
	}
	for name, unit := range map[string]string{"depth": "cm", "depth.min": "cm", "weight": "g", "weight.max": "g",
		"dimensions.length": "mm", "dimensions.length.resolution": "mm", "count": "", "count.min": "",
		"lot.breakdown.#.weight.min": "g"} {
		if got, ok := units[name]; !ok || got != unit {
			t.Errorf("unit of %s: %q (%v), want %q", name, got, ok, unit)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, s := range []string{"0", "21.59", "-0.000000001", "-1.2", "1701"} {
		n, err := ParseNumber(s)
		if err != nil || n.String() != s {
			t.Errorf("ParseNumber(%q) = %q, %v", s, n, err)
		}
	}
	if Int(-199).String() != "-199" || !Int(5).IsWhole() || Float(0.5).IsWhole() || Int(3).Int() != 3 {
		t.Error("integers")
	}
	var q Quantity
	r := decode(t, `{"findslip":"1.0","finds":[{"id":"a","depth":{"min":2.032e1,"max":20.3200000000000001,"unit":"cm"}}]}`)
	q = r.Finds[0].Depth.Quantity
	if q.Min.String() != "20.32" || q.Max.String() != "20.32" {
		t.Errorf("min %s max %s", q.Min, q.Max)
	}
}

func TestLayoutFindsTheCell(t *testing.T) {
	l := &Layout{Sheet: "Finds", Columns: []LayoutColumn{{Column: 4, Heading: "Depth (in)",
		Pointers: []string{"/depth"}}, {Column: 28, Heading: "Date", Pointers: []string{"/found/verbatim"}}}}
	for pointer, want := range map[string]int{"/depth": 4, "/depth/min": 4, "/found": 28, "/found/verbatim": 28,
		"/name": 0} {
		c, _ := l.Column(pointer)
		if c.Column != want {
			t.Errorf("Column(%s) = %d, want %d", pointer, c.Column, want)
		}
	}
	for n, want := range map[int]string{1: "A", 26: "Z", 27: "AA", 702: "ZZ", 703: "AAA", 16384: "XFD"} {
		if got := ColumnLetters(n); got != want {
			t.Errorf("ColumnLetters(%d) = %s", n, got)
		}
	}
}

// twiceIsOnce holds a reader and a writer to this: what is read is written, and written again the same.
func twiceIsOnce(t *testing.T, data []byte, lines bool) {
	o, write := Options{}, EncodeJSON
	read := func(data []byte) (*Stream, error) { return DecodeJSON(bytes.NewReader(data), o) }
	if lines {
		o.Limits, write = limit.Limits{Record: 4 << 10, Header: 64 << 10}, EncodeJSONL
		read = func(data []byte) (*Stream, error) { return DecodeJSONL(bytes.NewReader(data), o) }
	}
	s, err := read(data)
	if err != nil {
		return
	}
	o = Options{}
	var texts [2]bytes.Buffer
	for i := range texts {
		r, list, err := Collect(s)
		if err != nil && i == 0 && lines {
			return
		} else if err != nil || i == 1 && lines && len(list) > 0 {
			t.Fatalf("reading what was accepted or written: %v, %v\n%s", err, list, texts[0].Bytes())
		}
		if err := write(&texts[i], StreamOf(r)); err != nil {
			t.Fatal(err)
		}
		if s, err = read(texts[i].Bytes()); err != nil {
			t.Fatalf("cannot read what was written: %v\n%s", err, texts[i].Bytes())
		}
	}
	if !bytes.Equal(texts[0].Bytes(), texts[1].Bytes()) {
		t.Fatalf("written twice differs:\n%s\n%s", texts[0].Bytes(), texts[1].Bytes())
	}
}

func FuzzDecodeJSON(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte(`{"findslip":"1.0","finds":[{"depth":"8"},{"depth":{"min":1e9}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) { twiceIsOnce(t, data, false) })
}

func ExampleDecodeJSON() {
	file := strings.NewReader(`{"findslip": "1.0", "finds": [{"id": "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", ` +
		`"name": "jetton"}]}`)
	in, err := DecodeJSON(file, Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for entry, err := range in.Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(entry.Find.Name)
	}
	// Output: jetton
}

func FuzzDecodeJSONL(f *testing.F) {
	f.Add([]byte(`{"type":"report","report":{"findslip":"1.0"}}` + "\n" +
		`{"type":"find","find":{"number":"7","depth":"8"}}` + "\n" + `{"type":"end","finds":1}` + "\n"))
	f.Add([]byte(`{"find":{"name":"bell"},"type":"find"}` + "\r\n\r\nx\n" + `{"type":"end","finds":9}`))
	f.Add([]byte("\xef\xbb\xbf" + `{"type":"report","report":{"findslip":"1.0","type":"report","x":[1,{"a":null}]}}`))
	f.Add([]byte(`{"type":"find","type":"end"}` + "\n" + `{"type":"find","find":{"columns":{"a":"\ud800"}}}`))
	f.Fuzz(func(t *testing.T, data []byte) { twiceIsOnce(t, data, true) })
}

// RFC 7946 section 3.1.6: the exterior ring runs against the clock, interior rings with it.
func TestWound(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Kind    string
		In, Out jsontext.Value
	}](t, "Wound") {
		t.Run(name, func(t *testing.T) {
			in := &Area{Type: c.Kind, Coordinates: c.In}
			got := in.Wound()
			if got.Type != c.Kind || !bytes.Equal(got.Coordinates, c.Out) {
				t.Errorf("%s %s", got.Type, got.Coordinates)
			}
			if !bytes.Equal(in.Coordinates, c.In) {
				t.Error("the area itself was turned")
			}
			if again := got.Wound(); again != got {
				t.Error("wound twice is not wound once")
			}
		})
	}
}

func TestUnknownNamesObjects(t *testing.T) {
	f := &Find{Unknown: []byte(`{"a":1}`), Position: &Position{Unknown: []byte(`{"b":1}`),
		Method: &Term{Unknown: []byte(`{"c":1}`)}},
		Materials: []Material{{}, {Term: Term{Unknown: []byte(`{"d":1}`)}}},
		Depth:     &Depth{Quantity: Quantity{Unknown: []byte(`{}`)}}}
	got := slices.Sorted(Unknown(f))
	if d := cmp.Diff([]string{"", "materials.2", "position", "position.method"}, got); d != "" {
		t.Error(d)
	}
}

func TestFoldNumber(t *testing.T) {
	for in, want := range map[string]string{"7": "7", "007": "7", " 7 ": "7", "LF-007 b": "lf-7 b", "LF  007": "lf 7",
		"000": "0", "10": "10", "1.05": "1.5", "Ａ１": "a1", "": ""} {
		if got := FoldNumber(in); got != want {
			t.Errorf("FoldNumber(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestFindID(t *testing.T) {
	a, b := NewReportID(), NewReportID()
	if FindID(a, "007") != FindID(a, "7 ") || FindID(a, "7") == FindID(b, "7") || FindID(a, "7") == FindID(a, "8") {
		t.Error("ids do not follow report and folded number")
	}
	if !IsURN(FindID(a, "7")) || !IsURN(a) || IsURN("urn:uuid:ABC") || IsURN(a[:len(a)-1]+"G") {
		t.Error("IsURN")
	}
	if UnnumberedFindID(a, "x", "y", "z", 1) == UnnumberedFindID(a, "x", "y", "z", 2) {
		t.Error("the ordinal does not tell equals apart")
	}
	if UnnumberedFindID(a, "x", "y", "", 1) == FindID(a, "x") {
		t.Error("an unnumbered find meets a numbered one")
	}
	if ReportIDFromName("Finds.xlsx") != ReportIDFromName("finds.csv") ||
		ReportIDFromName("finds 2026.xlsx") == ReportIDFromName("finds.xlsx") {
		t.Error("report ids do not follow the folded base name")
	}
}

func TestIsLocalID(t *testing.T) {
	for s, want := range map[string]bool{"person-1": true, "p": true, "": false, "1p": false, "Person": false,
		"p_1": false, "a23456789012345678901234567890123": false} {
		if IsLocalID(s) != want {
			t.Errorf("IsLocalID(%q) = %v", s, !want)
		}
	}
}
