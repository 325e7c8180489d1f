package validate

import (
	"fmt"
	"math"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
)

// spoken is what the words of one find speak of, and the member in which each danger stood first.
type spoken struct {
	of       danger.Kind
	ordnance string
	human    string
	aircraft string
}

// speaksOf looks through the words of a find: its name, type, description, question and notes.
func speaksOf(c *Case) *spoken {
	s, _ := c.facts.spoken.get(func() (spoken, bool) { return listen(c), true })
	return s
}

func listen(c *Case) (s spoken) {
	f := c.Find
	plain := theTables().in("harmless", classOf(f)) || classOf(f) == "bone-remains"
	for _, m := range [...]struct {
		pointer, text string
		own           bool // speaks of the object itself
	}{{"/name", f.Name, true}, {"/type", f.Type, true}, {"/description", f.Description, true}, {"/question", f.Question, false}, {"/notes", f.Notes, false}} {
		if m.text == "" {
			continue
		}
		heard := theTables().danger.Scan(c.Report.Language, m.text)
		if !m.own || plain {
			heard.Perhaps = 0
		}
		s.add(heard.Surely|heard.Perhaps&^heard.Blunted, m.pointer)
	}
	return s
}

func (s *spoken) add(d danger.Kind, pointer string) {
	for _, one := range [...]struct {
		of danger.Kind
		at *string
	}{{danger.Ordnance, &s.ordnance}, {danger.HumanRemains, &s.human}, {danger.Aircraft, &s.aircraft}} {
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
