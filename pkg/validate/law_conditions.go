package validate

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// meets reports whether what is recorded meets the conditions of a row of law. A case without a find is asked as the
// land that was searched: then whatever is asked of an object is taken as met.
//
// Three things that nobody writes down are taken for granted, for the row is only ever told as what may apply, and
// names them itself: that the owner of what lay in the ground is not known, when the land was bought, and that who
// searches may meet archaeological objects. foundFrom and foundTo are the days of the row, which is asked for by day.
func (c *Case) meets(a *law.Conditions) law.Answer {
	result := law.Yes
	for _, ask := range [...]func(*Case, *law.Conditions) law.Answer{meetsObject, meetsMetal, meetsAge, meetsGround,
		meetsDeeds, meetsRecord, meetsWords} {
		if result = result.And(ask(c, a)); result == law.No {
			return law.No
		}
	}
	if len(a.AnyOf) > 0 {
		either := law.No
		for i := range a.AnyOf {
			either = either.Or(c.meets(&a.AnyOf[i]))
		}
		result = result.And(either)
	}
	return result
}

// meetsObject is about what the object is.
func meetsObject(c *Case, a *law.Conditions) law.Answer {
	result := law.Yes
	if c.Find == nil {
		return result
	}
	if len(a.Class) > 0 {
		result = c.classAmong(a.Class)
	}
	if len(a.NotClass) > 0 && c.classAmong(a.NotClass) == law.Yes {
		return law.No
	}
	if a.Use == "as-money" {
		result = result.And(law.Is(coinLike(c)))
	}
	if a.Culture != "" {
		words := theTables().law.Cultures[a.Culture]
		if result = result.And(law.CannotTell); words != nil && saysAny(c.Find, words.Has) {
			result = law.Yes
		}
	}
	if a.SameFindMin > 1 && countOf(c.Find) < a.SameFindMin {
		result = result.And(law.CannotTell) // groups are looked at together elsewhere
	}
	return result
}

// classAmong reports whether the object is of one of the sorts that a row names.
func (c *Case) classAmong(sorts []string) law.Answer {
	class := classOf(c.Find)
	for _, sort := range sorts {
		switch {
		case sort == class, sort == "coin" && coinLike(c), sort == "money-token" && class == "token",
			sort == "arrowhead" && class == "projectile" && saysAny(c.Find, func(s string) bool {
				return strings.Contains(strings.ToLower(s), "arrowhead")
			}):
			return law.Yes
		}
	}
	if class == "" || class == "unidentified" || class == "other" {
		return law.CannotTell
	}
	return law.No
}

// coinLike reports whether a find is a coin or a token of money: by its class, without one by its name.
func coinLike(c *Case) bool {
	switch classOf(c.Find) {
	case "coin", "coin-group", "token":
		return true
	case "", "unidentified", "other":
		row, _ := c.thing()
		return row.isCoin()
	}
	return false
}

// meetsMetal is about what it is made of.
func meetsMetal(c *Case, a *law.Conditions) law.Answer {
	f, result := c.Find, law.Yes
	if f == nil {
		return result
	}
	if a.PreciousPercentMin > 0 || a.PreciousMainly {
		result = result.And(c.precious())
	}
	if a.AnyPrecious {
		result = result.And(law.Is(anyPrecious(f)))
	}
	for _, m := range a.Material {
		switch {
		case m == "precious":
			result = result.And(c.precious())
		case len(f.Materials) == 0:
			result = result.And(law.CannotTell)
		default:
			metal := slices.ContainsFunc(f.Materials, func(m find.Material) bool {
				return theTables().in("material-metal", m.Code)
			})
			result = result.And(law.Is(metal && (m != "base-metal" || c.precious() != law.Yes)))
		}
	}
	return result
}

// meetsAge is about how old it is. Where a law names no age, rubbish of our time and stones are not meant, and what
// is a hundred years old is: our own reading.
func meetsAge(c *Case, a *law.Conditions) law.Answer {
	result := law.Yes
	if c.Find == nil {
		return result
	}
	if a.Archaeological || a.AgeYearsMin > 0 {
		switch classOf(c.Find) {
		case "modern-rubbish", "natural":
			return law.No
		}
	}
	switch {
	case a.AgeYearsMin > 0:
		result = olderThan(c, a.AgeYearsMin)
	case a.MadeBefore != 0:
		result = madeBefore(c, a.MadeBefore)
	case a.Archaeological:
		result = olderThan(c, 100)
	}
	if a.AgeYearsMax > 0 {
		older := olderThan(c, a.AgeYearsMax)
		result = result.And(map[law.Answer]law.Answer{law.Yes: law.No, law.No: law.Yes}[older])
	}
	if a.Period == "prehistoric" {
		result = result.And(prehistoric(c, prehistoryEnds))
	}
	return result
}

