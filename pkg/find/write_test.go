package find

import (
	"bytes"
	"encoding/json"
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// oddTexts take the place of texts: escapes, other scripts, what is no UTF-8.
var oddTexts = []string{"\x00", "\x1f1234567", "12345678\"", "\\", "a/b", "</x>&", "\u007f", "\u2028\u2029", "grün",
	"1234567é", "日本",
	"\U0001F514", "\ufffd", "\ufffe", "\xff", "12345678\xc3", "\xed\xa0\x80", "tab\there", "\b\f\n\r", "1234567\x7f",
	"12345678 plain"}

// A text that is UTF-8 is written so that the standard library reads it again; any other is an error.
func TestWriteTexts(t *testing.T) {
	for _, text := range oddTexts {
		f := &Find{Name: text, Columns: map[string]string{text: text},
			Materials: []Material{{Term: Term{Verbatim: "x" + text}}}}
		raw, err := Marshal(f)
		if valid := strings.ToValidUTF8(text, "") == text; !valid {
			if err == nil {
				t.Errorf("%q is no error", text)
			}
			continue
		}
		var got struct {
			Name      string
			Columns   map[string]string
			Materials []struct{ Verbatim string }
		}
		if err != nil || json.Unmarshal(raw, &got) != nil || got.Name != text || got.Columns[text] != text ||
			got.Materials[0].Verbatim != "x"+text {
			t.Errorf("%q is written as %s (%v)", text, raw, err)
		}
		cells, err := AppendProperties(nil, f, false)
		if err != nil || !json.Valid([]byte("{"+strings.TrimPrefix(string(cells), ",")+"}")) {
			t.Errorf("%q as properties: %s (%v)", text, cells, err)
		}
	}
}

// Members that are given and empty, JSON of other people, and what cannot be written.
func TestWriteAtTheEdges(t *testing.T) {
	no := false
	for name, c := range map[string]struct {
		f    Find
		want string // empty: an error
	}{
		"nothing": {Find{}, `{}`},
		"empty": {Find{Found: &Found{}, Materials: []Material{}, Absent: map[string]string{}},
			`{"found":{},"materials":[],"absent":{}}`},
		"empty elements": {Find{Materials: []Material{{}, {}}, Replaces: []string{"", "x"}},
			`{"replaces":["","x"],"materials":[{},{}]}`},
		"flags": {Find{HumanRemains: &no, Dimensions: &Dimensions{Surviving: &no}},
			`{"dimensions":{"surviving":false},"humanRemains":false}`},
		"an embedded": {Find{Depth: &Depth{Quantity: Quantity{Approximate: true, Min: Int(0)}, Why: "x"}},
			`{"depth":{"min":0,"approximate":true,"why":"x"}}`},
		"the largest": {Find{Weight: &Quantity{Min: Number{-9223372036854775807, true}}},
			`{"weight":{"min":-9223372036.854775807}}`},
		"extensions": {Find{Extensions: []byte(`{ "x" : 1.0 , "y": "\u0061" }`)}, `{"extensions":{"x":1.0,"y":"a"}}`},
		"no JSON":    {Find{Extensions: []byte(`{`)}, ``},
		"empty JSON": {Find{Extensions: []byte{}}, `{"extensions":null}`},
		"unknown members": {Find{Name: "x", Depth: &Depth{Quantity: Quantity{Unknown: []byte(`{"x": 1}`)}}},
			`{"depth":{"x":1},"name":"x"}`},
		"unknown empty": {Find{Unknown: []byte(`{}`)}, `{}`},
		"given twice":   {Find{Name: "x", Unknown: []byte(`{"name":"y"}`)}, ``},
		"no object":     {Find{Unknown: []byte(`[1,2]`)}, ``},
		"an area": {Find{Position: &Position{Area: &Area{Type: "Polygon", Coordinates: []byte(`[ ]`)}}},
			`{"position":{"area":{"type":"Polygon","coordinates":[]}}}`},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Marshal(&c.f)
			if (err != nil) != (c.want == "") || err == nil && string(got) != c.want {
				t.Errorf("%s (%v), want %s", got, err, c.want)
			}
		})
	}
}

