package validate

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// TestOlderThan: the Treasure Act 1996 section 1 asks for an age of 300 years when found; a dating
// that reaches over the limit cannot be told.
func TestOlderThan(t *testing.T) {
	for _, c := range []struct {
		date, event, found string
		want               law.Answer
	}{
		{"1726", "made", "2026-04-11", law.Yes}, {"1727", "made", "2026-04-11", law.No},
		{"1690/1790", "made", "2026-04-11", law.CannotTell},
		{"../1700", "made", "2026-04-11", law.Yes}, {"1800/..", "made", "2026-04-11", law.No},
		{"1700/..", "made", "2026-04-11", law.CannotTell},
		{"1601/1700", "lost", "2026-04-11", law.Yes}, {"1801/1900", "lost", "2026-04-11", law.CannotTell},
		{"-0199", "", "2026-04-11", law.Yes},
		{"1700", "made", "1999", law.No}, {"1699", "made", "1999", law.Yes}, {"", "", "2026-04-11", law.CannotTell},
		{"1600", "made", "", law.CannotTell},
	} {
		f := &find.Find{Dating: &find.Dating{Date: c.date}, Found: &find.Found{Date: c.found}}
		if c.event != "" {
			f.Dating.Event = &find.Term{Code: c.event}
		}
		if got := olderThan(&Case{Find: f}, 300); got != c.want {
			t.Errorf("%s %s found %s: %d, want %d", c.event, c.date, c.found, got, c.want)
		}
	}
	if olderThan(&Case{Find: &find.Find{Found: &find.Found{Date: "2026"}}}, 300) != law.CannotTell {
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
		want      law.Answer
	}{
		"silver":                {[]find.Material{m("silver", "", "")}, law.Yes},
		"gold perhaps":          {[]find.Material{m("gold", "possible", "")}, law.CannotTell},
		"bronze":                {[]find.Material{m("bronze", "", "")}, law.No},
		"billon":                {[]find.Material{m("billon", "", "")}, law.CannotTell},
		"bronze with gold foil": {[]find.Material{m("bronze", "", ""), m("gold", "", "foil")}, law.CannotTell},
		"argued against":        {[]find.Material{m("bronze", "", ""), m("gold", "unlikely", "")}, law.No},
		"unknown":               {[]find.Material{m("metal-unknown", "", "")}, law.CannotTell},
		"nothing":               {nil, law.CannotTell},
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
		c.said = &said{}
		treasureMayApply.Check(c, func(_, message string) { t.Errorf("%s: says %q", name, message) })
		if missing := len(c.said.notChecked); missing != 1 {
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
	for _, want := range []string{"2026-04-25", "Treasure Act 1996", "coroner", "This may apply"} {
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
}

// TestGroupsFollowLinks: finds belong together by links in either direction and by one exact position.
func TestGroupsFollowLinks(t *testing.T) {
	log := &Roll{}
	hole := &find.Term{Code: "same-hole"}
	for i, f := range []*find.Find{
		{ID: "a", Number: "1"},
		{ID: "b", Number: "2", Associated: []find.Association{{Find: "a", Relation: hole}}},
		{ID: "c", Number: "3", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}},
		{ID: "d", Number: "4", Associated: []find.Association{{Find: "b", Relation: &find.Term{Code: "touching"}},
			{Find: "nowhere", Relation: hole}}},
		{ID: "e", Number: "5", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)}},
		{ID: "f", Number: "6", Associated: []find.Association{{Find: "a", Relation: &find.Term{Code: "near"}}}},
		{ID: "g", Number: "7", Position: &find.Position{Longitude: find.Float(-1.2), Latitude: find.Float(52.5)},
			Generalised: map[string]string{"/position": "grid-0.1"}},
	} {
		c := inEngland(&Case{Find: f, Report: &find.Report{}})
		log.add(c, lineOf(c), Ref{Index: i, Label: f.Number})
	}
	var got []string
	for _, finds := range log.treasureGroups() {
		got = append(got, treasureGroup{log, finds}.labels(0))
	}
	if want := "numbers 1, 2, 4|numbers 3, 5"; strings.Join(got, "|") != want {
		t.Errorf("groups are %q, want %q", strings.Join(got, "|"), want)
	}
}
