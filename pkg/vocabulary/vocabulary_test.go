package vocabulary

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/testkit/cases"
	_ "github.com/findslip/findslip/pkg/testkit/heavy" // the seed of what is drawn
	"github.com/findslip/findslip/schema"
)

var (
	codeForm  = regexp.MustCompile(`^[a-z][a-z0-9-]*$`)
	matchForm = regexp.MustCompile(`^(aat:\d{9}|fish:mda_obj:\d+|mda_obj:\d+|wikidata:Q\d+|fish:[a-z_]+:\w+|` +
		`eh_period:\w+)$`)
)

func TestListsAreSound(t *testing.T) {
	lists := Lists()
	if len(lists) < 45 {
		t.Fatalf("only %d lists", len(lists))
	}
	for _, name := range lists {
		s := Get(name)
		if s == nil {
			t.Errorf("%s cannot be read", name)
			continue
		}
		if s.List != name || s.Title == "" || s.Description == "" || s.Since == "" || s.Source == "" || len(s.Concepts) == 0 {
			t.Errorf("%s is not whole", name)
		}
		codes := map[string]bool{}
		for _, c := range s.Concepts {
			if !codeForm.MatchString(c.Code) && name != "unit" || codes[c.Code] {
				t.Errorf("%s: code %q is not of the form, or stands twice", name, c.Code)
			}
			codes[c.Code] = true
			for _, lang := range s.Languages {
				if c.PrefLabel[lang] == "" {
					t.Errorf("%s: %s has no label in %s", name, c.Code, lang)
				}
			}
			for _, id := range c.CloseMatch {
				if !matchForm.MatchString(id) {
					t.Errorf("%s: %s has the outside id %q", name, c.Code, id)
				}
			}
			for _, g := range c.SuggestedBy {
				if !Get("certainty").Has(g.Certainty) {
					t.Errorf("%s: %s is suggested with certainty %q", name, c.Code, g.Certainty)
				}
			}
		}
	}
}

// Each label comes back to its own concept, but for those of which the list says that another
// claims them more surely.
func TestLabelsComeBack(t *testing.T) {
	n := 0
	for _, name := range Lists() {
		s := Get(name)
		for _, c := range s.Concepts {
			for _, lang := range sortedKeys(c.PrefLabel) {
				m, ok := s.Match(c.PrefLabel[lang])
				if !ok {
					t.Errorf("%s: the label %q of %s is not matched", name, c.PrefLabel[lang], c.Code)
					continue
				}
				n++
				if m.Code != c.Code && fold(c.PrefLabel[lang]) != fold(labelOf(name, m.Code, m.Lang)) && lang == "en" {
					t.Errorf("%s: the label %q of %s is taken for %s", name, c.PrefLabel[lang], c.Code, m.Code)
				}
			}
		}
	}
	if n < 1500 {
		t.Errorf("only %d labels", n)
	}
}

// The list to start from, testdata/reference/vocabulary.csv (its sources: an AAT extract of
// 2023-10-18, FISH extracts, densities from memory): every row is a concept here. Codes that were
// not of the form have their words in a code.
func TestRowsOfTheReference(t *testing.T) {
	rows := cases.Reference(t, "vocabulary.csv")
	lists := map[string]string{"material": "material", "object": "object-class", "trace": "trace",
		"technique": "technique"}
	renamed := map[string]string{"struck (coins)": "struck", "stamped or pressed": "stamped",
		"rolled sheet": "rolled-sheet", "drawn wire": "drawn-wire",
		"turned or machined": "turned", "painted / japanned": "painted", "white-metal coated": "white-metal-coated"}
	for _, row := range rows {
		list, code := Get(lists[row["list"]]), row["code"]
		if to := renamed[code]; to != "" {
			code = to
		}
		c, ok := list.Concept(code)
		if !ok {
			t.Errorf("%s: no concept %q", row["list"], code)
			continue
		}
		for _, id := range []string{row["aat"], row["fish"], row["wikidata"]} {
			if id == "" || strings.Contains(id, "check") {
				continue
			}
			if !slices.ContainsFunc(append(slices.Clone(c.CloseMatch), c.Unverified...),
				func(have string) bool { return strings.HasSuffix(have, id) }) {
				t.Errorf("%s: %s has lost the outside id %s: %v", row["list"], code, id, c.CloseMatch)
			}
		}
		if row["density_g_cm3"] != "" && c.Density == nil {
			t.Errorf("%s: %s has lost its density", row["list"], code)
		}
	}
	if len(rows) < 150 {
		t.Errorf("only %d rows", len(rows))
	}
}

