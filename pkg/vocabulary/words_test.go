package vocabulary

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Words that are a label with an ending of some plural, and mean something else. From memory, with
// the dictionary sense beside each.
var falseFriends = map[string]map[string]string{
	"material": {
		"klein": "small (de, nl); klei is clay", "boten": "boats (nl); bot is bone", "boter": "butter (nl)",
		"loods": "a shed (nl); lood is lead",
		"tins":  "boxes (en)", "coppers": "coins of a penny (en)", "irons": "shackles, or for cloth (en)",
		"leads": "for dogs (en)", "brasses": "plates in churches (en)",
		"bronzes": "figures (en)", "silvers": "medals (en)", "golds": "medals (en)",
		"gulden": "a coin (de, nl); guld is gold", "liner": "a ship (en); lin is linen",
		"line": "a string or row (en)", "lins": "a lens (sv)", "file": "a tool (en); fil is thread", "filer": "files (sv)",
		"tone":  "a sound (en); Ton is clay",
		"toner": "for printers (en)", "tons": "a weight (en)", "kopers": "buyers (nl); koper is copper",
		"tine": "of a fork (en); tin is tin", "blyer": "pencils (da)",
		"fers": "horseshoes (fr)", "argents": "moneys (fr)", "zinken": "tines (de); Zink is zinc",
		"tinnen": "battlements (nl)", "golder": "no word", "tran": "oil of fish (sv); trä is wood",
		"tras": "a mortar (nl)", "jets": "aeroplanes (en); jet is jet", "pots": "vessels (en)", "egen": "own (da, sv)",
		"orer": "no word", "oren": "ears (nl)",
	},
	"object-class": {"belle": "a beautiful woman (en, fr)", "mingle": "to mix (en)", "topper": "a hat (en)"},
}

func TestEndingsMakeNoFalseFriends(t *testing.T) {
	for list, words := range falseFriends {
		for word, sense := range words {
			if m, ok := Get(list).Match(word); ok {
				t.Errorf("%s: %q (%s) is taken for %s", list, word, sense, m.Code)
			}
		}
	}
}

func TestPluralsAreRead(t *testing.T) {
	for list, words := range map[string]map[string]string{
		"material": {"bones": "bone", "teeth": "bone", "shells": "shell", "Knochen": "bone", "flints": "flint",
			"antlers": "antler-horn", "coquilles": "shell", "Perlen": "shell"},
		"object-class": {"buttons": "button", "thimbles": "textile-tool", "crosses": "devotional", "coins": "coin",
			"buckles": "buckle", "Patronen": "cartridge", "Fingerhüte": "textile-tool",
			"mynt": "coin", "jetonger": "jetton", "boulets": "artillery-shot", "granaten": "explosive", "granater": "explosive",
			"Granaten": "explosive", "mynter": "coin", "hestesko": "horseshoe",
			"guziki": "button", "moneta": "coin", "naparstek": "textile-tool", "grenades": "explosive"},
	} {
		for word, code := range words {
			m, ok := Get(list).Match(word)
			if m.Code != code || ok != (code != "") {
				t.Errorf("%s: %q is taken for %q, want %q", list, word, m.Code, code)
			}
		}
	}
}

// One label of one list in one language is claimed by one concept. Suggestions are not labels, and
// may not be labels of another concept either.
func TestOneConceptClaimsALabel(t *testing.T) {
	// None is known that has to be; an entry is "list lang folded", with its reason behind it.
	known := map[string]string{}
	for _, name := range Lists() {
		claims := map[string][]string{}
		add := func(lang, text, code string) {
			key := name + " " + lang + " " + fold(text)
			if !slices.Contains(claims[key], code) {
				claims[key] = append(claims[key], code)
			}
		}
		for _, c := range Get(name).Concepts {
			for lang, text := range c.PrefLabel {
				add(lang, text, c.Code)
			}
			for _, labels := range []map[string][]string{c.AltLabel, c.HiddenLabel} {
				for lang, texts := range labels {
					for _, text := range texts {
						add(lang, text, c.Code)
					}
				}
			}
			for _, g := range c.SuggestedBy {
				add(g.Lang, g.Text, c.Code)
			}
		}
		for key, codes := range claims {
			if len(codes) > 1 && known[key] == "" {
				t.Errorf("%s is claimed by %s", key, strings.Join(codes, " and "))
			}
			if len(codes) == 1 && known[key] != "" {
				t.Errorf("%s is no longer claimed twice", key)
			}
		}
	}
}

