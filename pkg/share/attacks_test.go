package share

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

// attacked is the log of testdata/words.txt.
func attacked(name string) *find.Report {
	r := fieldAt([2]float64{53.4836, -1.2284}, [2]float64{53.4836, -1.2284})
	r.People = []find.Person{{ID: "person-1", Name: "Agnes Thistlewood"}}
	r.Permissions[0].Place.Name, r.Permissions[0].GrantedBy = "Rookery Piece", "person-1"
	r.Finds[0].Name, r.Finds[0].ObjectClass = name, &find.Term{Code: "buckle"}
	r.Finds[0].Materials[0].Code = "copper-alloy"
	return r
}

// firstOf is what an audience gets of the first find, after the search has taken out what leaks; nil if the copy
// lacks it.
func firstOf(t *testing.T, source *find.Report, a Audience) *find.Find {
	t.Helper()
	c, err := Copy(t.Context(), source, Options{Audience: a})
	if err != nil {
		t.Fatal(err)
	}
	spans, err := spansOf(t.Context(), source, c, a)
	if err != nil {
		t.Fatal(err)
	}
	held(t, c, spans)
	for _, f := range c.Report.Finds {
		if c.Back[f.ID] == source.Finds[0].ID {
			return f
		}
	}
	return nil
}

// What was tried on copies, each spelling by itself: it goes to nobody, to the club, to expert
// and club, or to all.
func TestWordsThatTell(t *testing.T) {
	for _, row := range tableOf(t, "words") {
		who, text := row[0], row[1]
		source := attacked(text)
		for _, a := range []Audience{Public, Club, Expert} {
			want := who == "all" || who == "expert" && a != Public || who == "club" && a == Club
			got := ""
			if f := firstOf(t, source, a); f != nil {
				got = f.Name
			}
			if (got == text) != want {
				t.Errorf("%q for %s: it gets %q", text, a, got)
			}
		}
	}
}

// One open find tells no other find of its land finer; a secret one bears no link to that land.
func TestOneSizeALand(t *testing.T) {
	source := fieldAt([2]float64{53.4836, -1.2284}, [2]float64{53.4837, -1.2284}, [2]float64{53.4838, -1.2284})
	source.Outings = []find.Outing{{ID: "outing-1", Permission: "permission-1", Date: "2026-04-01"}}
	for i, how := range []string{"open", "coarse", "restricted"} {
		source.Finds[i].Sensitivity, source.Finds[i].Outing = how, ""
	}
	for _, a := range []Audience{Club, Public} {
		c, err := Copy(t.Context(), source, Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		grids := map[string]string{}
		for _, f := range c.Report.Finds {
			n := c.labels[c.Back[f.ID]]
			grids[n] = f.Generalised["/position"]
			if n == "3" && f.Permission != "" {
				t.Errorf("%s: the secret find says which land it is of", a)
			}
		}
		if grids["1"] != "grid-0.1" || grids["2"] != "grid-0.1" || grids["3"] != "grid-1" {
			t.Errorf("%s: %v", a, grids)
		}
	}
	source.Finds[1].Sensitivity, source.Finds[2].Sensitivity = "open", "open"
	if c, err := Copy(t.Context(), source, Options{Audience: Public}); err != nil || c.Circles()[0].Grid != "grid-0.01" {
		t.Errorf("all are open: %v, %v", c.Circles(), err)
	}
}

// Fields round the corner of four cells, each under its own name, are one land.
func TestNeighboursAreOneLand(t *testing.T) {
	source := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.5001, -1.2001}, [2]float64{52.4999, -1.1999})
	for i, name := range []string{"Long Furlong", "Chapel Piece", "Fair Ground"} {
		id := fmt.Sprintf("permission-%d", i+1)
		if i > 0 {
			source.Permissions = append(source.Permissions, find.Permission{ID: id, Place: &find.Place{Name: name}})
		}
		source.Finds[i].Permission = id
	}
	c, err := Copy(t.Context(), source, Options{Audience: Public})
	if err != nil || len(c.Circles()) != 1 {
		t.Errorf("%d circles, %v", len(c.Circles()), err)
	}
}

