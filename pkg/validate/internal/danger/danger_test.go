package danger

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"

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
	const o, h = Ordnance, HumanRemains
	words, err := Read()
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]Kind{
		"bones beside it, stopped digging and covered up": h, "Knochen daneben": h, "knogler ved siden af": h,
		"ben bredvid": h, "botten ernaast": h, "os à côté": h, "bein ved siden av": h, "kości obok": h,
		"beside an old mortar pit": 0, "shells all over the field": 0, "a bone lay near it": 0,
		"near the churchyard, human bone in the spoil": h, "a time-fused shell, it is in my garage": o,
		"benknapp": 0, "Knopf aus Knochen": 0, "animal bones beside it": 0, "okładzina z kości": 0, "dog tag": 0,
		"found beside a mortar bomb, left it in the hedge": o, "one thing like a pineapple with a ring pull": o,
		"round with fins, heavy, ticking when shaken": o,
		"tube with a tail fin. Nail beside it":        0, "innen Handgranate? mit Stiel": o,
		"lå ved en blindgjenger, ikke rørt": o,
		"neben Stabbrandbomben":             o,
		"Panzersprenggranaten":              o, "Blindgaenger im Acker": o, "obus non eclate": o,
		"fusée d'obus avec amorce":              o,
		"obok niewypałów":                       o,
		"4 sticks of sweaty gelignite in a tin": o, "live .50 round, primer not struck": o, "skarpe patroner i jorden": o,
		"onder een niet ontplofte granaat":       o,
		"piece of skull and two teeth, put back": h, "jaw with a long bone, looked like a person": h,
		"ludzka czaszka obok": h, "steckte an einem Fingerknochen": h,
		"des os humains dans la coupe": h, "menneskeknoglerne lå der": h, "mänskliga benen": h, "bones, not an animal": h,
		"tooth of a child": h,
		"mine, not his":    0, "de mijne, gevonden": 0, "min kula, min dag": 0, "mine funn": 0, "bomb patina": 0,
		"from a bomb of a day": 0, "bone dry soil": 0,
		"handle is cattle bone": 0, "Griff aus Bein, Totenkopf als Zier": 0, "grenade: insigne": 0, "granateple som pynt": 0,
		"w kształcie granatu (owoc)": 0,
		"pile morte":                 0, "battery dead": 0, "spoon bowl, shell pattern": 0, "fuse cover (electric)": 0,
		"shell card token":          0,
		"Termine, Vitamine, Kamine": 0,
		"examine the jasmine":       0, "ein Guldiner, Bombenwetter": 0, "toy soldier with grenade": 0, "bombé": 0,
	} {
		if heard := words.Scan(text); heard.Surely != want {
			t.Errorf("%q speaks of %b, want %b", text, heard.Surely, want)
		}
	}
}
