package share

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// humanRemains reports whether a find is, or lay with, human remains.
func humanRemains(f *find.Find) bool {
	if f.HumanRemains != nil && *f.HumanRemains || f.ObjectClass.Is("human-remains", "coffin-part") {
		return true
	}
	if speaksOf("remains", withoutEngraving(f.Name+" "+f.Type)) || named("remainsNear", rowWords(f)) {
		return true
	}
	for i := range f.SensitivityReasons {
		if f.SensitivityReasons[i].Is("burial") {
			return true
		}
	}
	for i := range f.Hazards {
		if f.Hazards[i].Is("human-remains") {
			return true
		}
	}
	return false
}

// treasureAge is how many years before today's finds a thing of precious metal stops to be one that the law
// of some country may ask for. The laws differ (schema/data/law.json): the shortest is taken.
const treasureAge = 200

// thisYear is compared with datings; a constant, so that a copy does not depend on the clock.
const thisYear = 2026

// mayBeTreasure reports whether a find may be treasure by some law: of precious metal and not certainly
// young, of metal and prehistoric, one of a group, or a case that is not closed. Whoever cannot tell has to
// count it as one.
func mayBeTreasure(f *find.Find, group bool) bool {
	closed := 0
	for i := range f.Notified {
		switch n := &f.Notified[i]; {
		case n.Status.Is("closed", "returned"):
			closed++
		case n.CaseNumber != "":
			return true
		}
	}
	if closed > 0 && closed == len(f.Notified) {
		return false
	}
	for i := range f.SensitivityReasons {
		if f.SensitivityReasons[i].Is("hoard", "legal-process") {
			return true
		}
	}
	if d := f.Dating; d != nil && d.Earliest.Known() && d.Earliest.Int() > thisYear-treasureAge {
		return false
	}
	if f.Disposition.Is("declared-treasure") || f.ObjectClass.Is("coin-group", "ingot") {
		return true
	}
	precious, metal := preciousWords(f), len(f.Materials) == 0
	for i := range f.Materials {
		m := &f.Materials[i]
		precious = precious || m.Code == "" || m.Is("gold", "silver", "silver-alloy", "electrum", "billon", "platinum",
			"metal-unknown")
		metal = metal || !m.Is("glass", "ceramic", "pipe-clay", "brick-tile", "stone", "flint", "coal", "jet", "bone",
			"antler-horn", "shell", "wood", "leather", "textile", "plastic", "vulcanite", "slag")
	}
	return precious || metal && (group || severalCoins(f) || oneOfSeveral(rowWords(f)) || prehistoric(f))
}

// prehistoric reports whether a find may be older than writing: before AD 43, by its period, or by what it is.
func prehistoric(f *find.Find) bool {
	text := f.Name + " " + f.Type
	if d := f.Dating; d != nil {
		if d.Earliest.Known() && d.Earliest.Int() < 43 {
			return true
		}
		text += " " + d.Verbatim
		if d.Period != nil {
			text += " " + d.Period.Label + " " + d.Period.ID
		}
	}
	return speaksOf("prehistoric", text) || named("periodShort", text) || named("prehistoric", rowWords(f))
}

// preciousWords reports whether the words of a find speak of gold or silver, or of a coin that was struck of
// one of them. A coin of which neither metal nor kind is said cannot be told from one.
func preciousWords(f *find.Find) bool {
	text := f.Name + " " + f.Type
	said := ""
	for i := range f.Materials {
		said += " " + f.Materials[i].Verbatim + " " + f.Materials[i].Label
	}
	if d := f.Disposition; d != nil {
		said += " " + strings.ReplaceAll(d.Code, "-", " ") + " " + d.Label + " " + d.Verbatim
	}
	for i := range f.Notified {
		said += " " + f.Notified[i].To
	}
	if speaksOf("precious", rowWords(f)+said) || named("preciousMarks", text+said) || preciousMark(rowWords(f)) {
		return true
	}
	if f.ObjectClass != nil && !f.ObjectClass.Is("coin", "coin-group", "finger-ring", "pendant", "chain", "badge", "other",
		"unidentified") {
		return false
	}
	base := slices.ContainsFunc(f.Materials, func(m find.Material) bool { return m.Code != "" })
	return !base && (named("preciousCoins", text) || oldCoin(f) || jewel(f))
}

// askedToKeep reports whether the words of a find ask that it be kept back.
func askedToKeep(f *find.Find) bool {
	text := f.Notes
	for heading, cell := range f.Columns {
		if strings.TrimSpace(cell) != "" {
			text += "\n" + heading + " " + cell
		}
	}
	return speaksOf("silent", text)
}