// prehistoryEnds is the year with which prehistory ends in the islands whose law names it: the Roman conquest.
const prehistoryEnds = 43

// meetsGround is about where it lay.
func meetsGround(c *Case, a *law.Conditions) law.Answer {
	result := law.Yes
	if a.DepthMmOver > 0 && c.Find != nil {
		result = deeperThan(c.Find, float64(a.DepthMmOver)/10)
	}
	if a.Surface {
		result = result.And(law.Is(c.Find != nil && c.Find.Depth != nil && c.Find.Depth.Max.Known() &&
			c.Find.Depth.Max.Float() == 0))
	}
	if len(a.Ground) > 0 {
		result = result.And(c.onGround(a.Ground))
	}
	if a.Near != "" {
		result = result.And(c.nearProtected(float64(a.WithinM)).Or(c.onGround(a.OrGround)))
	}
	return result
}

// deeperThan reports whether a find lay deeper than so many centimetres.
func deeperThan(f *find.Find, cm float64) law.Answer {
	switch d := f.Depth; {
	case d == nil:
	case d.Min.Known() && d.Min.Float() > cm:
		return law.Yes
	case d.Max.Known() && d.Max.Float() <= cm:
		return law.No
	}
	return law.CannotTell
}

// onGround reports whether the ground is of one of some kinds: by codes of land use, method and layer, and by words.
func (c *Case) onGround(kinds []string) law.Answer {
	if len(kinds) == 0 {
		return law.No
	}
	t := theTables().law
	use := landUseOf(c)
	for _, kind := range kinds {
		i := t.Ground(kind)
		if i < 0 {
			continue
		}
		g := &t.Grounds[i]
		if use.Is(g.LandUse...) || c.Outing != nil && c.Outing.Method.Is(g.Methods...) ||
			c.Find != nil && c.Find.Layer.Is(g.Layers...) || c.placeSays()>>i&1 != 0 {
			return law.Yes
		}
	}
	if use.Is(t.Inland...) && !slices.ContainsFunc(kinds, func(k string) bool {
		return k != "foreshore" && k != "beach" && k != "under-water" && k != "tidal-water" && k != "uncultivated"
	}) {
		return law.No
	}
	return law.CannotTell
}

func landUseOf(c *Case) *find.Term {
	if c.Permission != nil {
		return c.Permission.LandUse
	}
	return nil
}

// placeSays returns of which kinds of ground the words speak that say where it was: a bit for each of the table.
func (c *Case) placeSays() uint64 {
	said, _ := c.facts.grounds.get(func() (said uint64, ok bool) {
		in := func(texts ...string) {
			for _, text := range texts {
				if text != "" {
					said |= groundTexts.Of(memo.Key[struct{}]{Text: text})
				}
			}
		}
		place := func(p *find.Place) {
			if p != nil {
				in(p.Name, p.Verbatim)
			}
		}
		if p := c.Permission; p != nil {
			place(p.Place)
			in(p.Terms)
		}
		if use := landUseOf(c); use != nil {
			in(use.Verbatim)
		}
		if f := c.Find; f != nil {
			place(f.Place)
			in(f.Notes, f.Description, f.Name)
		}
		return said, true
	})
	return *said
}

// groundTexts are the kinds of ground that a text speaks of.
var groundTexts = memo.New(func(k memo.Key[struct{}]) (said uint64) {
	for i, g := range theTables().law.Grounds {
		if g.Words.Has(k.Text) {
			said |= 1 << i
		}
	}
	return said
})

// nearProtected reports whether the spot lies in one of the protected areas that were supplied, or so near to one.
func (c *Case) nearProtected(metres float64) law.Answer {
	if c.Find == nil || c.Settings == nil || c.Settings.Protected == nil || len(c.Settings.Protected.Areas) == 0 {
		return law.CannotTell
	}
	p := c.placed()
	if p.impossible {
		return law.CannotTell
	}
	result := law.No
	for a := range c.Settings.Protected.near(p.point, p.radius+metres) {
		switch a.Contains(p.point, metres) {
		case coordinate.Inside:
			return law.Yes
		case coordinate.CannotTell:
			result = law.CannotTell
		}
	}
	return result
}

// meetsDeeds is about what was done: whoever records a find has searched, dug and taken it up unless the record says
// otherwise.
func meetsDeeds(c *Case, a *law.Conditions) law.Answer {
	if len(a.Activity) == 0 {
		return law.Yes
	}
	result := law.No
	for _, deed := range a.Activity {
		result = result.Or(c.did(deed))
	}
	return result
}