// Every text that stands in a list is matched with some concept of it, and a misspelling or
// suggestion says that it is one.
func TestEveryTextIsMatched(t *testing.T) {
	for _, name := range Lists() {
		s := Get(name)
		for _, c := range s.Concepts {
			for _, texts := range c.AltLabel {
				for _, text := range texts {
					if m, ok := s.Match(text); !ok || m.Certainty != "" && m.How != Suggested && !strings.Contains(text, "?") {
						t.Errorf("%s: %q of %s gives %+v, %v", name, text, c.Code, m, ok)
					}
				}
			}
			for _, g := range c.SuggestedBy {
				m, ok := s.Match(g.Text)
				if !ok || m.Code == c.Code && m.How == Suggested && m.Certainty != g.Certainty {
					t.Errorf("%s: %q suggests %+v, %v, want %s", name, g.Text, m, ok, g.Certainty)
				}
			}
		}
	}
}

// A question mark behind any label of materials lowers the certainty and leaves the code.
func TestDoubtLowersTheCertainty(t *testing.T) {
	s := Get("material")
	for _, c := range s.Concepts {
		for lang, text := range c.PrefLabel {
			plain, _ := s.Match(text)
			m, ok := s.Match(text + "?")
			if !ok || m.Code != plain.Code || m.Certainty != "possible" {
				t.Errorf("%s in %s: %q with a question mark is %+v, %v", c.Code, lang, text, m, ok)
			}
		}
	}
}

func TestDoubtInSixLanguages(t *testing.T) {
	for text, want := range map[string]string{
		"probably brass": "probable", "brass, probably": "probable", "perhaps brass": "possible", "wohl Messing": "probable",
		"Messing, vielleicht":    "possible",
		"waarschijnlijk messing": "probable", "mogelijk messing": "possible", "formodentlig messing": "probable",
		"måske messing":       "possible",
		"probablement laiton": "probable", "peut-être laiton": "possible", "troligen mässing": "probable",
		"kanske mässing": "possible", "möjligen mässing": "possible",
		"possibly prob. brass": "possible", "prob. brass?": "possible", "?brass": "possible", "brass (?)": "possible",
	} {
		if m, ok := Get("material").Match(text); !ok || m.Code != "brass" || m.Certainty != want {
			t.Errorf("%q is %+v, %v, want brass %s", text, m, ok, want)
		}
	}
	for _, text := range []string{"?", "probably", "prob. ?", "peut-être", "not brass", "no brass"} {
		if m, ok := Get("material").Match(text); ok {
			t.Errorf("%q is taken for %+v", text, m)
		}
	}
}

// Distances worked out by hand from the definition: letters put in, taken out, exchanged, or swapped
// with their neighbour count one each.
func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"weight", "wieght", 1}, {"single", "singel", 1}, {"lot", "lots", 1},
		{"depth", "death", 1},
		{"kitten", "sitting", 3}, {"ca", "abc", 3}, {"ø", "o", 1},
	} {
		if got := EditDistance(c.a, c.b); got != c.want {
			t.Errorf("EditDistance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := EditDistance(c.b, c.a); got != c.want {
			t.Errorf("EditDistance(%q, %q) = %d, want %d", c.b, c.a, got, c.want)
		}
	}
}

func TestEditDistanceProperties(t *testing.T) {
	word := rapid.StringMatching(`[abø]{0,8}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := EditDistance(a, b)
		if d != EditDistance(b, a) || (d == 0) != (a == b) {
			t.Fatalf("%q and %q: %d, back %d", a, b, d, EditDistance(b, a))
		}
		x, y := len([]rune(a)), len([]rune(b))
		if d > max(x, y) || d < x-y || d < y-x {
			t.Fatalf("%q and %q: %d is beyond what their lengths allow", a, b, d)
		}
		for most := range 5 {
			if got := distanceWithin(a, b, most); got != d && !(d > most && got > most) {
				t.Fatalf("%q and %q: within %d it is %d, without %d", a, b, most, got, d)
			}
		}
	})
}
