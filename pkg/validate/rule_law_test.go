package validate

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// TestOlderThan: the Treasure Act 1996 section 1 asks for an age of 300 years when found; a dating
// that reaches over the limit cannot be told.
func TestOlderThan(t *testing.T) {
	for _, c := range []struct {
		date, event, found string
		want               answer
	}{
		{"1726", "made", "2026-04-11", yes}, {"1727", "made", "2026-04-11", no}, {"1690/1790", "made", "2026-04-11", cannotTell},
		{"../1700", "made", "2026-04-11", yes}, {"1800/..", "made", "2026-04-11", no}, {"1700/..", "made", "2026-04-11", cannotTell},
		{"1601/1700", "lost", "2026-04-11", yes}, {"1801/1900", "lost", "2026-04-11", cannotTell}, {"-0199", "", "2026-04-11", yes},
		{"1700", "made", "1999", no}, {"1699", "made", "1999", yes}, {"", "", "2026-04-11", cannotTell}, {"1600", "made", "", cannotTell},
	} {
		f := &find.Find{Dating: &find.Dating{Date: c.date}, Found: &find.Found{Date: c.found}}
		if c.event != "" {
			f.Dating.Event = &find.Term{Code: c.event}
		}
		if got := olderThan(&Case{Find: f}, 300); got != c.want {
			t.Errorf("%s %s found %s: %d, want %d", c.event, c.date, c.found, got, c.want)
		}
	}
	if olderThan(&Case{Find: &find.Find{Found: &find.Found{Date: "2026"}}}, 300) != cannotTell {
		t.Error("an object without dating has an age")
	}
}

// TestPrecious: a tenth of the weight; plating is far less, and a small part cannot be told.
func TestPrecious(t *testing.T) {
	m := func(code, certainty, part string) find.Material {
		return find.Material{Term: find.Term{Code: code, Certainty: certainty}, Part: part}
	}
	for name, c := range map[string]struct {
		materials []find.Material
		want      answer
	}{
		"silver": {[]find.Material{m("silver", "", "")}, yes}, "gold perhaps": {[]find.Material{m("gold", "possible", "")}, cannotTell},
		"bronze": {[]find.Material{m("bronze", "", "")}, no}, "billon": {[]find.Material{m("billon", "", "")}, cannotTell},
		"bronze with gold foil": {[]find.Material{m("bronze", "", ""), m("gold", "", "foil")}, cannotTell},
		"argued against":        {[]find.Material{m("bronze", "", ""), m("gold", "unlikely", "")}, no},
		"unknown":               {[]find.Material{m("metal-unknown", "", "")}, cannotTell}, "nothing": {nil, cannotTell},
	} {
		if got := precious(&find.Find{Materials: c.materials}); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}

func inEngland(c *Case) *Case {
	c.Permission = &find.Permission{ID: "permission-1", Jurisdiction: "GB-ENG"}
	return c
}

// TestTreasureCannotTell: what is missing is counted as not checked, neither passed nor alarmed.
func TestTreasureCannotTell(t *testing.T) {
	for name, change := range map[string]func(f *find.Find){
		"no dating":   func(f *find.Find) { f.Dating = nil },
		"no material": func(f *find.Find) { f.Materials = nil },
		"metal not known, age about": func(f *find.Find) {
			f.Materials[0].Code = "metal-unknown"
		},
	} {
		c := inEngland(plainFind())
		c.Find.Materials = []find.Material{{Term: find.Term{Code: "silver"}}}
		change(c.Find)
		missing := 0
		c.notChecked = func() { missing++ }
		treasureMayApply.Check(c, func(_, message string) { t.Errorf("%s: says %q", name, message) })
		if missing != 1 {
			t.Errorf("%s: counted %d times as not checked, want 1", name, missing)
		}
	}
}

// TestTreasureTimeLimit: Treasure Act 1996 section 8: fourteen days from the day after the find.
func TestTreasureTimeLimit(t *testing.T) {
	c := inEngland(plainFind())
	c.Find.Materials = []find.Material{{Term: find.Term{Code: "silver"}}}
	said := ""
	treasureMayApply.Check(c, func(_, message string) { said = message })
	for _, want := range []string{"2026-04-25", "Treasure Act 1996", "coroner", "Local authorities decide"} {
		if !strings.Contains(said, want) {
			t.Errorf("the caution does not say %q: %s", want, said)
		}
	}
}

// TestWordsOfTheLawPromiseNothing: no rule calls anything legal or safe; advice goes to whom to ask.
func TestWordsOfTheLawPromiseNothing(t *testing.T) {
	for _, r := range Catalogue() {
		for _, text := range []string{r.Title, r.Why, r.Help} {
			for _, word := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r < 'a' || r > 'z' }) {
				if word == "legal" || word == "lawful" || word == "safe" {
					t.Errorf("%s says %q: %s", r.Code, word, text)
				}
			}
		}
	}
	for _, r := range theTables().law.Rows {
		if !strings.Contains(r.Caution, "Local authorities decide") {
			t.Errorf("%s does not defer to the authority", r.ID)
		}
	}
}

// TestGroupsFollowLinks: finds belong together by links in either direction and by one exact position.
func TestGroupsFollowLinks(t *testing.T) {
	seen := newCensus()
	across := companions(func(_ *Case, _ *gathering, group []member, out SayOf) {
		if len(group) > 1 {
			out(reportRef, "", labels(group, 0))
		}
	})
	hole := &find.Term{Code: "same-hole"}
	for i, f := range []*find.Find{
		{ID: "a", Number: "1"},
		{ID: "b", Number: "2", Associated: []find.Association{{Find: "a", Relation: hole}}},
		{ID: "c", Number: "3", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}},
		{ID: "d", Number: "4", Associated: []find.Association{{Find: "b", Relation: &find.Term{Code: "touching"}}, {Find: "nowhere", Relation: hole}}},
		{ID: "e", Number: "5", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}},
		{ID: "f", Number: "6", Associated: []find.Association{{Find: "a", Relation: &find.Term{Code: "near"}}}},
		{ID: "g", Number: "7", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}, Generalised: map[string]string{"/position": "grid-0.1"}},
	} {
		c := inEngland(&Case{Find: f, Report: &find.Report{}, census: seen})
		ref := Ref{Index: i, Label: f.Number}
		seen.see(c, ref)
		across.Find(c, ref, nil)
	}
	var got []string
	across.End(&Case{census: seen}, func(_ Ref, _, message string) { got = append(got, message) })
	if want := "numbers 1, 2, 4|numbers 3, 5"; strings.Join(got, "|") != want {
		t.Errorf("groups are %q, want %q", strings.Join(got, "|"), want)
	}
}
