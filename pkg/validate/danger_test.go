package validate

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
)

func caseNamed(language, name string) *Case {
	s := DefaultSettings()
	return &Case{Find: &find.Find{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000001", Name: name},
		Report: &find.Report{Language: language}, Settings: &s}
}

// TestDangerWords: the words are our own list, common practice, no source. What must not alarm are
// the false friends that finders report: shells of the sea, mortar of a wall, garnets, bone handles.
func TestDangerWords(t *testing.T) {
	const o, h, a = danger.Ordnance, danger.HumanRemains, danger.Aircraft
	for _, c := range []struct {
		language, name string
		want           danger.Kind
	}{
		{"en", "hand grenade", o}, {"en", "GRENADE??", o}, {"en", "mortar", o}, {"en", "mortar bomb, tail fin", o},
		{"en", "shell", o},
		{"en", "2 inch shell", o}, {"en", "brass fuze cap", o}, {"en", "live round", o}, {"en", "live rounds (.303)", o},
		{"en", "detonator", o},
		{"en", "shell fragment", o}, {"en-GB", "piece of shrapnel", o}, {"", "grenade", o}, {"zz", "bomb", o},
		{"en", "shell button", 0}, {"en", "mother-of-pearl shell button", 0}, {"en", "oyster shell", 0},
		{"en", "seashell", 0}, {"en", "sea-shell", 0},
		{"en", "bombazine", 0}, {"en", "bombarded pot", 0}, {"en", "shelled nut", 0}, {"en", "lime mortar", 0},
		{"en", "mortar from a wall", 0},
		{"en", "mortarium rim", 0}, {"en", "flaming grenade badge", 0}, {"en", "grenadier's buckle", 0},
		{"en", "fuse box cover", 0}, {"en", "musket ball", 0},
		{"en", "map from ordnance survey", 0}, {"en", "coin in a bomb crater", 0}, {"en", "minesweeper toy", 0},
		{"en", "mine", 0},
		{"de", "Handgranate", o}, {"de", "Zünder", o}, {"de", "scharfe Munition", o}, {"de", "Granatring mit Stein", 0},
		{"de", "Bombenkrater", 0},
		{"nl", "handgranaat", o}, {"nl", "granaat", o}, {"nl", "ring met granaat", 0}, {"nl", "mortier", o},
		{"da", "håndgranat", o}, {"da", "granat", o}, {"da", "ring med granat", 0}, {"da", "mine fund", 0},
		{"fr", "obus", o}, {"fr", "grenade", o}, {"fr", "bouton à grenade", 0}, {"fr", "mortier de chaux", 0},
		{"sv", "blindgångare", o}, {"sv", "tändrör", o}, {"sv", "broschen", 0},
		{"en", "skull", h}, {"en", "human bone", h}, {"en", "bone", h}, {"en", "coffin handle", h}, {"en", "grave", h},
		{"en", "cremated bone", h},
		{"en", "bone handle", 0}, {"en", "bone comb", 0}, {"en", "sheep skull", 0}, {"en", "pig tooth", 0},
		{"en", "grave slab", 0}, {"en", "gravel", 0},
		{"en", "engraved spoon", 0}, {"en", "skull and crossbones button", 0},
		{"en", "cogwheel with broken teeth, part of a gear", 0}, {"en", "skeleton key", 0},
		{"de", "Sarggriff", h}, {"de", "Schädel", h}, {"de", "Knochen vom Tier", 0}, {"nl", "menselijk bot", h},
		{"nl", "os", 0},
		{"da", "ligkiste", h}, {"fr", "crâne", h}, {"fr", "os de mouton", 0}, {"sv", "likkista", h}, {"en", "grab rail", 0},
		{"da", "ring fra grave i haven", 0}, {"fr", "bague, état grave", 0}, {"en", "graves in the churchyard", h},
		{"de", "Grab", h},
		{"en", "aircraft part", a}, {"en", "crash site debris", a}, {"en", "toy aircraft", 0}, {"de", "Flugzeugteil", a},
		{"en", "", 0}, {"en", "crotal bell", 0}, {"en", "\xff\xfe shell button", 0},
	} {
		if got := speaksOf(caseNamed(c.language, c.name)).of; got != c.want {
			t.Errorf("%s %q speaks of %b, want %b", c.language, c.name, got, c.want)
		}
	}
}

// TestEveryTextIsHeard: wherever a row says it, it is heard, and the notice stands at that member.
func TestEveryTextIsHeard(t *testing.T) {
	const word = "beside it a live hand grenade"
	term := &find.Term{Verbatim: word}
	for pointer, f := range map[string]*find.Find{
		"/name": {Name: word}, "/type": {Type: word}, "/description": {Description: word},
		"/objectClass": {ObjectClass: term}, "/question": {Question: word},
		"/notes": {Notes: word}, "/columns/How~1why": {Columns: map[string]string{"How/why": word, "Mood": "good"}},
		"/place":      {Place: &find.Place{Verbatim: word}},
		"/found/date": {Found: &find.Found{Verbatim: word}},
		"/depth":      {Depth: &find.Depth{Quantity: find.Quantity{Verbatim: word}}},
		"/count":      {Count: &find.Quantity{Verbatim: word}}, "/weight": {Weight: &find.Quantity{Verbatim: word}},
		"/materials/0": {Materials: []find.Material{{Term: *term}}},
		"/condition":   {Condition: &find.Condition{State: term}}, "/marks/0": {Marks: []find.Mark{{Meaning: word}}},
		"/dating": {Dating: &find.Dating{Verbatim: word}},
		"/signal": {Signal: &find.Signal{Note: word}}, "/media/0": {Media: []find.Media{{Caption: word}}},
		"/storagePlace": {StoragePlace: word},
		"/storage":      {Storage: word}, "/value": {Value: word}, "/disposition": {Disposition: term},
	} {
		c := caseNamed("en", "")
		c.Find = f
		if got := speaksOf(c).ordnance; got != pointer {
			t.Errorf("%s: ordnance is heard at %q", pointer, got)
		}
	}
	c := caseNamed("en", "mortar")
	c.Find.Type = "bomb, tail fin" // two cells of a row
	if speaksOf(c).of != danger.Ordnance {
		t.Error("a mortar bomb over two cells is not heard")
	}
	c = caseNamed("en", "button")
	c.Find.Type = "grenade"
	if speaksOf(c).of != 0 {
		t.Error("a button with a grenade over two cells is heard")
	}
}

// TestDangerWordsInNotes: notes speak of the surroundings, so words of two meanings need another beside them there.
func TestDangerWordsInNotes(t *testing.T) {
	for notes, want := range map[string]danger.Kind{
		"beside an old mortar pit": 0, "shells all over the field": 0, "a bone lay near it": 0,
		"hand grenade seen two metres away":            danger.Ordnance,
		"near the churchyard, human bone in the spoil": danger.HumanRemains,
		"a time-fused shell, it is in my garage":       danger.Ordnance,
	} {
		c := caseNamed("en", "thimble")
		c.Find.Notes = notes
		if got := speaksOf(c).of; got != want {
			t.Errorf("notes %q speak of %b, want %b", notes, got, want)
		}
	}
}

func FuzzSpeaksOf(f *testing.F) {
	for _, s := range []string{"hand grenade", "\xff", "shell\x00button", "ÅÄÖ granat", "mother-of-pearl shell button"} {
		f.Add("en", s)
	}
	f.Fuzz(func(t *testing.T, language, text string) {
		c := caseNamed(language, text)
		c.Find.Notes, c.Find.Description = text, text
		first := speaksOf(c).of
		c.Find.Notes = "hand grenade\n" + text
		c.facts = facts{}
		if more := speaksOf(c).of; more&first != first || more&danger.Ordnance == 0 {
			t.Errorf("%q speaks of %b, behind other words of %b", text, first, more)
		}
	})
}
