package validate

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
)

// A danger is what a word in a record may speak of.
type danger uint8

// The dangers, as bits.
const (
	ordnance danger = 1 << iota
	humanRemains
	aircraft
)

// strength says how surely a word speaks of a danger.
type strength uint8

const (
	strong   strength = iota // wherever it stands
	weak                     // it has a second meaning
	harmless                 // a phrase that is passed over
	near                     // takes the edge off weak words in the same text
)

// dangerWords is schema/data/danger-words.json: for each language of a report the words to look for.
type dangerWords struct {
	languages map[string]func() *phraseSet // made when it is first asked for; tag: danger and strength
}

func readDangerWords() (dangerWords, error) {
	rows, err := readRows[struct {
		About    string   `json:"about"`
		Strength string   `json:"strength"`
		Language string   `json:"language"`
		Words    []string `json:"words"`
	}]("danger-words")
	d := dangerWords{languages: map[string]func() *phraseSet{}}
	type words struct {
		tag   int
		words []string
	}
	of := map[string][]words{}
	for _, r := range rows {
		of[r.Language] = nil
	}
	for _, r := range rows {
		about, ok := map[string]danger{"ordnance": ordnance, "human-remains": humanRemains, "aircraft": aircraft}[r.About]
		how, known := map[string]strength{"strong": strong, "weak": weak, "harmless": harmless, "near": near}[r.Strength]
		if !ok || !known {
			return d, fmt.Errorf("reading the table danger-words: %s or %s is not known", r.About, r.Strength)
		}
		for language := range of {
			// Words with two meanings speak only in their own language: grave is Danish for to dig.
			if r.Language == language || how == strong || how == harmless {
				of[language] = append(of[language], words{int(about)<<2 | int(how), r.Words})
			}
		}
	}
	for language, all := range of {
		d.languages[language] = sync.OnceValue(func() *phraseSet {
			set := newPhraseSet()
			for _, w := range all {
				set.add(w.tag, w.words...)
			}
			return set
		})
	}
	return d, err
}

// in returns the words for the language of a report, a BCP 47 tag; without one those of English.
func (d *dangerWords) in(language string) *phraseSet {
	primary, _, _ := strings.Cut(language, "-")
	set := d.languages[strings.ToLower(primary)]
	if set == nil {
		set = d.languages["en"]
	}
	if set == nil {
		return nil // the table could not be read
	}
	return set()
}

// spoken is what the words of one find speak of, and the member in which each danger stood first.
type spoken struct {
	of       danger
	ordnance string
	human    string
	aircraft string
}

// speaksOf looks through the words of a find: its name, type, description, question and notes.
func speaksOf(c *Case) *spoken {
	if c.spoken != nil {
		return c.spoken
	}
	c.spoken = &c.spokenStore
	f := c.Find
	set := theTables().danger.in(c.Report.Language)
	plain := theTables().in("harmless", classOf(f)) || classOf(f) == "bone-remains"
	for _, m := range [...]struct {
		pointer, text string
		own           bool // speaks of the object itself
	}{{"/name", f.Name, true}, {"/type", f.Type, true}, {"/description", f.Description, true}, {"/question", f.Question, false}, {"/notes", f.Notes, false}} {
		if m.text == "" {
			continue
		}
		var surely, perhaps, blunt danger
		set.scan(m.text, func(tag, _ int) bool {
			switch about := danger(tag >> 2); strength(tag & 3) {
			case strong:
				surely |= about
			case weak:
				perhaps |= about
			case near:
				blunt |= about
			}
			return true
		})
		if !m.own || plain {
			perhaps = 0
		}
		c.spoken.add(surely|perhaps&^blunt, m.pointer)
	}
	return c.spoken
}

func (s *spoken) add(d danger, pointer string) {
	for _, one := range [...]struct {
		of danger
		at *string
	}{{ordnance, &s.ordnance}, {humanRemains, &s.human}, {aircraft, &s.aircraft}} {
		if d&one.of != 0 && *one.at == "" {
			*one.at = pointer
		}
	}
	s.of |= d
}

// ordnanceAt returns the member that says that the find may be ammunition that can explode.
func ordnanceAt(c *Case) string {
	f := c.Find
	for i := range f.Hazards {
		if f.Hazards[i].Is("explosive", "ammunition") && f.Hazards[i].Certainty != "unlikely" {
			return fmt.Sprintf("/hazards/%d", i)
		}
	}
	switch classOf(f) {
	case "explosive":
		return "/objectClass"
	case "cartridge":
		if hasTrace(f, "unfired") {
			return "/traces"
		}
	}
	if at := speaksOf(c).ordnance; at != "" {
		return at
	}
	if heavyRoundIron(f) {
		return "/dimensions/diameter"
	}
	return ""
}

// heavyRoundIron tells that the find is a round body of iron over 40 mm across that is not known to
// be solid: it may be a shell with its charge.
func heavyRoundIron(f *find.Find) bool {
	if m := material(f); m != "iron" && m != "cast-iron" && m != "steel" || f.Dimensions == nil {
		return false
	}
	switch classOf(f) {
	case "artillery-shot":
		if f.ObjectClass.Certainty == "certain" {
			return false
		}
	case "", "unidentified", "other":
	default:
		return false
	}
	d := f.Dimensions
	if d.Length.HasValue() || d.Width.HasValue() || d.Thickness.HasValue() {
		return false // a disc or a bar, not a ball
	}
	diameter, ok := least(d.Diameter)
	if !ok || diameter <= 40 {
		return false
	}
	weight, weighed := most(f.Weight)
	if !weighed {
		return classOf(f) == "artillery-shot"
	}
	// A third of a solid iron ball is still far too heavy for a hoop, a lid or a hollow knob.
	return weight > 7*math.Pi/6*diameter*diameter*diameter/1000/3
}

// remainsAt returns the member that says that human remains may have been met.
func remainsAt(c *Case) string {
	f := c.Find
	if f.HumanRemains != nil && *f.HumanRemains {
		return "/humanRemains"
	}
	for i := range f.Hazards {
		if f.Hazards[i].Is("human-remains") && f.Hazards[i].Certainty != "unlikely" {
			return fmt.Sprintf("/hazards/%d", i)
		}
	}
	switch classOf(f) {
	case "human-remains", "coffin-part":
		return "/objectClass"
	}
	if f.HumanRemains != nil {
		return "" // the finder has looked and says no
	}
	return speaksOf(c).human
}
