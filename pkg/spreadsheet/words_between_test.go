package spreadsheet

import (
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