// The club gets no title, no handle that nobody chose for it, no clock, no numbers of others; nobody gets what
// the file says of itself in words of its own.
func TestWhatTheClubGets(t *testing.T) {
	source := attacked("buckle")
	f := source.Finds[0]
	source.Title, source.Reuse, source.VocabularyVersion = "Rookery Piece 2 March", "ROOKERY-1", "Rookery.1"
	source.People = append(source.People, find.Person{ID: "person-2", Handle: "Harold"})
	f.Finder, f.OtherNumbers = "person-2", []find.OtherNumber{{Number: "HP-2026-001"}}
	f.Recorded = &find.Recorded{At: "2026-04-02T10:11:12Z"}
	for _, a := range []Audience{Club, Expert, Public} {
		c, err := Copy(t.Context(), source, Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		for format, data := range encodings(t, c.Report) {
			for _, text := range []string{"Rookery", "ROOKERY", "Harold", "HP-2026", "10:11"} {
				if strings.Contains(string(data), text) {
					t.Errorf("%s for %s has %s", format, a, text)
				}
			}
		}
	}
	source.People[1].Consents = []find.Consent{{Audience: "club"}}
	c, err := Copy(t.Context(), source, Options{Audience: Club})
	if err != nil || !slices.ContainsFunc(c.Report.People, func(p find.Person) bool { return p.Handle == "Harold" }) {
		t.Errorf("the handle was passed for the club, and it does not get it: %v", err)
	}
}

// Region and country are told in words of the published list only.
func TestDistrictsOfTheList(t *testing.T) {
	for _, c := range cases.Table[[][3]string](t, "DistrictsOfTheList") {
		region, country, want := c[0], c[1], c[2]
		source := attacked("buckle")
		source.Finds[0].Place = &find.Place{Region: region, Country: country}
		copied, err := Copy(t.Context(), source, Options{Audience: Public, District: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range copied.Report.Finds {
			if copied.Back[f.ID] != source.Finds[0].ID {
				continue
			}
			got := ""
			if f.Place != nil {
				got = f.Place.Region + " " + f.Place.Country
			}
			if got != want {
				t.Errorf("%q, %q is told as %q, want %q", region, country, got, want)
			}
		}
	}
}

// What was put back into a copy, or a copy for others held up as one for the public, is not within the table.
func TestAgainstTable(t *testing.T) {
	for _, c := range []struct {
		made, asked Audience
		put         func(f *find.Find)
		want        string
	}{
		{Public, Public, func(*find.Find) {}, ""}, {Recorder, Recorder, func(*find.Find) {}, ""},
		{Expert, Public, func(*find.Find) {}, "find 1: "}, {Club, Public, func(*find.Find) {}, "find 1: "},
		{Public, Public, func(f *find.Find) { f.Description = "green" }, "find 1: description"},
		{Expert, Expert, func(f *find.Find) { f.Found = &find.Found{Date: "2026-03-02"} }, "find 1: found/date"},
		{Recorder, Recorder, func(f *find.Find) { f.StoragePlace = "safe" }, "find 1: storagePlace"},
		{Public, Public, func(f *find.Find) { f.Materials[0].Code = "gold" }, "find 1 is there (may be treasure)"},
	} {
		source := attacked("buckle")
		source.Finds[0].Found, source.Finds[0].Description = &find.Found{Date: "2026-03-02"}, "worn"
		copied, err := Copy(t.Context(), source, Options{Audience: c.made, Day: "2026-07-01"})
		if err != nil {
			t.Fatal(err)
		}
		c.put(copied.Report.Finds[0])
		told, err := AgainstTable(t.Context(), Held(copied.Report), InMemory(), c.asked, "2026-07-01")
		if err != nil || (c.want == "") != (len(told) == 0) || !strings.HasPrefix(strings.Join(told, "; "), c.want) {
			t.Errorf("%s as %s: %v, %v, want %q", c.made, c.asked, told, err, c.want)
		}
	}
}

// The lists can be read.
func TestListsAreRead(t *testing.T) {
	for list, words := range tellingWords() {
		if len(words) == 0 {
			t.Errorf("the list %s of schema/data/telling.json is empty", list)
		}
	}
	rows, err := schema.Rows[region]("regions")
	if err != nil || len(rows) < 10 {
		t.Errorf("schema/data/regions.json: %d rows, %v", len(rows), err)
	}
}
