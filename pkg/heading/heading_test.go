package heading

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// Every field of the table is a flat name of a find, or one that is read together with others, and
// every label in every language is understood as its own field.
func TestTableFitsTheFields(t *testing.T) {
	fields := Fields()
	if len(fields) < 20 {
		t.Fatalf("only %d fields have labels", len(fields))
	}
	for _, field := range fields {
		if !IsPart(field) {
			if _, err := find.PathTo[find.Find](field); err != nil {
				t.Error(err)
			}
		}
		for _, language := range []string{"en", "de", "nl", "da", "fr", "sv"} {
			text := Label(field, language)
			if text == "" {
				t.Errorf("%s has no label in %s", field, language)
			}
			if field == "dating.verbatim" {
				continue // bears the label of dating.date: a reader sorts the two out by what the cell says
			}
			if got := Understand(text).Field; got != field {
				t.Errorf("label %q of %s in %s is taken for %q", text, field, language, got)
			}
		}
	}
}

// Sizes are not taken for positions: in German, Dutch, Danish and Swedish length and longitude,
// width and latitude share a word, and without the word for degree it is the size.
func TestSizesAreNotPositions(t *testing.T) {
	for _, text := range []string{"Länge", "Länge (mm)", "Lengte", "Længde mm", "Längd [mm]", "Length"} {
		if got := Understand(text).Field; got != "dimensions.length" {
			t.Errorf("%q is taken for %q", text, got)
		}
	}
	for _, text := range []string{"Breite", "Breite [mm]", "Breedte", "Bredde", "Bredd (mm)", "Width"} {
		if got := Understand(text).Field; got != "dimensions.width" {
			t.Errorf("%q is taken for %q", text, got)
		}
	}
	for _, text := range []string{"Längengrad", "geographische Länge", "Lengtegraad", "Længdegrad", "Longitud", "Lon",
		"Long."} {
		if got := Understand(text).Field; got != "position.longitude" {
			t.Errorf("%q is taken for %q", text, got)
		}
	}
}

func TestUnderstand(t *testing.T) {
	for text, want := range map[string]Meaning{
		"":                {Taken: TakenNone},
		"Depth (in)":      {Field: "depth", Taken: TakenLabel, Hints: find.Hints{Unit: "in"}},
		"depth.min [cm]":  {Field: "depth.min", Taken: TakenKey, Hints: find.Hints{Unit: "cm"}},
		"FUNDNUMMER":      {Field: "number", Taken: TakenLabel},
		"columns.Weather": {Keep: "Weather", Taken: TakenKey},
		"weather":         {Taken: TakenNone},
		"Latitude":        {Field: "position.latitude", Taken: TakenLabel},
	} {
		got := Understand(text)
		got.Hints.System = want.Hints.System // the axes of a grid are pkg/coordinate's to test
		if got != want {
			t.Errorf("%q is taken for %+v, want %+v", text, got, want)
		}
	}
	if got := Nearest("Fundnumer"); got != "fundnummer" {
		t.Errorf("nearest to a misspelt heading is %q", got)
	}
	if got := Nearest("qqq"); got != "" {
		t.Errorf("nearest to a short word is %q", got)
	}
}

func FuzzUnderstand(f *testing.F) {
	f.Add("Depth (in)")
	f.Add("materials.2.certainty")
	f.Fuzz(func(t *testing.T, text string) {
		m := Understand(text)
		if m.Taken == TakenNone && (m.Field != "" || m.Keep != "") {
			t.Errorf("%q: %+v", text, m)
		}
		if m.Field != "" && m.Field != "position.easting" && m.Field != "position.northing" {
			if _, err := find.PathTo[find.Find](m.Field); err != nil {
				t.Errorf("%q: %v", text, err)
			}
		}
		Nearest(text)
	})
}

// A suggestion is made where it helps: not for short words, which are near to many, and for general
// words the field that may be meant.
func TestNearestIsNear(t *testing.T) {
	for text, want := range map[string]string{"Gerät": "", "Size": "length", "Afmeting": "length", "Größe (mm)": "length",
		"Detector": "", "Wetter": "",
		"Materail": "material", "Finderr": "finder", "Xyz": ""} {
		if got := Nearest(text); got != want {
			t.Errorf("for %q %q is suggested, want %q", text, got, want)
		}
	}
}

// In degrees it is a place, and no size.
func TestDegreesAreNoSize(t *testing.T) {
	for text, want := range map[string]string{"Breite (Grad)": "position.latitude", "Länge (Grad)": "position.longitude",
		"Länge [°]": "position.longitude", "Breedte (graden)": "position.latitude", "Breite (mm)": "dimensions.width"} {
		if got := Understand(text).Field; got != want {
			t.Errorf("%q is taken for %q, want %q", text, got, want)
		}
	}
}

// The quick look lets every word of a row through, in either case and with signs around it.
func TestMayBegin(t *testing.T) {
	for kind, words := range known().grammar.rows {
		for word := range words {
			if c := word[0] | 0x20; c < 'a' || c > 'z' {
				continue
			}
			for _, text := range []string{word, " " + word + ".", strings.ToUpper(word), strings.ToUpper(word[:1]) + word[1:]} {
				if !MayBegin(kind, text) {
					t.Errorf("%s: %q", kind, text)
				}
			}
		}
	}
	for _, text := range []string{"shoe buckle", "52.5", ""} {
		if MayBegin("ditto", text) {
			t.Errorf("%q", text)
		}
	}
}

// Yes and no, as people of the six languages answer a question in a cell.
func TestAnswer(t *testing.T) {
	for text, want := range map[string]string{"Yes": "yes", " ja ": "yes", "OUI": "yes", "x": "yes", "Nej.": "no",
		"non": "no", "nein": "no", "perhaps": "", "": "", "M. Asker": ""} {
		yes, known := Answer(text)
		if got := map[bool]string{true: map[bool]string{true: "yes", false: "no"}[yes]}[known]; got != want {
			t.Errorf("%q: %q", text, got)
		}
	}
}
