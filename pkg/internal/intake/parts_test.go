package intake

import (
	"maps"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// A log with one column for the period and one for the age; a file of ours with words and EDTF.
func TestPartsOfADating(t *testing.T) {
	for _, c := range []struct {
		words, age     string
		verbatim, date string
	}{
		{"Middeleeuwen", "13e eeuw", "Middeleeuwen, 13e eeuw", ""},
		{"", "13e eeuw", "13e eeuw", ""},
		{"Roman", "", "Roman", ""},
		{"early 18th century", "1701/1733", "early 18th century", "1701/1733"},
		{"18th century", "18th century", "18th century", "18th century"},
	} {
		var f find.Find
		(&Parts{Dating: c.age, DatingVerbatim: c.words}).Join(&f, func(field string) string { return field })
		if f.Dating == nil || f.Dating.Verbatim != c.verbatim || f.Dating.Date != c.date {
			t.Errorf("%q and %q give %+v", c.words, c.age, f.Dating)
		}
	}
}

// Words of a position, and beside them what says it once more: numbers stand beside the words, all
// else is kept under its heading. Nothing that was written is lost.
func TestPartsOfAPosition(t *testing.T) {
	for name, c := range map[string]struct {
		parts              Parts
		verbatim, lat, lon string
		columns            map[string]string
		kept               []string
	}{
		"both numbers": {Parts{Position: "by the gate", Latitude: "52.5", Longitude: "-1.2"}, "by the gate", "52.5",
			"-1.2", nil, nil},
		"longitude alone": {Parts{Position: "by the gate", Longitude: "-1.2"}, "by the gate", "", "-1.2", nil, nil},
		"latitude alone":  {Parts{Position: "by the gate", Latitude: "52.5"}, "by the gate", "52.5", "", nil, nil},
		"no numbers": {Parts{Position: "SP 5270 9011", Latitude: "52 30 N", Longitude: "1 12 W"}, "SP 5270 9011", "", "",
			map[string]string{"H position.latitude": "52 30 N", "H position.longitude": "1 12 W"},
			[]string{"position.latitude", "position.longitude"}},
		"one is no number": {Parts{Position: "SP 5270 9011", Latitude: "52.5", Longitude: "1 12 W"}, "SP 5270 9011", "", "",
			map[string]string{"H position.latitude": "52.5", "H position.longitude": "1 12 W"}, []string{"position.latitude",
				"position.longitude"}},
		"grid beside words": {Parts{Position: "by the gate", Easting: "452700", Northing: "290110"}, "by the gate", "", "",
			map[string]string{"H position.easting": "452700", "H position.northing": "290110"}, []string{"position.easting",
				"position.northing"}},
		"grid beside degrees": {Parts{Latitude: "52.5", Longitude: "-1.2", Easting: "452700"}, "52.5, -1.2", "", "",
			map[string]string{"H position.easting": "452700"}, []string{"position.easting"}},
		"grid": {Parts{Easting: "452700", Northing: "290110"}, "452700, 290110", "", "", nil, nil},
	} {
		var f find.Find
		kept := c.parts.Join(&f, func(field string) string { return "H " + field })
		if f.Position == nil || f.Position.Verbatim != c.verbatim || f.Position.Latitude.String() != c.lat ||
			f.Position.Longitude.String() != c.lon ||
			!maps.Equal(f.Columns, c.columns) || !slices.Equal(kept, c.kept) {
			t.Errorf("%s: %+v, columns %v, kept %v", name, f.Position, f.Columns, kept)
		}
	}
}