func (c *Case) did(deed string) law.Answer {
	detected := law.Is(c.Outing == nil || !c.Outing.Method.Is("eyes-only", "sieving", "excavation", "chance"))
	switch deed {
	case "detecting", "carrying-detector":
		return detected
	case "not-detecting":
		return law.Is(detected == law.No)
	}
	f := c.Find
	if f == nil {
		return law.Yes
	}
	switch deed {
	case "digging":
		return law.Is(f.Depth == nil || !f.Depth.Max.Known() || f.Depth.Max.Float() > 0)
	case "surface-collecting":
		return law.Is(f.Depth != nil && f.Depth.Max.Known() && f.Depth.Max.Float() == 0)
	case "removing":
		return law.Is(f.Lifted != "none" && !f.Disposition.Is("left-in-place", "reburied"))
	case "cleaning":
		if f.Cleaning == nil || f.Cleaning.Is("unknown") {
			return law.CannotTell
		}
		return law.Is(!f.Cleaning.Is("none"))
	case "disposing", "acquiring":
		if f.Disposition == nil {
			return law.CannotTell
		}
		return law.Is(deed == "disposing" && f.Disposition.Is("sold", "gifted", "recycled", "deselected"))
	case "exporting":
		if t := theTables().law; saysAny(f, t.Export.Has) {
			return law.Yes
		}
	}
	return law.CannotTell
}

// meetsRecord is about what the record says of owners, permissions and reports.
func meetsRecord(c *Case, a *law.Conditions) law.Answer {
	result := law.Yes
	f := c.Find
	if a.Permission == "missing" {
		missing := law.Is(c.Permission == nil)
		if c.Permission == nil && f != nil && f.Permission != "" {
			missing = law.CannotTell
		}
		result = result.And(missing)
	}
	if f == nil {
		return result
	}
	if a.NotReported {
		result = result.And(law.Is(!reported(f)))
	}
	if a.Suspected == "treasure" {
		result = result.And(c.maybeTreasure())
	}
	if a.NotSuspected == "treasure" && c.maybeTreasure() == law.Yes {
		return law.No
	}
	if a.Flag == "exceptional-insight" {
		result = result.And(law.Is(calledSignificant(f)))
	}
	if a.HiddenOnPurpose {
		result = result.And(law.Is(saysAny(f, theTables().law.Hoard.Together.Has)))
	}
	return result
}

// maybeTreasure reports whether one object by itself may be treasure in law.
func (c *Case) maybeTreasure() law.Answer {
	row, _, open := treasureRow(c)
	switch {
	case row != nil:
		return law.Yes
	case open:
		return law.CannotTell
	}
	return law.No
}

// calledSignificant reports whether a find is called of outstanding significance.
func calledSignificant(f *find.Find) bool {
	words := theTables().care["significance"]
	return words.Has(f.Description) || words.Has(f.Notes) || slices.ContainsFunc(f.SensitivityReasons,
		func(t find.Term) bool { return t.Is("significance") })
}

// meetsWords is about what the words of a find speak of.
func meetsWords(c *Case, a *law.Conditions) law.Answer {
	if c.Find == nil || len(a.Words) == 0 {
		return law.Yes
	}
	s := speaksOf(c)
	result := law.No
	for _, group := range a.Words {
		switch group {
		case "ordnance", "ammunition-live":
			result = result.Or(law.Is(s.of&danger.Ordnance != 0))
		case "human-remains":
			result = result.Or(law.Is(s.of&danger.HumanRemains != 0 || c.Find.HumanRemains != nil && *c.Find.HumanRemains))
		case "aircraft":
			result = result.Or(law.Is(s.of&danger.Aircraft != 0)).Or(c.onGround(a.OrGround))
		case "radioactive":
			result = result.Or(law.Is(saysAny(c.Find, theTables().law.Radioactive.Has)))
		case "military":
			result = result.Or(law.Is(saysAny(c.Find, theTables().law.Military.Has)))
		}
	}
	return result
}

// saysAny reports whether the words of a find about itself, or what became of it, hold something.
func saysAny(f *find.Find, has func(string) bool) bool {
	if has(f.Name) || has(f.Type) || has(f.Description) || has(f.Notes) || has(saidOf(f.ObjectClass)) ||
		has(saidOf(f.Disposition)) {
		return true
	}
	for i := range f.Custody {
		if has(f.Custody[i].Purpose) {
			return true
		}
	}
	if f.Dating != nil && (has(f.Dating.Verbatim) || f.Dating.Period != nil && has(f.Dating.Period.Label)) {
		return true
	}
	return false
}
