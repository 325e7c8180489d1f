package normalise

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	jsonv2 "github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/testkit/cases"
	_ "github.com/findslip/findslip/pkg/testkit/heavy" // the seed of what is drawn
)

// vector is what these tests need of a line of testdata/vectors; the conformance suite puts all of it to the program.
type vector struct {
	Input  string
	Expect map[string]any
}

// texts are the inputs of the vectors by kind.
func texts(t testing.TB) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position", "material"} {
		for _, v := range cases.Vectors[vector](t, name) {
			out[name] = append(out[name], v.Input)
		}
		out[name] = append(out[name], "", "-", "n/a", "not measured", "unknown", "withheld")
	}
	return out
}

// Every code that a value package gives has a kind of notice, and every note that stands for an
// assumption is reported.
func TestEveryReadingCodeHasAKind(t *testing.T) {
	raw, err := os.ReadFile("../../schema/grammar/README.md")
	if err != nil {
		t.Fatal(err)
	}
	seen, positions, table := map[string]bool{}, map[string]bool{}, string(raw)
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position"} {
		for _, v := range cases.Vectors[vector](t, name) {
			if code, ok := v.Expect["error"].(string); ok {
				seen[code] = true
				positions[code] = positions[code] || name == "position"
			}
		}
	}
	if len(seen) < 40 {
		t.Errorf("only %d codes", len(seen))
	}
	for code := range seen { // the table of the grammars says under which notice
		row := regexp.MustCompile(`(?m)^\|.*` + "`" + code + "`" + `.*\| ` + "`([a-z-]+)`").FindStringSubmatch(table)
		if k := special[code]; k != nil && (row == nil && k.Code != code || row != nil && row[1] != k.Code) ||
			k == nil && row == nil && !positions[code] && !strings.HasSuffix(code, "-not-read") {
			t.Errorf("%s: %v in the table of schema/grammar/README.md", code, row)
		}
	}
	for code := range special {
		if !seen[code] && !slices.Contains([]string{"date-future"}, code) {
			t.Errorf("no vector draws the code %s", code)
		}
	}
}

// anyFind draws a find whose members hold texts of the vectors.
func anyFind(t *rapid.T, in map[string][]string) *find.Find {
	text := func(kind, label string) string { return rapid.SampledFrom(in[kind]).Draw(t, label) }
	some := func(label string) bool { return rapid.Bool().Draw(t, label) }
	quantityOf := func(kind, label string) *find.Quantity {
		if s := text(kind, label); s != "" {
			return &find.Quantity{Verbatim: s, Said: rapid.SampledFrom([]string{"", "in"}).Draw(t, label+" said")}
		}
		return nil
	}
	term := func(label string) *find.Term {
		s := rapid.SampledFrom([]string{"", "", "phone", "tape", "n/a", "complete", "no such word", "bras",
			"fragment?"}).Draw(t, label)
		if s == "" {
			return nil
		}
		return &find.Term{Verbatim: s, Note: rapid.SampledFrom([]string{"", "", "a note"}).Draw(t, label+" note")}
	}
	f := &find.Find{Number: rapid.SampledFrom([]string{"", "7", "007"}).Draw(t, "number"),
		Name: rapid.SampledFrom([]string{"", "bell", "3 x musket ball", "nail, 20 cm, iron"}).Draw(t, "name")}
	if some("found") {
		f.Found = &find.Found{Verbatim: text("date-found", "day"),
			Time: rapid.SampledFrom([]string{"", "", "10:30"}).Draw(t, "time")}
	}
	if some("depth") {
		f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: text("quantity-length", "depth")}, Basis: term("basis"),
			Surface: term("surface")}
	}
	if some("other depth") {
		f.OtherDepths = []find.Depth{{Quantity: find.Quantity{Verbatim: text("quantity-length", "other")},
			Basis: term("other basis")}}
	}
	f.Count, f.Weight = quantityOf("quantity-count", "count"), quantityOf("quantity-mass", "weight")
	if some("dimensions") {
		f.Dimensions = &find.Dimensions{Length: quantityOf("quantity-length", "length"),
			Diameter: quantityOf("quantity-length", "diameter")}
	}
	if some("position") {
		f.Position = &find.Position{Verbatim: text("position", "place"), Method: term("method"),
			By: rapid.SampledFrom([]string{"", "person-1"}).Draw(t, "by")}
	}
	if some("other position") {
		f.OtherPositions = []find.Position{{Verbatim: text("position", "other place")}}
	}
	if some("dating") {
		f.Dating = &find.Dating{Verbatim: text("date-dating", "age"),
			Certainty: rapid.SampledFrom([]string{"", "probable", "Probable"}).Draw(t, "certainty")}
	}
	if some("other dating") {
		f.OtherDatings = []find.Dating{{Verbatim: text("date-dating", "other age")}}
	}
	for range rapid.IntRange(0, 2).Draw(t, "materials") {
		f.Materials = append(f.Materials, find.Material{Term: find.Term{Verbatim: text("material", "material")}})
	}
	f.ObjectClass, f.Magnetic = term("class"), term("magnetic")
	if some("condition") {
		f.Condition = &find.Condition{Completeness: term("completeness")}
	}
	return f
}

