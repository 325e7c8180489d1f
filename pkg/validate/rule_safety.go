package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
)

// Ordnance and human remains stand first: whoever reads only the first line reads those.
var safetyRules = []*Rule{ordnancePossible, remainsPossible, ordnanceHandled, liveCartridgePosted, cleanedBeforeNamed,
	storageHarms, activeCorrosion, leadHandled}

var ordnancePossible = &Rule{
	Kind: kinds.OrdnancePossible,
	Check: func(c *Case, say Say) {
		if at := ordnanceAt(c); at != "" {
			if handled(c.Find) == "" || explosiveAt(c) == "" {
				say(at, ordnanceWords(c))
			}
		}
	},
	Header: func(c *Case, say Say) {
		inReport(c.Report, danger.Ordnance, func(at string) { say(at, ordnanceWords(c)) })
	},
}

func ordnanceWords(c *Case) string {
	return "do not touch it: this may be ammunition that can still explode. " + firstSteps(c, "") + sourceWords(c,
		"explosives")
}

// firstSteps are the same everywhere; what a country adds stands behind them.
func firstSteps(c *Case, andCall string) string {
	return "Mark the place from where you stand, go back the way you came, keep others away and call " +
		theTables().law.Call(jurisdictionOf(c)) + andCall + "."
}

// sourceWords names where the table of law has it from.
func sourceWords(c *Case, rule string) string {
	if r := theTables().law.Row(rule, jurisdictionOf(c)); r != nil {
		return " Source: " + r.Written(c.AsOf) + "."
	}
	return ""
}

var remainsPossible = &Rule{
	Kind: kinds.HumanRemainsPossible,
	Check: func(c *Case, say Say) {
		if at := remainsAt(c); at != "" {
			say(at, remainsWords(c))
		}
	},
	Header: func(c *Case, say Say) {
		inReport(c.Report, danger.HumanRemains, func(at string) { say(at, remainsWords(c)) })
	},
}

func remainsWords(c *Case) string {
	return "do not touch: these may be human remains or a grave. " + firstSteps(c, ", and the landowner") + sourceWords(c,
		"human-remains")
}

var ordnanceHandled = &Rule{
	Kind: kinds.OrdnanceHandled,
	Check: func(c *Case, say Say) {
		if at, how := explosiveAt(c), handled(c.Find); at != "" && how != "" {
			say(at, "do not touch it again: it may explode, and it was "+how+". "+firstSteps(c, "")+sourceWords(c, "explosives"))
		}
	},
}

// handled says how an object was handled; empty: nothing says that it was.
func handled(f *find.Find) string {
	switch {
	case f.Weight.HasValue():
		return "weighed"
	case f.Cleaning != nil && !f.Cleaning.Is("none", "unknown"):
		return "cleaned"
	case f.Storage != "" || f.StoragePlace != "":
		return "stored"
	case posted(f) >= 0:
		return "sent"
	}
	return ""
}

// explosiveAt returns the member by which the record itself speaks of what can explode, not of small ammunition.
func explosiveAt(c *Case) string {
	f := c.Find
	if s := speaksOf(c); s.of&danger.Ordnance != 0 && (s.ordnance == "/name" || s.ordnance == "/type") {
		return s.ordnance
	}
	if classOf(f) == "explosive" {
		return "/objectClass"
	}
	for i := range f.Hazards {
		if f.Hazards[i].Is("explosive") && f.Hazards[i].Certainty != "unlikely" {
			return fmt.Sprintf("/hazards/%d", i)
		}
	}
	return ""
}

// posted returns the change of hands that went by post, or -1.
func posted(f *find.Find) int {
	words := theTables().care["posting"]
	for i := range f.Custody {
		if k := &f.Custody[i]; words.Has(k.Purpose) || words.Has(k.Receipt) {
			return i
		}
	}
	return -1
}

var liveCartridgePosted = &Rule{
	Kind: kinds.LiveCartridgePosted,
	Check: func(c *Case, say Say) {
		f := c.Find
		if len(f.Custody) == 0 || explosiveAt(c) != "" || classOf(f) != "cartridge" || !hasTrace(f, "unfired") {
			return
		}
		if i := posted(f); i >= 0 {
			message := "do not send it on: an unfired cartridge was sent by post or courier. Ask the police. "
			if r := theTables().law.Row("firearms", jurisdictionOf(c)); r != nil {
				message += c.words(r)
			}
			say(fmt.Sprintf("/custody/%d", i), message)
		}
	},
}

var cleanedBeforeNamed = &Rule{
	Kind: kinds.CleanedBeforeNamed,
	Check: func(c *Case, say Say) {
		f := c.Find
		if !f.Cleaning.Is("chemical", "electrolysis", "wire-brush") || theTables().in("waste", classOf(f)) {
			return
		}
		named := classOf(f) != "" && classOf(f) != "unidentified" &&
			(f.Identification == nil || sure(f.Identification.Certainty))
		if f.Identification != nil && sure(f.Identification.Certainty) && classOf(f) != "unidentified" {
			named = true
		}
		if !named {
			say("/cleaning", fmt.Sprintf("cleaned by %s, and it is not yet known what it is", f.Cleaning.Code))
		}
	},
}

var storageHarms = &Rule{
	Kind: kinds.StorageHarms,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Storage == "" || len(f.Materials) == 0 {
			return
		}
		t := theTables()
		switch m := material(f); {
		case t.in("material-lead", m) && t.care["acid-packing"].Has(f.Storage):
			say("/storage", "wood and card give off acids that eat lead")
		case t.in("material-ferrous", m) && t.care["sealed-wet"].Has(f.Storage):
			say("/storage", "iron goes on rusting where it is kept wet")
		case t.in("material-metal", m) && t.care["drying-closed"].Has(f.Storage):
			say("/storage", "a closed box keeps the water in; let it dry in the air first")
		}
	},
}

var activeCorrosion = &Rule{
	Kind: kinds.ActiveCorrosion,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Condition == nil || f.Storage != "" || f.Cleaning.Is("conserved") || excusedBy(f, "/storage") {
			return
		}
		for i := range f.Condition.Corrosion {
			if k := &f.Condition.Corrosion[i]; k.Is("weeping-iron", "bronze-disease", "white-lead-powder") &&
				k.Certainty != "unlikely" {
				say(fmt.Sprintf("/condition/corrosion/%d", i),
					fmt.Sprintf("%s goes on now, and nothing says how it is kept", k.Text()))
				return
			}
		}
	},
}

var leadHandled = &Rule{
	Kind: kinds.LeadHandled,
	Across: func() Across {
		finds, worked := 0, false
		var first Ref
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				f := c.Find
				if !theTables().in("material-lead", material(f)) {
					return
				}
				for i := range f.Hazards {
					if f.Hazards[i].Is("lead", "toxic") {
						return
					}
				}
				if finds == 0 {
					first = ref
				}
				finds++
				if f.Cleaning != nil && !f.Cleaning.Is("none", "unknown") {
					worked = true
				}
			},
			End: func(c *Case, say SayOf) {
				// One look at one ball needs no advice; cleaning it, or a bag full, does.
				if worked || finds >= max(1, c.Settings.LeadHandful) {
					say(first, "/materials",
						fmt.Sprintf("%d finds of lead, this is the first. Wash your hands before you eat, and mark the bags", finds))
				}
			},
		}
	},
}

func sure(certainty string) bool { return certainty == "certain" || certainty == "probable" }