// Words as people write them, with letters that a keyboard has not, in the plural, with doubt; and words that are near
// to those of a list, or look like a plural of one (why: what they mean, from memory), and are nothing.
func TestMatch(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		List, Text, Code, Certainty, Why string
		Suggested                        bool
	}](t, "Match") {
		m, ok := Get(c.List).Match(c.Text)
		if ok != (c.Code != "") || m.Code != c.Code || m.Certainty != c.Certainty {
			t.Errorf("%s: %q is %+v, %v", c.List, c.Text, m, ok)
		}
		if c.Suggested && m.How != Suggested {
			t.Errorf("%s: %q is matched by %d", c.List, c.Text, m.How)
		}
	}
}

func TestMatchAllAndNearest(t *testing.T) {
	s := Get("material")
	matches, rest := s.MatchAll("copper alloy with iron")
	if len(matches) != 2 || matches[0].Code != "copper-alloy" || matches[1].Code != "iron" || rest != "" {
		t.Errorf("%v, %q", matches, rest)
	}
	if _, rest := s.MatchAll("lead, shiny"); rest != "shiny" {
		t.Errorf("rest %q", rest)
	}
	for text, code := range map[string]string{"bronce": "bronze", "alumnium": "aluminium", "pewtre": "pewter"} {
		if c, d, ok := s.Nearest(text); !ok || c.Code != code || d > 2 {
			t.Errorf("nearest of %q is %v at %d", text, c, d)
		}
	}
	if c, _, ok := s.Nearest("zz"); ok {
		t.Errorf("nearest of zz is %s", c.Code)
	}
}

func TestFold(t *testing.T) {
	for in, want := range map[string]string{"Étain ": "etain", "Weißblech": "weissblech", "copper-alloy": "copper alloy",
		"a  b": "a b", "lead": "lead", "ÖL": "ol", "mønt": "mont", "": ""} {
		if got := fold(in); got != want {
			t.Errorf("fold(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestAbsent(t *testing.T) {
	for text, want := range map[string]string{"-": "not-noted", "--": "not-noted", "n/a": "not-noted",
		"unknown": "not-noted", "?": "not-known", "not measured": "not-measured", "illegible": "illegible", "": "",
		"iron": "", "x": ""} {
		if got, _ := Absent(text); got != want {
			t.Errorf("Absent(%q) = %q, want %q", text, got, want)
		}
	}
}

func TestEveryConceptOfAFieldHasItsList(t *testing.T) {
	if Get("nothing") != nil {
		t.Error("a list that is not there is given")
	}
	if phone, _ := Get("position-method").Concept("phone"); phone == nil || phone.Radius != 5 {
		t.Errorf("the radius of phone is that of %v", phone)
	}
}

func FuzzMatch(f *testing.F) {
	for _, s := range []string{"green metal", "pewter?", "prob. lead", "?", "Musketenkugel", "\xff", "lead/iron"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		a, ok := Get("material").Match(s)
		b, again := Get("material").Match(s)
		if a != b || ok != again {
			t.Fatalf("two answers to %q", s)
		}
		if ok && !Get("material").Has(a.Code) {
			t.Fatalf("%q is taken for %q, which is no code", s, a.Code)
		}
		Get("object-class").MatchAll(s)
		Get("material").Nearest(s)
		Absent(s)
	})
}

func ExampleScheme_Match() {
	m, _ := Get("material").Match("green metal")
	fmt.Println(m.Code, m.Certainty)
	// Output: copper-alloy possible
}

// labelOf returns the label of a code that its list has.
func labelOf(list, code, language string) string {
	c, ok := Get(list).Concept(code)
	if !ok {
		return ""
	}
	return c.Label(language)
}

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
	for code, want := range cases.Table[map[string]Width](t, "WidthsOfDepthBases") {
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

func TestLabelOfALanguageWithARegion(t *testing.T) {
	c, _ := Get("material").Concept("lead")
	for lang, want := range map[string]string{"de": "Blei", "de-AT": "Blei", "nl-BE": "lood", "it": "lead", "": "lead"} {
		if got := c.Label(lang); got != want {
			t.Errorf("the label in %q is %q, want %q", lang, got, want)
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
