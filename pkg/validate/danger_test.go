package validate

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
)

func caseNamed(language, name string) *Case {
	s := DefaultSettings()
	return &Case{Find: &find.Find{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000001", Name: name},
		Report: &find.Report{Language: language}, Settings: &s}
}

// TestEveryTextIsHeard: wherever a row says it, it is heard, and the notice stands at that member.
func TestEveryTextIsHeard(t *testing.T) {
	const word = "beside it a live hand grenade"
	term := &find.Term{Verbatim: word}
	for pointer, f := range map[string]*find.Find{
		"/name": {Name: word}, "/type": {Type: word}, "/description": {Description: word},
		"/objectClass": {ObjectClass: term}, "/question": {Question: word},
		"/notes": {Notes: word}, "/columns/How~1why": {Columns: map[string]string{"How/why": word, "Mood": "good"}},
		"/place":      {Place: &find.Place{Verbatim: word}},
		"/found/date": {Found: &find.Found{Verbatim: word}},
		"/depth":      {Depth: &find.Depth{Quantity: find.Quantity{Verbatim: word}}},
		"/count":      {Count: &find.Quantity{Verbatim: word}}, "/weight": {Weight: &find.Quantity{Verbatim: word}},
		"/materials/0": {Materials: []find.Material{{Term: *term}}},
		"/condition":   {Condition: &find.Condition{State: term}}, "/marks/0": {Marks: []find.Mark{{Meaning: word}}},
		"/dating": {Dating: &find.Dating{Verbatim: word}},
		"/signal": {Signal: &find.Signal{Note: word}}, "/media/0": {Media: []find.Media{{Caption: word}}},
		"/storagePlace": {StoragePlace: word},
		"/storage":      {Storage: word}, "/value": {Value: word}, "/disposition": {Disposition: term},
	} {
		c := caseNamed("en", "")
		c.Find = f
		if got := speaksOf(c).ordnance; got != pointer {
			t.Errorf("%s: ordnance is heard at %q", pointer, got)
		}
	}
	c := caseNamed("en", "mortar")
	c.Find.Type = "bomb, tail fin" // two cells of a row
	if speaksOf(c).of != danger.Ordnance {
		t.Error("a mortar bomb over two cells is not heard")
	}
	c = caseNamed("en", "button")
	c.Find.Type = "grenade"
	if speaksOf(c).of != 0 {
		t.Error("a button with a grenade over two cells is heard")
	}
}

func FuzzSpeaksOf(f *testing.F) {
	for _, s := range []string{"hand grenade", "\xff", "shell\x00button", "ÅÄÖ granat", "mother-of-pearl shell button"} {
		f.Add("en", s)
	}
	f.Fuzz(func(t *testing.T, language, text string) {
		c := caseNamed(language, text)
		c.Find.Notes, c.Find.Description = text, text
		first := speaksOf(c).of
		c.Find.Notes = "hand grenade\n" + text
		c.facts = facts{}
		if more := speaksOf(c).of; more&first != first || more&danger.Ordnance == 0 {
			t.Errorf("%q speaks of %b, behind other words of %b", text, first, more)
		}
	})
}

// deadlinesOf checks a report under one law and returns its deadlines, one a line.
func deadlinesOf(t *testing.T, law, audience string, finds ...string) []string {
	t.Helper()
	for i, f := range finds {
		finds[i] = fmt.Sprintf(`{"id": "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b%02d", "number": "%d", "kind": `+
			`"single", "permission": "permission-1", %s}`, i, i+1, f)
	}
	text := fmt.Sprintf(`{"findslip": "1.0", "audience": %q, "permissions": [{"id": "permission-1", "jurisdiction": `+
		`%q}], "finds": [%s]}`, audience, law, strings.Join(finds, ","))
	in, err := find.DecodeJSON(strings.NewReader(text), find.Options{KeepSource: true})
	if err != nil {
		t.Fatal(err)
	}
	v, err := New(Options{Level: NoLevel, AsOf: edtf.Day{Year: 2026, Month: 4, Day: 20}})
	if err != nil {
		t.Fatal(err)
	}
	for _, err := range v.Stream(in).Entries {
		if err != nil {
			t.Fatal(err)
		}
	}
	var out []string
	for _, d := range v.Summary().Deadlines {
		left := ""
		if d.Dated {
			left = fmt.Sprint(d.Left)
		}
		out = append(out, strings.Join([]string{d.Day, d.Time, d.Find, d.Pointer, string(d.Status), left, d.Source,
			d.Checked}, "|"))
	}
	return out
}

// The days are counted by hand from the calendar of 2026. Treasure Act 1996 s. 8: 14 days, the first
// of which is the day after the find. Historic Monuments and Archaeological Objects (NI) Order 1995
// art. 42: 14 days. Ireland: 96 hours by the act of 1994, 72 by one that is not shown to be in force; of two the
// shorter is shown.
func TestDeadlinesAreListedByDay(t *testing.T) {
	for name, x := range cases.Table[map[string]struct {
		Law, Audience string
		Finds, Want   []string
	}](t, "TestDeadlinesAreListedByDay") {

		t.Run(name, func(t *testing.T) {
			if d := cmp.Diff(x.Want, deadlinesOf(t, x.Law, x.Audience, x.Finds...)); d != "" {
				t.Error(d)
			}
		})
	}
}

// No deadline names who is to be told: that may be a person.
func TestDeadlinesNameNobody(t *testing.T) {
	for _, line := range deadlinesOf(t, "GB-ENG", "self",
		`"name": "a", "notified": [{"to": "Ada Example", "deadline": "2026-05-02"}]`) {
		if strings.Contains(line, "Ada") {
			t.Errorf("the line %q holds a name", line)
		}
	}
}

func TestDeadlinesSort(t *testing.T) {
	list := notice.Deadlines{{What: "z"}, {Day: "2026-05-01"},
		{Day: "2026-04-01", Location: notice.Location{Pointer: "/finds/10"}}, {What: "a"},
		{Day: "2026-04-01", Location: notice.Location{Pointer: "/finds/9"}}}
	list.Sort()
	var got []string
	for _, d := range list {
		got = append(got, d.Day+d.Pointer+d.What)
	}
	if d := cmp.Diff([]string{"2026-04-01/finds/9", "2026-04-01/finds/10", "2026-05-01", "a", "z"}, got); d != "" {
		t.Error(d)
	}
}
