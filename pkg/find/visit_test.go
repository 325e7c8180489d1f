package find

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

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