func anyOptions(t *rapid.T) Options {
	o := Options{Table: rapid.Bool().Draw(t, "table"),
		Language: rapid.SampledFrom([]string{"", "en", "de"}).Draw(t, "language"),
		System:   rapid.SampledFrom([]string{"", "EPSG:27700"}).Draw(t, "system")}
	if rapid.Bool().Draw(t, "guided") {
		o.Unit, o.Order, o.Pivot, o.Serial = quantity.IN, edtf.DayMonthYear, 1950, edtf.Epoch1900
	}
	return o
}

func unmarshal(t testing.TB, raw string, v any) {
	t.Helper()
	if err := jsonv2.Unmarshal([]byte(raw), v); err != nil {
		t.Fatal(err)
	}
}

func canonical(t testing.TB, v any) string {
	t.Helper()
	raw, err := jsonv2.Marshal(v, jsonv2.Deterministic(true), jsontext.AllowInvalidUTF8(true), jsontext.WithIndent(" "))
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// Normalising twice is normalising once, no member is both given and absent, no mark of the work is
// left behind, and every notice is of a kind of the catalogue.
func TestFindTwiceIsOnce(t *testing.T) {
	in := texts(t)
	all := kinds.All()
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFind(rt, in)
		o := anyOptions(rt)
		list := Find(f, nil, o)
		once := canonical(t, f)
		for _, n := range list {
			if !slices.Contains(all, n.Kind) || n.Message == "" || n.Pointer != "" && n.Pointer[0] != '/' {
				rt.Fatalf("notice %+v", n)
			}
		}
		if strings.Contains(once, "absent:") {
			rt.Fatalf("a mark is left: %s", once)
		}
		for pointer, reason := range f.Absent {
			if givenAt(t, once, pointer) {
				rt.Fatalf("%s is given and absent (%s): %s", pointer, reason, once)
			}
			if inList(pointer) {
				rt.Fatalf("%s leads into a list", pointer)
			}
		}
		Find(f, nil, o)
		if d := cmp.Diff(once, canonical(t, f)); d != "" {
			rt.Fatal(d)
		}
	})
}

// givenAt reports whether the JSON of a find has the member that a pointer names.
func givenAt(t testing.TB, raw, pointer string) bool {
	t.Helper()
	var v any
	if err := jsonv2.Unmarshal([]byte(raw), &v, jsontext.AllowInvalidUTF8(true)); err != nil {
		t.Fatal(err)
	}
	for name := range strings.SplitSeq(pointer[1:], "/") {
		object, ok := v.(map[string]any)
		if !ok {
			return false
		}
		if v, ok = object[notice.Unescape(name)]; !ok {
			return false
		}
	}
	return true
}

// The words of a finder are in the record after normalising as they were before, unless they are
// the canonical value itself or say only that there is none.
func TestWordsAreKept(t *testing.T) {
	in := texts(t)
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFind(rt, in)
		before := map[string]string{}
		words(f, func(pointer, text string) { before[pointer] = text })
		Find(f, nil, anyOptions(rt))
		after := map[string]string{}
		words(f, func(pointer, text string) { after[pointer] = text })
		for pointer, text := range before {
			if got, there := after[pointer]; text != "" && got != text && !(there && got == "" || absentAbove(f, pointer)) {
				rt.Fatalf("%s held %q and holds %q, absent %v", pointer, text, got, f.Absent)
			}
		}
	})
}

// words visits the texts as written.
func words(f *find.Find, visit func(pointer, text string)) {
	if f.Found != nil {
		visit("/found/verbatim", f.Found.Verbatim)
	}
	if f.Position != nil {
		visit("/position/verbatim", f.Position.Verbatim)
	}
	for i := range f.OtherPositions {
		visit(indexed("/otherPositions", i), f.OtherPositions[i].Verbatim)
	}
	if f.Dating != nil {
		visit("/dating/verbatim", f.Dating.Verbatim)
	}
	for i := range f.OtherDatings {
		visit(indexed("/otherDatings", i), f.OtherDatings[i].Verbatim)
	}
	f.Quantities(func(pointer, _ string, q *find.Quantity) { visit(pointer, q.Verbatim) })
	f.Terms(func(pointer, _ string, t *find.Term) { visit(pointer, t.Verbatim+t.Note) })
}

// absentAbove reports whether a pointer, or one above it, stands in absent.
func absentAbove(f *find.Find, pointer string) bool {
	for p := pointer; p != ""; p = p[:strings.LastIndexByte(p, '/')] {
		if f.Absent[p] != "" {
			return true
		}
	}
	return false
}
