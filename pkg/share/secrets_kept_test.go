package share

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

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
				"Landowner": "Agnes Thistlewood", "Mates": "Tom Ashgrove, Una Pettigrew", "Ground": "Stubble",
				"Phone": "01632 960987", "Mood": "Good", "When": "2026-03-02", "Buddy": "Jed"}}},
	}
	c, err := Copy(t.Context(), source, Options{Audience: Expert, Day: "2026-06-01"})
	if err != nil {
		t.Fatal(err)
	}
	c.Names = []string{"logs/Wetherspoon Hollow - finds 2026.csv", "season.xlsx", "log.csv", "finds.xlsx"}
	for text, found := range map[string]bool{
		"Thistlewood buckle": true, "Agnes Thistlewood": true, "with Una": false, "Pettigrew": true, "ashgrove": true,
		"01632-960987": true, "given to Jed": true,
		"Gudgeon buckle": true, "Gudgeon Meadow": true, "in the meadow": false, "all day": false, "Total 12 finds": false,
		"vom Hohen Feld": true, "Hohenfeld": true, "Feld, hohes": true, "Feld": false, "Rookery badge": true,
		"piece of the rookery": true, "piece": false,
		"Wetherspoon bell": true, "wetherspoon hollow": true, "the season's finds": false, "log": false, "2026-03": false,
		"bell, buckle, stubble, good": false,
	} {
		if got := len(leaksOf(t, []byte("a "+text+" here"), source, c, Expert)) > 0; got != found {
			t.Errorf("%q: found %v, want %v", text, got, found)
		}
	}
	owner := &Copied{Report: &find.Report{Permissions: source.Permissions}}
	if leaks := leaksOf(t, []byte("Rookery Piece, the rookery"), source, owner, Recorder); len(leaks) > 0 {
		t.Errorf("what the copy shows by right is called a leak: %v", leaks)
	}
}
