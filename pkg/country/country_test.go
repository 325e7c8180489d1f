package country

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

// Every name of the reference (CLDR 48 for countries, the rest from memory) is read as its code, or asked about: those
// that may mean several are, unless a state is meant by what stands in a column for countries.
func TestNamesOfTheReference(t *testing.T) {
	states := []string{"Ireland", "Luxembourg", "Jersey", "Guernsey", "Germany", "Belgium", "UK", "EL"}
	rows := cases.Reference(t, "country_names.csv")
	asked := map[string]bool{}
	for _, r := range rows {
		if r["kind"] == "ambiguous" && !IsCode(r["name"]) && !slices.Contains(states, r["name"]) || r["name"] == "Kongo" ||
			r["name"] == "NI" {
			asked[r["name"]] = true
		}
	}
	for _, r := range rows {
		name := r["name"]
		code, perhaps := Read(name)
		switch {
		case asked[name]:
			if code != "" {
				t.Errorf("%s is read as %s; the reference says that it may mean %s", name, code, r["code"])
			}
		case IsCode(name) && code == name: // ISO 3166-1 itself
		case r["kind"] != "ambiguous" && code != r["code"]:
			t.Errorf("%s is read as %q %v, want %s", name, code, perhaps, r["code"])
		}
	}
}

// Spellings that people use; none of them stands in the reference like this.
func TestRead(t *testing.T) {
	for written, want := range map[string]string{"GB-ENG": "GB-ENG", "gb eng": "GB-ENG", "GB_ENG": "GB-ENG",
		"gb-eng":  "GB-ENG",
		"ENGLAND": "GB-ENG", "england ": "GB-ENG", "Kent, England": "GB-ENG", "England, UK": "GB-ENG",
		"Wales (UK)": "GB-WLS", "U.K.": "GB", "Great Britain": "GB", "Éire": "IE", "Danmark": "DK", "the Netherlands": "NL",
		"Deutschland": "DE", "Ecosse": "GB-SCT", "Österreich": "AT", "nl": "NL", "DEU": "DE",
		"Narnia": "", "Georgia": "", "": "", "?": ""} {
		if got, _ := Read(written); got != want {
			t.Errorf("%q is read as %q, want %q", written, got, want)
		}
	}
	if _, perhaps := Read("Georgia"); !slices.Equal(perhaps, []string{"GE", "US-GA"}) {
		t.Errorf("Georgia may be %v", perhaps)
	}
	if got := Name("GB-SCT") + "|" + Name("DK") + "|" + Name("DK-84") + "|" +
		Name("QQ"); got != "Scotland|Denmark|Denmark (DK-84)|QQ" {
		t.Error(got)
	}
}

// The grids of the reference: areas of use of the EPSG dataset v10.076, squares from memory.
func TestGridsOfTheReference(t *testing.T) {
	n := 0
	for _, r := range cases.Reference(t, "grid_country.csv") {
		want := strings.Fields(r["countries"])
		switch r["kind"] {
		case "epsg":
			if !slices.Contains([]string{"one", "few"}, r["implies"]) || strings.Contains(r["note"], "hint only") ||
				strings.Contains(r["note"], "offshore") {
				want = nil
			}
			if got := OfGrid(r["key"], ""); !slices.Equal(got, want) {
				t.Errorf("%s: %v, want %v", r["key"], got, want)
			}
			n++
		case "letters":
			grid, square, _ := strings.Cut(r["key"], " ")
			system := map[string]string{"GB": "EPSG:27700", "IE": "EPSG:29903"}[grid]
			if got := OfGrid(system, square+" 123 456"); !slices.Equal(got, want) {
				t.Errorf("%s: %v, want %v", r["key"], got, want)
			}
			n++
		}
	}
	if n != 791+81 {
		t.Errorf("%d grids", n)
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
		"GB-NIR": {Longitude: -5.9, Latitude: 54.6}, "IE": {Longitude: -6.3, Latitude: 53.3},
		"NL": {Longitude: 4.9, Latitude: 52.4}, "BE-VLG": {Longitude: 4.4, Latitude: 50.8},
		"DE-BE": {Longitude: 13.4, Latitude: 52.5}, "DK": {Longitude: 12.6, Latitude: 55.7},
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
	for want, p := range map[string]coordinate.Point{"GB-ENG": {Longitude: -0.5, Latitude: 52.5},
		"NO SE": {Longitude: 15, Latitude: 60}, "BE FR NL": {Longitude: 5, Latitude: 51}} {
		if d := cmp.Diff(want, strings.Join(OfPoint(p), " ")); d != "" {
			t.Errorf("%v: %s", p, d)
		}
	}
}
