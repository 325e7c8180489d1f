package render

import (
	"bytes"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

func withDeadlines() Document {
	d := sample()
	due := func(find, day string, status notice.DeadlineStatus, left int) notice.Deadline {
		return notice.Deadline{Day: day, Time: "14 days", What: "report of what may be treasure", Source: "an act s. 8",
			Checked: "2026-11-25", Status: status,
			Left: left, Dated: true, Location: notice.Location{File: "finds.xlsx", Sheet: "Finds", Row: 3,
				Pointer: "/finds/" + find, Find: find}}
	}
	d.Deadlines = notice.Deadlines{
		{Time: "immediately", What: "report of the find", Source: "a museum act", Checked: "2026-11-25",
			Status: notice.DeadlineOpen, Location: notice.Location{Find: "12"}},
		due("8", "2026-04-25", notice.DeadlineOpen, 13), due("9", "2026-04-25", notice.DeadlineOpen, 13),
		due("3", "2026-04-11", notice.DeadlinePast, -1),
		{Day: "2026-04-12", Time: "as stated", What: "notice that the record names", Source: "the record itself",
			Status: notice.DeadlineOpen, Dated: true, Location: notice.Location{Find: "4"}},
		due("5", "2026-04-30", notice.DeadlineMet, 18),
	}
	return d
}

func TestDeadlinesInText(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b, withDeadlines(), TextOptions{}); err != nil {
		t.Fatal(err)
	}
	want := `Time limits to report, by day:
  2026-04-11: report of what may be treasure, find 3; past by 1 day, no report is recorded
      an act s. 8, as checked on 2026-11-25
  2026-04-12: notice that the record names, find 4; ends today, no report is recorded
      the record itself
  2026-04-25: report of what may be treasure, finds 8, 9; 13 days left, no report is recorded
      an act s. 8, as checked on 2026-11-25
  2026-04-30: report of what may be treasure, find 5; a report is recorded
  immediately: report of the find, find 12; no report is recorded
      a museum act, as checked on 2026-11-25
  Counted from what the log says and the table named. A time limit may begin earlier or later; the
  local authority decides.
`
	_, got, _ := strings.Cut(b.String(), "Time limits")
	got, _, _ = strings.Cut("Time limits"+got, "\n\n")
	if d := cmp.Diff(want, got+"\n"); d != "" {
		t.Error(d)
	}
}

