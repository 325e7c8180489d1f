package law

import (
	"encoding/csv"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/edtf"
)

// TestLawReaches follows ISO 3166-2: a part has laws of its own, a district does not tell its part.
func TestLawReaches(t *testing.T) {
	table, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	one := func(id string) *Row {
		for i := range table.Rows {
			if table.Rows[i].ID == id {
				return &table.Rows[i]
			}
		}
		t.Fatalf("no row %s", id)
		return nil
	}
	for _, c := range []struct {
		id, place string
		want      Answer
	}{
		{"gb-treasure-metal", "GB-ENG", Yes}, {"gb-treasure-metal", "GB-SCT", No}, {"gb-treasure-metal", "GB", CannotTell},
		{"gb-treasure-metal", "GB-OXF", CannotTell}, {"gb-treasure-metal", "IE", No}, {"gb-treasure-metal", "", No},
		{"gb-military-remains", "GB-SCT", Yes}, {"gb-sct-treasure-trove", "GB-SCT", Yes},
		{"de-laender", "DE-SH", Yes}, {"be-vlg", "BE", CannotTell}, {"be-vlg", "BE-WAL", No}, {"be-vlg", "BE-VLG", Yes},
		{"eu-export", "NL", Yes}, {"eu-export", "GB-ENG", No}, {"eu-export", "NO", No},
	} {
		if got := table.Holds(one(c.id), c.place); got != c.want {
			t.Errorf("%s in %q: %d, want %d", c.id, c.place, got, c.want)
		}
	}
	for place, want := range map[string]string{"DE-SH": "de-ordnance", "GB-ENG": "gb-ordnance", "NL": "nl-ordnance",
		"US-VA": "us-ordnance", "PT": "eu-112", "": "ordnance-any", "IS": "ordnance-any"} {
		if got := table.Row("explosives", place).ID; got != want {
			t.Errorf("explosives in %q: %s, want %s", place, got, want)
		}
	}
	for place, want := range map[string]bool{"GB-ENG": true, "DE": true, "IS": false, "PL": true, "": false} {
		if table.Known(place) != want {
			t.Errorf("law known for %q: %v, want %v", place, !want, want)
		}
	}
}

// The table is testdata/reference/law.csv, which names act and section and what was seen of them, and one row about
// lead, which is no law.
func TestRowsAreThoseOfTheReference(t *testing.T) {
	table, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.Open("../../../../testdata/reference/law.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range lines[0] {
		at[name] = i
	}
	if len(table.Rows) != len(lines) || table.Rows[len(lines)-1].ID != "lead" {
		t.Fatalf("%d rows, the reference has %d and lead", len(table.Rows), len(lines)-1)
	}
	for i, line := range lines[1:] {
		r := &table.Rows[i]
		got := map[string]string{"id": r.ID, "jurisdiction": strings.Join(r.Jurisdictions, ";"), "topic": r.Topic,
			"rule": r.Rule, "ask": r.Ask, "deadline": r.Deadline, "deadline_words": r.DeadlineWords,
			"deadline_from": r.DeadlineFrom, "our_rule": r.Asks, "instrument": r.Instrument, "section": r.Section,
			"source_title": r.SourceTitle, "source_kind": r.SourceKind, "seen": r.Seen, "seen_by": r.SeenBy,
			"seen_on": r.SeenOn, "text_as_of": r.TextAsOf, "in_force_from": r.From, "in_force_to": r.To,
			"standing": r.Standing, "note": r.Note}
		for name, cell := range got {
			if want := line[at[name]]; cell != want {
				t.Errorf("%s: %s is %q, the reference has %q", r.ID, name, cell, want)
			}
		}
		var conditions Conditions
		text := regexp.MustCompile(`"words":("[^"]*")`).ReplaceAllString(line[at["applies"]], `"words":[$1]`)
		if err := json.Unmarshal([]byte(text), &conditions, json.RejectUnknownMembers(true)); err != nil {
			t.Errorf("%s: %v", r.ID, err)
		}
		if d := cmp.Diff(conditions, r.Applies); d != "" {
			t.Errorf("%s: conditions (-want +got):\n%s", r.ID, d)
		}
	}
}

