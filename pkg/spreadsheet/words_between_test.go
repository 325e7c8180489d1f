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
