package share

import (
	"strconv"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// row is a find as a sheet tells it: name, material, age and a remark.
type row struct{ name, material, age, words string }

func (r row) find() *find.Find {
	f := &find.Find{Name: r.name, Description: r.words}
	if r.material != "" {
		f.Materials = []find.Material{{Term: find.Term{Code: r.material}}}
	}
	if r.age != "" {
		f.Dating = &find.Dating{Verbatim: r.age}
		if year, err := strconv.Atoi(r.age); err == nil {

			f.Dating.Earliest, f.Dating.Latest = find.Int(year), find.Int(year)
		}
	}
	return f
}

// What the words of a row leave open is in no public copy; what is plainly of base metal or of our time stays.
// The rows and what they are in life: common practice, no source; the years of copper coins: from memory.
func TestTreasureByWords(t *testing.T) {
	held := []row{
		// A coin of which no metal is said, silver until the copper of its kind began.
		{"penny", "", "medieval", ""}, {"halfpenny", "", "Edward I", ""}, {"penny", "", "1280", ""}, {"penny", "", "", ""},
		{"cut halfpenny", "", "medieval", ""}, {"farthing", "", "", ""}, {"farthing", "", "1625", ""},
		{"penny", "", "1696", ""}, {"hammy", "", "", ""}, {"cut half", "", "", ""}, {"Pfennig", "", "Mittelalter", ""},
		{"coin", "", "", ""}, {"Münze", "", "", ""}, {"Elizabeth I penny", "", "", ""},
		// Several coins, of whatever metal.
		{"coins", "bronze", "Roman", ""}, {"14 coins", "", "", ""}, {"coin x3", "copper", "", ""},
		{"nummi x 40", "bronze", "Roman", ""}, {"coin group", "bronze", "Roman", ""}, {"bag of coins", "", "", ""},
		{"Münzen", "copper", "", ""},
		// What may be of gold where no metal is said, and ingots.
		{"ring", "", "", ""}, {"Fingerring", "", "", ""}, {"ingot", "copper", "", ""}, {"copper cake", "", "", ""},
		{"bun ingot", "", "", ""}, {"bar", "lead", "Roman", "ingot"}, {"axe", "bronze", "", "flat axe"},
	}
	for _, words := range []string{"horde", "hord", "one of 30", "30 of them in one hole", "several more under it",
		"stuck together", "purse drop, 12 more", "1 of 240 from the pot", "found with 11 others in a heap",
		"found with eleven others", "Coroner told", "declared under the Act", "with the BM now", "tresure case",
		"lag mit 30 anderen", "Denkmalamt: Schatzregal", "18ct", "18 ct", "9-ct", "hallmark inside", "hallmarked",
		"stamped 925", "I think it is actually Au", "XRF says Au 92", "tests as AR", "ag", "precious?",
		"Feingehalt 585"} {
		held = append(held, row{"buckle", "copper-alloy", "", words})
	}
	for _, age := range []string{"BA", "EBA", "MBA", "LBA", "IA", "EIA", "MIA", "LIA", "BZ", "EZ", "FBZ"} {
		held = append(held, row{"axe", "bronze", age, ""})
	}
	for _, r := range held {
		if !mayBeTreasure(saidOf(r.find()), false) {
			t.Errorf("%+v is told to the public", r)
		}
	}
	f := row{"penny", "", "", ""}.find()
	f.Columns = map[string]string{"Remarks": "one of 30"}
	if f.Materials = []find.Material{{Term: find.Term{Code: "copper"}}}; !mayBeTreasure(saidOf(f), false) {
		t.Error("what a column says that no member took is not looked at")
	}
}

func TestRemainsByWords(t *testing.T) {
	for _, words := range []string{"lay with bones", "grave good", "from a grave", "skeleton beside", "lay on ribs",
		"ashes in a pot", "soldier still there", "aus Grab", "beim Skelett"} {
		if !humanRemains(saidOf(row{"brooch", "copper-alloy", "Saxon", words}.find())) {
			t.Errorf("%q is told to the public", words)
		}
	}
}

func TestPlainThingsStay(t *testing.T) {
	for _, r := range []row{
		{"George III farthing", "", "1799", ""}, {"George III farthing", "", "", ""}, {"halfpenny", "", "1944", ""},
		{"halfpenny 1944", "", "", ""}, {"farthing", "", "1799", ""}, {"Victorian penny", "", "", ""},
		{"cartwheel penny", "", "1797", ""}, {"penny", "copper", "", ""}, {"large cent", "", "1853", ""},
		{"silver-plated spoon", "", "1900", "hallmarked"}, {"cut nail", "iron", "", ""}, {"split ring", "", "", ""},
		{"harness ring", "iron", "", ""}, {"curtain ring", "brass", "", ""}, {"jetton", "", "", ""},
		{"trade token", "copper", "1795", "penny size"}, {"nummus", "bronze", "Roman", ""},
		{"Pfennig", "copper", "1762", ""},
		{"buckle", "copper-alloy", "medieval", "complete, like one in the British Museum"},
		{"buckle", "brass", "", "found in three pieces that fit; 3 of 4 prongs missing"},
		{"engraved button", "brass", "", "engraved with two ribs and 5 petals, from the gravel"},
		{"boucle", "bronze", "", "Trouvé au bord du champ. Au nord, au pied du mur"},
		{"knob", "brass", "", "seen by torch light"}, {"toy soldier", "lead", "", ""},
		{"thimble", "brass", "", "decorated with ribs"}, {"watch key", "brass", "", "handle with bone"},
		{"shot", "lead", "", "1 of the usual"}, {"plough point", "iron", "", "part 1 of 2 parts"},
		{"crotal bell", "bronze", "", "obv CAROLVS II DEI GRATIA 1672"},
	} {
		if f := r.find(); mayBeTreasure(saidOf(f), false) || humanRemains(saidOf(f)) {
			t.Errorf("%+v is kept back: treasure %v, remains %v", r, mayBeTreasure(saidOf(f), false), humanRemains(saidOf(f)))
		}
	}
}