// What was not read is never told as law; each row says whom to ask, where it stands and when it was read.
func TestWordsOfRows(t *testing.T) {
	table, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	today, later := edtf.Day{Year: 2026, Month: 12, Day: 1}, edtf.Day{Year: 2027, Month: 12, Day: 1}
	for i := range table.Rows {
		r := &table.Rows[i]
		words := r.Words(today)
		for _, part := range []string{r.Rule, r.Ask, r.Instrument, r.Section} {
			if !strings.Contains(words, part) {
				t.Errorf("%s does not say %q: %s", r.ID, part, words)
			}
		}
		if asks := !strings.HasPrefix(words, "This may apply: "); asks == r.IsLaw() || asks && !strings.HasPrefix(words,
			"Ask whether") {
			t.Errorf("%s, of standing %q: %s", r.ID, r.Standing, words)
		}
		if r.Seen == "memory" && (r.IsLaw() || !strings.Contains(words, "from memory, not read")) {
			t.Errorf("%s hides that it is from memory: %s", r.ID, words)
		}
		if r.Seen != "memory" && (!strings.Contains(words, r.Looked()) || len(r.Looked()) != 10 ||
			!strings.Contains(r.Words(later), "over a year ago") || strings.Contains(words, "over a year ago")) {
			t.Errorf("%s does not say when it was looked at: %s", r.ID, words)
		}
		if strings.Contains(r.Rule, "cover lightly") {
			t.Errorf("%s contradicts the first words of danger", r.ID)
		}
	}
}

// A number that is told to call stands in a row that was read, or is the 112 of the Union.
func TestCalls(t *testing.T) {
	table, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	numbers := regexp.MustCompile(`[0-9][0-9-]+`)
	for place, call := range table.Calls {
		read := []string{"112"}
		for i := range table.Rows {
			if r := &table.Rows[i]; r.Topic == "ordnance" && r.Seen == "yes" && slices.Contains(r.Jurisdictions, place) {
				read = append(read, numbers.FindAllString(r.Ask, -1)...)
			}
		}
		for _, number := range numbers.FindAllString(call, -1) {
			if !slices.Contains(read, number) {
				t.Errorf("%s: %s stands in no row that was read", place, number)
			}
		}
	}
	for place, want := range map[string]string{"GB-SCT": "999", "SE": "112", "DE-SH": "110",
		"NO":    "emergency number of the place",
		"US-VA": "emergency number of the place", "": "emergency number of the place"} {
		if call := table.Call(place); !strings.Contains(call, want) {
			t.Errorf("%q: %s", place, call)
		}
	}
}

// The law of the day is asked, and a row of a narrower place silences a fallback.
func TestOn(t *testing.T) {
	table, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	day := func(text string) edtf.Day { d, _ := edtf.ParseDay(text); return d }
	for _, x := range []struct{ place, rule, day, want string }{
		{"GB-WLS", "protected", "2024-11-03", "gb-wls-scheduled-before"},
		{"GB-WLS", "protected", "2024-11-04", "gb-wls-scheduled"},
		{"GB-ENG", "treasure-significance", "2023-07-29", ""},
		{"GB-ENG", "treasure-significance", "2023-07-30", "gb-treasure-significance"},
		{"GB-ENG", "treasure-prehistoric", "2002-12-31", ""},
		{"DE-NW", "report", "2022-05-31", "de-nw-report"}, {"DE-NW", "report", "2022-06-01", "de-report"},
		{"DE-SH", "licence", "2026-04-11", "de-sh"}, {"DE-HE", "licence", "2026-04-11", "de-laender"},
		{"AU-NSW", "licence", "2026-04-11", "au-nsw-dig"}, {"AU-QLD", "licence", "2026-04-11", "au-states"},
		{"GB-SCT", "treasure-metal", "2026-04-11", ""},
	} {
		var got []string
		for _, r := range table.Of(x.place).On(x.rule, day(x.day), day(x.day)) {
			if r.Holds == Yes {
				got = append(got, r.ID)
			}
		}
		if d := cmp.Diff(x.want, strings.Join(got, " ")); d != "" {
			t.Errorf("%v: %s", x, d)
		}
	}
}
