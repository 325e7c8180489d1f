package law

import (
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/schema"
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
	for place, want := range map[string]string{"DE-SH": "uxo-de", "GB-ENG": "uxo-gb", "NL": "uxo-eu", "US-VA": "uxo-us",
		"": "uxo-any", "IS": "uxo-any"} {
		if got := table.Row("explosives", place).ID; got != want {
			t.Errorf("explosives in %q: %s, want %s", place, got, want)
		}
	}
	for place, want := range map[string]bool{"GB-ENG": true, "DE": true, "IS": false, "PL": false, "": false} {
		if table.Known(place) != want {
			t.Errorf("law known for %q: %v, want %v", place, !want, want)
		}
	}
}

// Every box can be asked, and a place that an atlas has in the country lies in it: capitals, from memory to a
// tenth of a degree.
func TestArea(t *testing.T) {
	rows, err := schema.Rows[box]("countries")
	if err != nil || len(rows) != len(boxes()) {
		t.Fatalf("%d rows, %d areas, %v", len(rows), len(boxes()), err)
	}
	for _, r := range rows {
		if r.Source == "" || r.South >= r.North || r.West >= r.East {
			t.Errorf("%+v", r)
		}
	}
	for place, p := range map[string]coordinate.Point{"GB-ENG": {Longitude: -0.1, Latitude: 51.5},
		"GB-SCT": {Longitude: -3.2, Latitude: 55.9}, "GB-WLS": {Longitude: -3.2, Latitude: 51.5},
		"GB-NIR": {Longitude: -5.9, Latitude: 54.6},
		"IE":     {Longitude: -6.3, Latitude: 53.3}, "NL": {Longitude: 4.9, Latitude: 52.4},
		"BE-VLG": {Longitude: 4.4, Latitude: 50.8}, "DE-BE": {Longitude: 13.4, Latitude: 52.5},
		"DK": {Longitude: 12.6, Latitude: 55.7},
		"SE": {Longitude: 18.1, Latitude: 59.3}, "FR": {Longitude: 2.3, Latitude: 48.9},
		"NO": {Longitude: 10.8, Latitude: 59.9}, "CZ": {Longitude: 14.4, Latitude: 50.1},
		"PT": {Longitude: -9.1, Latitude: 38.7},
		"US": {Longitude: -77, Latitude: 38.9}, "NZ": {Longitude: 174.8, Latitude: -41.3}} {
		area, ok := Area(place)
		if !ok || area.Contains(p, 1) != coordinate.Inside {
			t.Errorf("%s: %v is not inside", place, p)
		}
	}
	if _, ok := Area("ZZ-1"); ok {
		t.Error("ZZ has a box")
	}
}
