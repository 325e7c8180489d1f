package validate

import (
	"bytes"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// findsOf returns the finds of a vector.
func findsOf(t testing.TB, v cases.Case) []*find.Find {
	t.Helper()
	in, err := find.DecodeJSON(bytes.NewReader(v.Report), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out []*find.Find
	for e, err := range in.Entries {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e.Find)
	}
	return out
}

// noticesOf returns all that is said of a vector.
func noticesOf(t testing.TB, v cases.Case) notice.List {
	t.Helper()
	return judge(t, v.Report)
}

func judge(t testing.TB, report []byte) notice.List {
	validator, err := New(Options{Level: "bag", Rules: "all", AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}})
	if err != nil {
		t.Fatal(err)
	}
	in, err := find.DecodeJSON(bytes.NewReader(report), find.Options{KeepSource: true})
	if err != nil {
		return nil // not a report at all
	}
	out := validator.Stream(in)
	list := append(notice.List(nil), out.Notices...)
	for e, err := range out.Entries {
		if err != nil {
			return list
		}
		list.Add(e.Notices...)
	}
	list.Sort()
	return list
}

// TestRulesSayTheSameTwice runs every vector twice and compares what is said.
func TestRulesSayTheSameTwice(t *testing.T) {
	all := casesOf(t)
	for _, r := range Catalogue() {
		for _, v := range all[r.Code].Draws {
			first, second := noticesOf(t, v), noticesOf(t, v)
			if len(first) != len(second) {
				t.Fatalf("%s: %d notices, then %d", r.Code, len(first), len(second))
			}
			for i := range first {
				if first[i].Kind != second[i].Kind || first[i].Pointer != second[i].Pointer ||
					first[i].Message != second[i].Message {
					t.Errorf("%s: %+v, then %+v", r.Code, first[i], second[i])
				}
			}
		}
	}
}

// FuzzRules looks for a report on which some rule panics; every vector is a seed.
func FuzzRules(f *testing.F) {
	all := casesOf(f)
	for _, r := range Catalogue() {
		for _, v := range slices.Concat(all[r.Code].Draws, all[r.Code].Near) {
			f.Add([]byte(v.Report))
		}
	}
	f.Fuzz(func(t *testing.T, report []byte) { judge(t, report) })
}

// BenchmarkRules measures the rules alone on one find in which nothing is wrong.
func BenchmarkRules(b *testing.B) {
	v := casesOf(b)["id-repeated"].Near[0]
	in, err := find.DecodeJSON(bytes.NewReader(v.Report), find.Options{})
	if err != nil {
		b.Fatal(err)
	}
	validator, err := New(Options{Level: "bag", Rules: "all", AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}})
	if err != nil {
		b.Fatal(err)
	}
	run := validator.begin(in)
	f := findsOf(b, v)[0]
	b.ReportAllocs()
	for b.Loop() {
		c := run.caseOf(f, nil)
		for i, rule := range validator.rules {
			say := func(pointer, message string) {}
			switch {
			case rule.Check != nil:
				rule.Check(c, say)
			case run.across[i].Find != nil:
				run.across[i].Find(c, Ref{}, say)
			}
		}
	}
}