// Every form lists the deadlines in the order of their days, and none calls anything legal.
func TestDeadlinesInEveryForm(t *testing.T) {
	for name, write := range forms {
		var b bytes.Buffer
		if err := write(&b, withDeadlines()); err != nil {
			t.Fatal(err)
		}
		text, at := b.String(), -1
		for _, want := range []string{"2026-04-11", "2026-04-12", "2026-04-25", "2026-04-30", "immediately"} {
			next := strings.LastIndex(text, want)
			if name == "csv" {
				next = strings.Index(text, want+": ")
			}
			if want == "2026-04-12" && name != "csv" {
				continue // also the day that counts as today
			}
			if next <= at {
				t.Errorf("%s: %s stands at %d, after %d", name, want, next, at)
			}
			at = next
		}
		for _, want := range []string{"an act s. 8", "the record itself", "2026-11-25"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
		if strings.Contains(strings.ToLower(text), "legal") {
			t.Errorf("%s says legal", name)
		}
	}
}

// Text tells a number of time limits and says how many are left.
func TestManyDeadlinesAreCut(t *testing.T) {
	d := sample()
	for i := range mostJobs + 3 {
		d.Deadlines = append(d.Deadlines, notice.Deadline{Day: "2026-05-" + string(rune('0'+i/10)) + string(rune('0'+i%10)),
			What: "report", Source: "an act", Status: notice.DeadlineOpen})
	}
	var b bytes.Buffer
	if err := Text(&b, d, TextOptions{}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "and 3 more things") {
		t.Errorf("the text does not say what it leaves out:\n%s", b.String())
	}
}

// compared is the sample with an earlier report in which one notice was otherwise, a row stood
// elsewhere, and one notice of two alike was not yet there.
func compared(t *testing.T) Document {
	t.Helper()
	old := sample()
	old.Notices[2].Message = "31 February"
	old.Notices[0].Pointer, old.Notices[0].Cell, old.Notices[0].Row = "/finds/88/depth", "D88", 88
	old.Notices = append(old.Notices[:1], old.Notices[2:]...)
	var b bytes.Buffer
	if err := JSON(&b, old); err != nil {
		t.Fatal(err)
	}
	before, err := ReadBaseline(&b, "old.json", limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	d := sample()
	d.Baseline = before
	return d
}

func TestBaseline(t *testing.T) {
	d := compared(t)
	d.Notices.Sort()
	c, err := d.since()
	if err != nil {
		t.Fatal(err)
	}
	word := c.replay()
	got := map[string]string{}
	for i := range d.Notices {
		got[d.Notices[i].Find+" "+d.Notices[i].Message] = word(&d.Notices[i])
	}
	want := map[string]string{"3 30 February": "new", "7 no unit": "unchanged", "8 no unit": "new",
		"9 the words speak of a shell": "unchanged"}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if len(c.gone) != 1 || c.gone[0].Message != "31 February" || c.newly != 2 || c.staying != 2 {
		t.Errorf("gone %v, %d new, %d unchanged", c.gone, c.newly, c.staying)
	}
}

// What an earlier report had does not count where only new notices are to.
func TestNewIf(t *testing.T) {
	d := compared(t)
	all := func(*notice.Kind) bool { return true }
	if n, err := d.NewIf(all); n != 2 || err != nil {
		t.Errorf("%d new, %v", n, err)
	}
	if d.Baseline = nil; true {
		if n, err := d.NewIf(all); n != len(d.Notices) || err != nil {
			t.Errorf("%d without an earlier report, %v", n, err)
		}
	}
}

func TestBaselineInEveryForm(t *testing.T) {
	for form, wants := range map[string][]string{
		"text": {"  new: D3   30 February", "Gone since the earlier report:\n  D3: 31 February [test-day]",
			"Compared with old.json: 2 new, 2 as before, 1 gone."},
		"json":  {`"change": "new"`, `"change": "unchanged"`, `"gone": [`, `"31 February"`},
		"csv":   {",pointer,accepted,deadline,change\n", ",new\n", ",unchanged\n", ",gone\n"},
		"html":  {`2 new, 2 as before, 1 gone`, `<span class="new">new</span>`, "31 February"},
		"sarif": {`"baselineState": "new"`, `"baselineState": "unchanged"`, `"baselineState": "absent"`},
	} {
		var b bytes.Buffer
		if err := forms[form](&b, compared(t)); err != nil {
			t.Fatal(err)
		}
		for _, want := range wants {
			if !strings.Contains(b.String(), want) {
				t.Errorf("%s lacks %q:\n%s", form, want, b.String())
			}
		}
	}
}

func TestBaselineOfSeveralAlike(t *testing.T) {
	one := notice.Notice{Kind: unit, Message: "no unit", Location: notice.Location{Find: "7", Pointer: "/finds/0/depth"}}
	d := Document{Notices: notice.List{one}, Baseline: &Baseline{Notices: notice.List{one, one, one}}}
	if c, err := d.since(); err != nil || c.staying != 1 || len(c.gone) != 2 || c.newly != 0 {
		t.Errorf("%d unchanged, %d gone, %d new", c.staying, len(c.gone), c.newly)
	}
}

func TestBaselineThatIsNone(t *testing.T) {
	for text, want := range map[string]string{
		``:                                 "not a report of notices in JSON",
		`{"notices": [`:                    "not a report of notices in JSON",
		`[]`:                               "not a report of notices in JSON",
		`{"findslip": "1.0", "finds": []}`: `no "noticesVersion"`,
		`{"noticesVersion": "2.0", "notices":[]}`: `version "2.0"`,
		`{"noticesVersion": "1.0"}`:               `no list "notices"`,
		`{"noticesVersion": "1.0", "notices": [{"code": "a", "severity": "fatal", "message": "b"}]}`: `notice 1: severity ` +
			`"fatal"`,
		`{"noticesVersion": "1.0", "notices": [{"severity": "error", "message": "b"}]}`: "notice 1 has no code",
	} {
		_, err := ReadBaseline(strings.NewReader(text), "old.json", limit.Limits{})
		if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(),
			"reading the earlier report old.json: ") {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
	}
	if b, err := ReadBaseline(strings.NewReader(`{"noticesVersion": "1.7", "notices": [], "later": true}`), "old.json",
		limit.Limits{}); err != nil || len(b.Notices) != 0 {
		t.Errorf("a later version: %v, %v", b, err)
	}
}

// Every row of law that has words of another language is a row of the table, and is told in them.
func TestLawInLanguages(t *testing.T) {
	text, err := schema.Speech("law")
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(text), `"id"`); n != len(lawRows()) {
		t.Errorf("%d rows in other languages, %d of them in the table of law", n, len(lawRows()))
	}
	for _, r := range lawRows() {
		for language, words := range r.words {
			s := speechOf(language)
			if language == "id" {
				continue
			}
			g := notice.Group{Kind: &kinds.LawOwner, Count: 1,
				Examples: []notice.Notice{{Kind: &kinds.LawOwner,
					Message: "Find 3. This may apply: " + r.Rule + " Ask: somebody."}}}
			if say, _ := s.say(&g); s.Language != language || !strings.Contains(say, strings.TrimSuffix(words, ".")) {
				t.Errorf("%s in %s: %s", r.ID, language, say)
			}
		}
	}
}

// Whoever must be called is named with the number of the country, where the message has one.
func TestNumberToCall(t *testing.T) {
	for message, want := range map[string]string{
		"keep others away and call 999 and ask for the police, on the shore for the coastguard.": " (999)",
		"keep others away and call the police (0900-8844; in danger 112).":                       " (112)",
		"keep others away and call the police or the emergency number of the place.":             "",
	} {
		if got := numberToCall(message); got != want {
			t.Errorf("%s: %q", message, got)
		}
	}
}

// unwanted are words that a finder should not have to read: of politeness that costs time, of blame, and of our
// own machinery.
var unwanted = regexp.MustCompile(`(?i)\b(please|sorry|valid|invalid|you forgot|oops|URIs?|members?|JSON|pointers?|` +
	`schemas?|objects? class|boolean|bitte|ungültig|alstublieft|ongeldig|s'il vous plaît|invalide|venligst|ugyldig|` +
	`vänligen|ogiltig)\b`)

// texts returns everything that a language says, by its place in the file.
func (s *speech) texts() map[string]string {
	out := map[string]string{}
	for name, forms := range s.Frame {
		for i, form := range forms {
			out["frame "+name+" "+string(rune('1'+i))] = form
		}
	}
	for code, own := range s.Codes {
		out[code+" say"], out[code+" do"] = own.Say, own.Do
	}
	for _, c := range s.Checks {
		out["what "+c.What], out["allow "+c.What] = c.What, c.Allow
	}
	return out
}

// Words are short, everyday, and of the finder.
func TestWordsAreEveryday(t *testing.T) {
	for _, language := range languages {
		for place, text := range speechOf(language).texts() {
			if found := unwanted.FindString(text); found != "" {
				t.Errorf("%s, %s: %q in %q", language, place, found, text)
			}
			if n := utf8.RuneCountInString(text); n > 160 && !strings.HasPrefix(place, "frame planCaption") &&
				!strings.HasPrefix(place, "frame markNote") {
				t.Errorf("%s, %s: %d letters", language, place, n)
			}
			if text != strings.TrimSpace(text) && !strings.HasPrefix(place, "frame or") && !strings.HasPrefix(place,
				"frame someFinds") {
				t.Errorf("%s, %s: space around %q", language, place, text)
			}
		}
	}
}

var holes = regexp.MustCompile(`\{[a-z]+\}`)

// Every language says all that English says, with the same holes to fill.
func TestLanguagesSayTheSame(t *testing.T) {
	english := speechOf("en")
	for _, language := range languages[1:] {
		s := speechOf(language)
		if s.Language != language || len(s.Months) != 12 {
			t.Fatalf("%s is of language %q and has %d months", language, s.Language, len(s.Months))
		}
		same := func(what string, a, b []string) {
			if d := cmp.Diff(a, b); d != "" {
				t.Errorf("%s, %s: %s", language, what, d)
			}
		}
		same("frame", slices.Sorted(maps.Keys(english.Frame)), slices.Sorted(maps.Keys(s.Frame)))
		for name, forms := range english.Frame {
			last := forms[len(forms)-1]
			other := s.Frame[name]
			same(name, slices.Sorted(slices.Values(holes.FindAllString(last, -1))),
				slices.Sorted(slices.Values(holes.FindAllString(other[len(other)-1], -1))))
		}
		for code, own := range english.Codes {
			if s.Codes[code].Say == "" || (own.Do == "-") != (s.Codes[code].Do == "-") {
				t.Errorf("%s does not say %s as English does", language, code)
			}
		}
		for code, facts := range english.Facts {
			for name := range facts {
				if !strings.Contains(s.Codes[code].One, "{"+name+"}") {
					t.Errorf("%s says %s without %s", language, code, name)
				}
			}
		}
		var a, b [][]string
		for i := range english.Checks {
			a, b = append(a, english.Checks[i].Codes), append(b, s.Checks[i].Codes)
		}
		if d := cmp.Diff(a, b); d != "" {
			t.Errorf("%s: %s", language, d)
		}
	}
	if n := len(english.Codes); n < 80 {
		t.Errorf("only %d codes are put in words", n)
	}
}

// The country and the figures that a message holds stand in every language, and no other country.
func TestFactsInLanguages(t *testing.T) {
	for _, c := range []struct {
		kind    *notice.Kind
		message string
		want    []string
	}{
		{&kinds.LawNotChecked, "no country is given, so its law was not asked; by the grid the finds seem to lie in " +
			"Germany (DE). Old finds may have to be reported there (ask: the state's heritage authority).",
			[]string{"Germany (DE)", "state's heritage authority"}},
		{&kinds.TotalDiffers, "the total says 12; the rows above come to 11", []string{"12", "11"}},
		{&kinds.WordsDisagree, "the words speak of 3, the count is 1", []string{"3", "1"}},
		{&kinds.WordsDisagree, "the name speaks of several, the count is 1", []string{"several"}},
	} {
		g := notice.Group{Kind: c.kind, Count: 1, Examples: notice.List{notice.New(c.kind, "", c.message)}}
		for _, language := range languages {
			say, do := speechOf(language).say(&g)
			for _, want := range c.want {
				if !strings.Contains(say+do, want) {
					t.Errorf("%s, %s: %q is not in %q %q", language, c.kind.Code, want, say, do)
				}
			}
			for _, other := range [...]string{"Bayern", "Danmark", "France", "Vlaanderen", "Sverige"} {
				if strings.Contains(say+do, other) {
					t.Errorf("%s, %s: %s in %q %q", language, c.kind.Code, other, say, do)
				}
			}
		}
	}
}

func TestDaysInWords(t *testing.T) {
	for _, c := range []struct{ language, first, last, want string }{
		{"en", "2026-02-07", "2026-03-22", "7 February to 22 March 2026"},
		{"en", "2026-02-07", "2026-02-22", "7 to 22 February 2026"},
		{"en", "2025-12-07", "2026-02-22", "7 December 2025 to 22 February 2026"},
		{"en", "2026-02-07", "2026-02-07", "7 February 2026"},
		{"en", "2019", "2026-02", "2019 to February 2026"},
		{"de", "2026-02-07", "2026-02-22", "7. bis 22. Februar 2026"},
		{"sv", "2026-02-07", "2026-03-22", "7 februari till 22 mars 2026"},
	} {
		if got := speechOf(c.language).span(c.first, c.last); got != c.want {
			t.Errorf("%s to %s: %q, want %q", c.first, c.last, got, c.want)
		}
	}
	var s Seen
	for _, date := range []string{"2026-03-22", "2026-02~", "", "19XX", "2026-21", "2025-12-30/2026-01-02", "../2020",
		"2026-04-31"} {
		s.Day(date)
	}
	if s.First != "2025-12-30" || s.Last != "2026-03-22" {
		t.Errorf("from %s to %s", s.First, s.Last)
	}
}
