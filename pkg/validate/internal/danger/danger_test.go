package danger

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

// TestListOfOthers asks a list of words of danger and of harmless ones that was drawn up by somebody else, in eight
// languages (testdata/danger_words.csv; common practice and from memory, that such things are named dangerous: HM
// Coastguard, police and ministries of defence). What must not be touched is heard; a look-alike is not.
func TestListOfOthers(t *testing.T) {
	raw, err := os.ReadFile("testdata/danger_words.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	words, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	// What is harmless in one language and a danger in another is heard: a garnet is a grenade in Denmark.
	elsewhere := map[string]bool{"de Granat": true, "nl graven": true, "da grave": true}
	// Words of two meanings, heard beside another: a sulker in Danish, any round in English.
	alone := map[string]bool{"da forsager": true, "da ammunition": true, "sv ammunition": true}
	asked := 0
	for _, r := range rows[1:] {
		language, term, about, level := r[0], r[1], r[2], r[3]
		want, ok := map[string]Kind{"ordnance": Ordnance, "human-remains": HumanRemains, "aircraft": Aircraft,
			"cartridge-live": Ordnance}[about]
		heard := words.Scan(term)
		all := heard.Surely | heard.Perhaps
		switch {
		case ok && level == "stop" && all&want == 0 && !alone[language+" "+term]:
			t.Errorf("%s %q is not heard", language, term)
		case level == "pass" && all != 0 && !elsewhere[language+" "+term]:
			t.Errorf("%s %q is harmless and speaks of %b", language, term, all)
		}
		asked++
	}
	if asked < 1300 {
		t.Errorf("%d words asked", asked)
	}
}

// TestHeldIsTold: a find that a copy leaves out as one of the dead for a word is told so in a check. The words are
// those of schema/data/telling.json; left out are those that more often mean something else, which it lists.
func TestHeldIsTold(t *testing.T) {
	held, err := schema.Table[map[string]any]("telling")
	if err != nil {
		t.Fatal(err)
	}
	words, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	only := map[any]bool{}
	for _, one := range held["remainsOnlyHeld"].([]any) {
		only[one] = true
	}
	told := 0
	for _, one := range held["remains"].([]any) {
		text := strings.NewReplacer("*", "", " .. ", " ").Replace(one.(string))
		if only[one] || strings.HasPrefix(text, "=") {
			continue
		}
		heard := words.Scan("pin; " + text)
		if (heard.Surely|heard.Perhaps)&HumanRemains == 0 && words.Scan(text).Surely&HumanRemains == 0 {
			t.Errorf("%q holds a find back and is not told", one)
		}
		told++
	}
	if told < 400 {
		t.Errorf("%d words asked", told)
	}
}

// TestInWords: sentences as finders write them, in several languages; the judgement is common practice, no source.
func TestInWords(t *testing.T) {
	words, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]Kind{"ordnance": Ordnance, "human remains": HumanRemains, "": 0}
	for text, kind := range cases.Table[map[string]string](t, "TestInWords") {
		want := kinds[kind]

		if heard := words.Scan(text); heard.Surely != want {
			t.Errorf("%q speaks of %b, want %b", text, heard.Surely, want)
		}
	}
}
