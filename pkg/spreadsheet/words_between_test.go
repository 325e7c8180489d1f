package spreadsheet

import (
	"strings"
	"testing"
)

// s.o. is siehe oben in German and sans objet in French, by the common abbreviations of both; elsewhere it is asked.
func TestWordOfTwoMeanings(t *testing.T) {
	for _, test := range []struct{ name, text, depth, absent string }{
		{"French", "Objet,Prof.,Lieu\nbague,8 cm,Pré\nanneau,s.o.,Pré\n", "", "not-applicable"},
		{"French, a slash", "Objet,Prof.,Lieu\nbague,8 cm,Pré\nanneau,s/o,Pré\n", "", "not-applicable"},
		{"German", "Fund,Tiefe,Fundort\nRing,8 cm,Wiese\nKnopf,s. o.,Wiese\n", "8 cm", ""},
		{"unknown", "Find,Depth,Weight\nring,8 cm,3 g\nbutton,s.o.,2 g\n", "", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			r, list := csvReport(t, test.text, Options{})
			f := r.Finds[1]
			depth := ""
			if f.Depth != nil {
				depth = f.Depth.Verbatim
			}
			if depth != test.depth || f.Absent["/depth"] != test.absent || len(f.Columns) == 0 {
				t.Errorf("depth %q, absent %q, columns %v", depth, f.Absent["/depth"], f.Columns)
			}
			asked := false
			for _, n := range list {
				asked = asked || n.Kind == cellUnreadable
			}
			if asked != (test.name == "unknown") {
				t.Errorf("asked: %t", asked)
			}
		})
	}
}

// A day without a year below one with it is of the same year, and one that is not read
// ends the day before it, and its words are kept.
func TestDaysBetweenTheFinds(t *testing.T) {
	const head = "Find,Depth,Grid\n14 March 2021 - Owl farm,,\ncoin,4 in,SN 612 345\n"
	for _, test := range []struct{ row, found, place string }{
		{"18 April", "2021-04-18 18 April", ""},
		{"Sunday 18 April - Low Field", "2021-04-18 Sunday 18 April", "Low Field"},
		{"Sun 18 April - Low Field", "2021-04-18 Sun 18 April", "Low Field"},
		{"Saturday 17th April", "2021-04-17 Saturday 17th April", ""},
		{"Sul 18 Ebrill 2021 - Cae Isaf", "Sul 18 Ebrill 2021 - Cae Isaf", ""},
		{"Sun 18 April - same farm, Low Field", "2021-04-18 Sun 18 April", "Low Field"},
		{"Sun 18 April - same farm", "2021-04-18 Sun 18 April", "Owl farm"},
		{"Low Field", "14 March 2021", "Low Field"},
		{"rain all day so we went home", "14 March 2021", "Owl farm"},
	} {
		t.Run(test.row, func(t *testing.T) {
			r, _ := csvReport(t, head+"\""+test.row+"\",,\nbutton,3 in,SN 613 345\n", Options{})
			f := r.Finds[1]
			found, place := "", ""
			if f.Found != nil {
				found = strings.TrimSpace(f.Found.Date + " " + f.Found.Verbatim)
			}
			if p := r.Permission(f.Permission); p != nil {
				place = p.Place.Name
			}
			if len(r.Finds) != 2 || found != test.found || place != test.place {
				t.Errorf("%d finds, found %q at %q", len(r.Finds), found, place)
			}
		})
	}
}

func TestWordsThatAreNoPictures(t *testing.T) {
	r, list := csvReport(t, "No,Find,Photo\n1,a,see pic\n2,b,yes\n3,c,on phone\n4,d,IMG_1.jpg\n", Options{})
	said := 0
	for _, n := range list {
		if n.Kind == cellUnreadable {
			said++
		}
	}
	for i, f := range r.Finds {
		if want := i == 3; (len(f.Media) == 1) != want || (f.Columns["Photo"] == "") != want {
			t.Errorf("find %d: %v, %v", i, f.Media, f.Columns)
		}
	}
	if said != 3 {
		t.Errorf("said %d times", said)
	}
}
