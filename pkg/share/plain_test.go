package share

import (
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// What of a text goes to those who see places by cells: its clauses of known words, and every measure. Common practice,
// no source; the names are of nobody.
func TestPlainWords(t *testing.T) {
	source := &find.Report{Language: "en", People: []find.Person{{ID: "person-1", Name: "Al Silver"}},
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Hanger"}}}}
	for text, want := range map[string]string{
		"Double oval frame, 22 x 18 mm, worn flat.":         "Double oval frame, 22 x 18 mm, worn flat.",
		"Bent, says Al. Two holes.":                         "Bent, […]. Two holes.",
		"Found 14.2 mm from the pond gate":                  "14.2 mm […]",
		"Hanger again":                                      "",
		"A hanger of a sword":                               "A hanger of a sword",
		"found by the Crown":                                "",
		"a crown on the back":                               "a crown on the back",
		"legend GEORGIVS III DEI GRATIA, holed":             "legend GEORGIVS III DEI GRATIA, holed",
		"off the GEORGIVS, holed":                           "[…], holed",
		"17th century, cf. Marling 1998, fig. 12":           "17th century, cf. Marling 1998, fig. 12",
		"cf. Hanger 1998":                                   "",
		"Schnalle mit zwei Löchern, am Rand gebrochen":      "Schnalle mit zwei Löchern, am Rand gebrochen",
		"bouton plat, deux trous, près du moulin":           "bouton plat, deux trous, […]",
		"four holes, 42 along":                              "four holes, […]",
		"Lovely green patina, slightly pitted, by the mill": "Lovely green patina, slightly pitted, […]",
		"Bronspest på kanten, ljusgrön och pulvrig":         "Bronspest på kanten, ljusgrön och pulvrig",
		"Ligner type B1, men er mindre, ved bækken":         "Ligner type B1, men er mindre, […]",
		"Støpt reimende, to naglehull, ved kirken":          "Støpt reimende, to naglehull, […]",
		"Gietnaad duidelijk zichtbaar, aan de sloot":        "Gietnaad duidelijk zichtbaar, […]",
		"Wybita niecentrycznie, w polu za stodołą":          "Wybita niecentrycznie, […]",
	} {
		s := newSieve(source, nil)
		if got, left := s.sift(text, false); got != want || (left == nil) != (text == want) {
			t.Errorf("%q comes to %q, want %q", text, got, want)
		}
	}
	passed := newSieve(source, (&Policy{}).Pass("from the pond"))
	if got, left := passed.sift("worn, from the pond", false); got != "worn, from the pond" || left != nil {
		t.Errorf("what the owner passed comes to %q", got)
	}
	passed.worth = true
	for text, want := range map[string]string{"From the pond, sold for 85.": "From the pond, […].", "worth £400": "",
		"A penny, worn": "A penny, worn", "Liegt im Waffenschrank": ""} {
		if got, _ := passed.sift(text, false); got != want {
			t.Errorf("%q comes to %q for a partner", text, got)
		}
	}
	for _, tag := range []string{"en", "de", "fr", "nl", "da", "sv", "nb", "pl"} {
		if tongue := plainWords().tongues[tag]; tongue == nil || len(tongue.words) < 1700 || slices.Contains(tongue.endings, "") {
			t.Errorf("%s has not its words", tag)
		}
	}
}
