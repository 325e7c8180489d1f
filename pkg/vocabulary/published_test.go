package vocabulary

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/findslip/findslip/schema"
)

// Each member that stands in a published list has its place in Scheme, so that no figure is lost on
// reading.
func TestNoMemberIsLost(t *testing.T) {
	for _, name := range Lists() {
		text, err := schema.Vocabulary.ReadFile("vocabulary/" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		reader := json.NewDecoder(bytes.NewReader(text))
		reader.DisallowUnknownFields()
		if err := reader.Decode(new(Scheme)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The default widths of the starting list of vocabularies, all of them "our proposal": from half to
// twice the figure for the guess of a detector, half as wide again for what was remembered later.
func TestWidthsOfDepthBases(t *testing.T) {
	for code, want := range map[string]Width{
		"level-survey":     {Rule: "half-width", HalfWidth: 1, Unit: "cm"},
		"tape-measured":    {Rule: "half-width", HalfWidth: 1.5, Unit: "cm"},
		"rule-on-tool":     {Rule: "half-width", HalfWidth: 3, Unit: "cm"},
		"spade-estimate":   {Rule: "half-width", HalfWidth: 7, Unit: "cm"},
		"hand-estimate":    {Rule: "half-width", HalfWidth: 7, Unit: "cm"},
		"pinpointer-guess": {Rule: "half-width", HalfWidth: 7, Unit: "cm"},
		"signal-guess":     {Rule: "factor", Low: 0.5, High: 2},
		"spit":             {Rule: "spit-thickness"},
		"layer-only":       {Rule: "plough-depth"},
		"surface":          {Rule: "zero"},
		"spoil-heap":       {Rule: "none"},
		"remembered-later": {Rule: "widen", High: 1.5},
		"not-recorded":     {Rule: "none"},
	} {
		want.Source = "our proposal"
		c, ok := Get("depth-basis").Concept(code)
		if !ok || c.Width == nil || *c.Width != want {
			t.Errorf("%s has the width %+v, want %+v", code, c, want)
		}
	}
}

// A radius is fixed, or the list says why there is none; none is below the least that can be believed.
func TestRadiiOfPositionMethods(t *testing.T) {
	for _, c := range Get("position-method").Concepts {
		m := c.Method
		switch {
		case c.Code == "other":
			if m != nil {
				t.Errorf("a method that nobody knows has the radius %+v", m)
			}
		case m == nil || m.Source == "":
			t.Errorf("%s has no radius with its source", c.Code)
		case m.Rule == "" && (m.Metres < m.Least || m.Least <= 0):
			t.Errorf("%s has the radius %g, and %g as the least", c.Code, m.Metres, m.Least)
		case m.Rule != "" && (m.Metres != 0 || m.Rule != "computed" && m.Rule != "none"):
			t.Errorf("%s has the rule %q and the radius %g", c.Code, m.Rule, m.Metres)
		}
	}
}

// Years of a period are marked as what they are.
func TestYearsOfPeriodsAreMarked(t *testing.T) {
	n := 0
	for _, c := range Get("period-scheme").Concepts {
		if y := c.Years; y != nil {
			n++
			if y.Source != "from memory, to be loaded from a scheme" || y.Place == "" || y.To != 0 && y.To < y.From {
				t.Errorf("%s: %+v", c.Code, *y)
			}
		}
	}
	if n == 0 {
		t.Error("no period has years")
	}
}

func TestLettersThatAKeyboardHasNot(t *testing.T) {
	for list, words := range map[string]map[string]string{
		"material": {"stobejern": "cast-iron", "stoebejern": "cast-iron", "staal": "steel", "Weissblech": "tinplate",
			"Tonware": "ceramic"},
		"object-class": {"Muenze": "coin", "Munze": "coin", "Schluessel": "lock-key", "mont": "coin", "moent": "coin",
			"noegle": "lock-key", "Knoepfe": "button", "naal": "textile-tool"},
	} {
		for word, code := range words {
			m, ok := Get(list).Match(word)
			if ok && m.Code != code || !ok {
				t.Errorf("%s: %q is %+v, %v, want %s", list, word, m, ok, code)
			}
		}
	}
}

func TestLabelOfALanguageWithARegion(t *testing.T) {
	c, _ := Get("material").Concept("lead")
	for lang, want := range map[string]string{"de": "Blei", "de-AT": "Blei", "nl-BE": "lood", "it": "lead", "": "lead"} {
		if got := c.Label(lang); got != want {
			t.Errorf("the label in %q is %q, want %q", lang, got, want)
		}
	}
}