// standard is what the standard library makes of a value, without its escapes for HTML.
func standard(t *testing.T, v any) string {
	t.Helper()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		t.Fatal(err)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// The standard library writes what Marshal writes and reads it again, for a value and a pointer of every record,
// with every member given. CI runs this test with GOEXPERIMENT=jsonv2 too.
func TestStandardLibrary(t *testing.T) {
	f, report := full(t), new(Report)
	fill(t, report)
	report.Finds = []*Find{f, {ID: "x", Name: "a < b & c", Unknown: []byte(`{"new":{"a":[1,2]}}`)}}
	report.People, report.Permissions, report.Outings = make([]Person, 1), make([]Permission, 1), make([]Outing, 1)
	fill(t, &report.People[0])
	fill(t, &report.Permissions[0])
	fill(t, &report.Outings[0])
	standardBothWays(t, report)
	standardBothWays(t, f)
	standardBothWays(t, &report.People[0])
	standardBothWays(t, &report.Permissions[0])
	standardBothWays(t, &report.Outings[0])
	standardBothWays(t, f.Depth)
	standardBothWays(t, &f.Materials[0])
	standardBothWays(t, &f.Depth.Quantity)
	standardBothWays(t, f.Position)
	var half Find
	if err := json.Unmarshal([]byte(`{"name":"x","depth":{"min":15`), &half); err == nil ||
		!reflect.DeepEqual(half, Find{}) {
		t.Errorf("a find that is cut off is read as %+v (%v)", half, err)
	}
}

func standardBothWays[T any](t *testing.T, v *T) {
	t.Helper()
	want, err := Marshal(v)
	if err != nil || len(want) < 10 {
		t.Fatalf("%s: %v", want, err)
	}
	if got := standard(t, v); got != string(want) {
		t.Errorf("%T: the standard library writes\n%s, want\n%s", v, got, want)
	}
	if got := standard(t, map[string]any{"a": *v}); got != `{"a":`+string(want)+`}` {
		t.Errorf("%T as a value: the standard library writes\n%s, want\n%s", v, got, want)
	}
	again := new(T)
	if err := json.Unmarshal(want, again); err != nil {
		t.Fatal(err)
	}
	if got, err := Marshal(again); err != nil || string(got) != string(want) {
		t.Errorf("%T: read by the standard library it is\n%s, want\n%s (%v)", v, got, want, err)
	}
}

var positions = regexp.MustCompile(`/\d+`)

// full returns a find in which every field of the table is given once.
func full(t *testing.T) *Find {
	t.Helper()
	f := new(Find)
	fill(t, f)
	return f
}

// fill gives every field of the table of a record.
func fill[T Record](t *testing.T, record *T) {
	t.Helper()
	for _, field := range FieldsOf[T]() {
		p, err := PathTo[T](strings.ReplaceAll(field.Name, "#", "1"))
		if err != nil {
			t.Fatal(err)
		}
		text := map[FieldKind]string{Text: "x", Decimal: "1", Flag: "true", TermText: "x", QuantityText: "1",
			PointerMap: "name=withheld", JSON: `{"type":"x"}`}[field.Kind]
		if err := Set(p, record, text); err != nil {
			t.Fatal(err)
		}
		if got := Get(p, record); got != text {
			t.Errorf("%s: set %q, got %q", field.Name, text, got)
		}
	}
}

// A text that does not fit any field, and an empty one, leave no member that was not there.
func TestSetLeavesNothingBehind(t *testing.T) {
	for _, field := range FieldsOf[Find]() {
		for _, text := range []string{"", "words", "1e9", "99999999999", "[1"} {
			p, err := PathTo[Find](strings.ReplaceAll(field.Name, "#", "2"))
			if err != nil {
				t.Fatal(err)
			}
			f := new(Find)
			if err := Set(p, f, text); (err != nil || text == "") && !Same(f, new(Find)) {
				t.Errorf("%s = %q leaves something behind (%v)", field.Name, text, err)
			} else if err == nil && text != "" && Get(p, f) == "" {
				t.Errorf("%s = %q is not there", field.Name, text)
			}
		}
	}
}

func TestVisitorsFollowTheTable(t *testing.T) {
	f := full(t)
	wantTerms, wantQuantities := map[string]string{}, map[string]string{}
	codes := map[string]string{}
	for _, field := range FieldsOf[Find]() {
		switch {
		case field.Kind == TermText && field.List != "":
			wantTerms[field.Pointer] = field.List
		case field.Kind == QuantityText:
			wantQuantities[field.Pointer] = field.Unit
		case field.Kind == Text && field.List != "" && !field.Part:
			codes[field.Pointer] = field.List
		}
	}
	terms, quantities, gotCodes := map[string]string{}, map[string]string{}, map[string]string{}
	general := func(pointer string) string { return positions.ReplaceAllString(pointer, "/#") }
	f.Terms(func(pointer, list string, _ *Term) { terms[general(pointer)] = list })
	f.Quantities(func(pointer, unit string, _ *Quantity) { quantities[general(pointer)] = unit })
	f.Codes(func(pointer, list string, _ *string) { gotCodes[general(pointer)] = list })
	if d := cmp.Diff(wantTerms, terms); d != "" {
		t.Error("terms", d)
	}
	if d := cmp.Diff(wantQuantities, quantities); d != "" {
		t.Error("quantities", d)
	}
	if d := cmp.Diff(codes, gotCodes); d != "" {
		t.Error("codes", d)
	}
	var days []string
	f.Days(func(pointer string, _ *string) { days = append(days, general(pointer)) })
	var want []string
	for _, field := range FieldsOf[Find]() {
		if n := field.Name; strings.HasSuffix(n, ".on") || strings.HasSuffix(n, "deadline") || n == "embargoUntil" {
			want = append(want, field.Pointer)
		}
	}
	slices.Sort(days)
	slices.Sort(want)
	if d := cmp.Diff(want, days); d != "" {
		t.Error("days", d)
	}
	if len(slices.Collect(maps.Keys(terms))) < 25 {
		t.Errorf("only %d terms", len(terms))
	}
}
