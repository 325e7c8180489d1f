package share

import (
	"cmp"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// tableOf are the lines of a file, parted at the tabs; a line without one is a remark.
func tableOf(t *testing.T, name string) (out [][]string) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		if parts := strings.Split(strings.TrimRight(line, "\n"), "\t"); len(parts) > 1 {
			out = append(out, parts)
		}
	}
	return out
}

// findOf is a find as a sheet tells it: name, material, age and a remark.
func findOf(thing []string, words string) *find.Find {
	f := &find.Find{Name: thing[0], Description: words}
	if thing[1] != "" {
		f.Materials = []find.Material{{Term: find.Term{Code: thing[1]}}}
	}
	if thing[2] != "" {
		f.Dating = &find.Dating{Verbatim: thing[2]}
		if year, err := strconv.Atoi(thing[2]); err == nil {
			f.Dating.Earliest, f.Dating.Latest = find.Int(year), find.Int(year)
		}
	}
	return f
}

// What a row says of the dead, of treasure and of keeping back holds it back; what only looks like it does not.
func TestKeptByWords(t *testing.T) {
	why := map[string]string{"remains": "human remains", "treasure": "may be treasure", "kept": "asked to be kept back",
		"police": "a matter for the police"}
	for _, row := range tableOf(t, "kept") {
		want, text, thing := row[0], row[1], "button; copper-alloy; "
		if len(row) > 2 {
			thing = row[2]
		}
		f := findOf(strings.Split(thing, "; "), text)
		if heading, cell, column := strings.Cut(text, " = "); column {
			f.Description, f.Columns = "", map[string]string{heading: cell}
		}
		c := &copier{o: Options{Audience: Public, Day: "2026-07-01"}}
		got := c.keptBack(saidOf(f), false)
		if got != why[want] {
			t.Errorf("%s: %q comes to %q, want %s", thing, text, got, want)
		}
	}
}

// Who cannot tell counts as may be: a member that could not be read, and a mark that it is not known.
func TestKeptByWhatIsNotRead(t *testing.T) {
	table := cases.Table[map[string]*find.Find](t, "KeptByWhatIsNotRead")
	table["many"] = &find.Find{Name: "button", Description: strings.Repeat("plain words ", 2000)}
	for name, f := range table {
		c := &copier{o: Options{Audience: Public, Day: "2026-07-01"}}
		if f.Name == "" {
			f.Name, f.Materials = "button", []find.Material{{Term: find.Term{Code: "brass"}}}
		}
		if c.keptBack(saidOf(f), false) == "" {
			t.Errorf("%s: it is told to the public", name)
		}
	}
}

// A field and a parish are known by their names without the article, bent, shortened and turned round.
func TestFieldsByOtherNames(t *testing.T) {
	for _, parts := range tableOf(t, "fields") {
		source := attacked("buckle")
		field, parish, _ := strings.Cut(parts[0], " / ")
		source.Permissions[0].Place.Name, source.Permissions[0].Place.Parish = field, parish
		source.Finds[0].Description = parts[2]
		for _, a := range []Audience{Expert, Club} {
			f := firstOf(t, source, a)
			if f == nil || parts[1] == "held" && f.Description == parts[2] || parts[1] != "held" && finds(t, source, a) {
				t.Errorf("%s for %s: %q comes to %+v", parts[0], a, parts[2], f)
			}
		}
	}
}

// A person of a short name, or of one that is an everyday word, is known in texts by its capital or by what is said of
// him; the word itself stays. Common practice, no source.
func TestPeopleByShortNames(t *testing.T) {
	for name, rest := range cases.Table[map[string]string](t, "PeopleByShortNames") {
		tell, pass, _ := strings.Cut(rest, "; ")
		for want, list := range map[string]string{"": tell, "told": pass} {
			for words := range strings.SplitSeq(list, "|") {
				source := attacked("buckle")
				source.People[0].Name = name
				source.Finds[0].Description = strings.TrimSpace(words)
				if finds(t, source, Expert) != (want == "") {
					t.Errorf("%s: %q is not %s", name, words, cmp.Or(want, "found"))
				}
			}
		}
	}
}

// finds reports whether the search finds the description of the first find to tell who or where.
func finds(t *testing.T, source *find.Report, a Audience) bool {
	t.Helper()
	s, err := secretsOf(t.Context(), Held(source), nil, a)
	if err != nil {
		t.Fatal(err)
	}
	return len(s.look(source.Finds[0].Description, "")) > 0
}

// A number on a bag that is made of the name of a field, or of a public register, goes.
func TestCodesOfFields(t *testing.T) {
	for number, want := range cases.Table[map[string]bool](t, "CodesOfFields") {
		c := &copier{fields: map[string]bool{"The Mill Croft": true, "Nether Stowe": true}}
		if got := c.tellsSpot(number); got != want {
			t.Errorf("%s: %v", number, got)
		}
	}
}

// What stands beside the fields of a log tells who and where as much as they do.
func TestKeptTexts(t *testing.T) {
	at := func() *find.Position {
		return &find.Position{Latitude: find.Float(53.4836), Longitude: find.Float(-1.2284)}
	}
	source := &find.Report{
		ID:    "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000001",
		Notes: []string{"row 2: Gudgeon Meadow", "row 9: Total 12 finds", "Finds row 12: Rained all day"},
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Hohes Feld"}},
			{ID: "permission-2", Place: &find.Place{Name: "Rookery Piece"}}},
		Finds: []*find.Find{{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000002", Name: "buckle", Position: at(),
			Columns: map[string]string{
				"Landowner": "Agnes Thistlewood", "Mates": "Tom Ashgrove, Una Pettigrew", "Mates verdict": "Copper brooch",
				"Ground": "Stubble", "Phone": "01632 960987", "Mood": "Good", "When": "2026-03-02", "Buddy": "Jed"}}},
	}
	c, err := Copy(t.Context(), source, Options{Audience: Expert, Day: "2026-06-01"})
	if err != nil {
		t.Fatal(err)
	}
	c.Names = []string{"logs/Wetherspoon Hollow - finds 2026.csv", "season.xlsx", "log.csv", "finds.xlsx"}
	for text, found := range cases.Table[map[string]bool](t, "KeptTexts") {
		if got := len(leaksOf(t, []byte("a "+text+" here"), source, c, Expert)) > 0; got != found {
			t.Errorf("%q: found %v, want %v", text, got, found)
		}
	}
	owner := &Copied{Report: &find.Report{Permissions: source.Permissions}}
	if leaks := leaksOf(t, []byte("Rookery Piece, the rookery"), source, owner, Recorder); len(leaks) > 0 {
		t.Errorf("what the copy shows by right is called a leak: %v", leaks)
	}
}
