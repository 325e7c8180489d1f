package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/validate/internal/danger"
)

// Ordnance and human remains stand first: whoever reads only the first line reads those.
var safetyRules = []*Rule{ordnancePossible, remainsPossible, ordnanceHandled, liveCartridgePosted, cleanedBeforeNamed,
	storageHarms, activeCorrosion, leadHandled}

var ordnancePossible = &Rule{
	Kind: notice.Kind{
		Code: "ordnance-possible", Severity: notice.Warning, Caution: true, Group: "safety", Spec: "5.12",
		Title:  "this may be ammunition that can still explode",
		Why:    "old ammunition can explode when it is touched, moved, dried or cleaned, and gets more sensitive with age",
		Help:   "Do not clean it, take it home or send it. If it is something else for sure, give its class of object.",
		Source: "police guidance on explosive remains, in schema/data/law.json; the words of danger of schema/lexicon",
		Before: `"name": "hand grenade?"`, After: `"name": "hand grenade?", "lifted": "none", "hazards": [{"code": "explosive"}], "notified": [{"to": "police", "on": "2026-04-11"}]`,
	},
	// When: The first of these. A hazard has the code `explosive` or `ammunition` and is not `unlikely` (at
	// `/hazards/N`). The class, unless it is `unlikely`, is `explosive` (at `/objectClass`), or is `cartridge` with the
	// trace `unfired` (at `/traces`). A text speaks of ordnance by the words of danger of every file of schema/lexicon:
	// whole words (a star stands for any letters), in small letters, with and without accents, of the phrases that
	// begin at a word the longest, then on behind it; `harmless` ones are passed over. Texts of the object itself are
	// `name`, the words of `objectClass`, `type` and `description`, read as one text; other texts are `question`,
	// `notes`, each of `columns`, and what stands as written in the other members; of the report `notes` and the
	// `columns` of people, permissions and outings. A `stop` word speaks anywhere; a `soft` one unless a `blunt` one
	// stands within four words in the same sentence; an `own` one likewise, in texts of the object itself, where the
	// class is not of the group `harmless` (schema/data/class-groups.json) nor `bone-remains`; `own` and `hint` ones
	// anywhere with a `sharp` one as near and no `blunt` one; a `shape` with a `trigger` as near. Or a heavy
	// round of iron (at `/dimensions/diameter`): the first material is `iron`, `cast-iron` or `steel`, the class is
	// missing, `unidentified`, `other` or an `artillery-shot` that is not `certain`, no length, width or thickness has
	// a value, the least diameter (`min` less `resolution`) is over 40 mm, and the greatest weight (`max` and
	// `resolution`) is more than a third of a ball of that diameter at 7 g a cubic centimetre; without a weight only
	// for an `artillery-shot`. Not where `ordnance-handled` speaks of the find.
	Check: func(c *Case, say Say) {
		if at := ordnanceAt(c); at != "" {
			if handled, _ := handledAt(c); handled == "" {
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
	Kind: notice.Kind{
		Code: "human-remains-possible", Severity: notice.Warning, Caution: true, Group: "safety", Spec: "5.12",
		Title:  "these may be human remains",
		Why:    "human remains are never lifted by a finder; the police find out whether they are recent",
		Help:   "Leave everything as it lies, and do not dig there. If it is animal bone for sure, set humanRemains to false.",
		Source: "schema/data/law.json, by jurisdiction; the words of danger of schema/lexicon",
		Before: `"name": "coffin handle"`, After: `"name": "coffin handle", "lifted": "none", "sensitivity": "closed", "notified": [{"to": "police", "on": "2026-04-11"}]`,
	},
	// When: The first of these. `humanRemains` is true (at `/humanRemains`). A hazard has the code `human-remains` and
	// is not `unlikely` (at `/hazards/N`). The class, unless it is `unlikely`, is `human-remains` or `coffin-part` (at
	// `/objectClass`). `humanRemains` is missing, and a text speaks of human remains, as in
	// `ordnance-possible` (at the first that does).
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
	Kind: notice.Kind{
		Code: "ordnance-handled", Severity: notice.Warning, Caution: true, Group: "safety", Spec: "5.12",
		Title:  "what may explode was weighed, cleaned, stored or sent",
		Why:    "somebody handled it, or it is not what it is called",
		Help:   "If it is known to be harmless, give its class and say who declared it so.",
		Source: "police guidance on explosive remains, in schema/data/law.json",
		Before: `"hazards": [{"code": "explosive"}], "weight": {"min": 620, "max": 620}`,
		After:  `"hazards": [{"code": "explosive"}], "lifted": "none"`,
	},
	// When: The class, unless it is `unlikely`, is `explosive`, or a hazard has the code `explosive` and is not
	// `unlikely`, or `name` or `type` is the first member of words that speaks of ordnance, as in `ordnance-possible`.
	// And, the first of these: `weight` has a value (at `/weight`); `cleaning` is other than `none` and `unknown` (at
	// `/cleaning`); there is a `storage` or `storagePlace` (at `/storage`); `purpose` or `receipt` of a change of
	// hands has a word of the group `posting` of schema/data/care-words.json (at `/custody/N`).
	Check: func(c *Case, say Say) {
		if at, how := handledAt(c); at != "" {
			say(at, "do not touch it again: it may explode, and it was "+how+". "+firstSteps(c, "")+sourceWords(c, "explosives"))
		}
	},
}

// handledAt returns the member that says that what may explode was handled, and how; empty: none does.
func handledAt(c *Case) (pointer, how string) {
	f := c.Find
	switch {
	case !explosive(c):
	case f.Weight.HasValue():
		return "/weight", "weighed"
	case f.Cleaning != nil && !f.Cleaning.Is("none", "unknown"):
		return "/cleaning", "cleaned"
	case f.Storage != "" || f.StoragePlace != "":
		return "/storage", "stored"
	case posted(f) >= 0:
		return fmt.Sprintf("/custody/%d", posted(f)), "sent"
	}
	return "", ""
}

// explosive tells that the record itself speaks of what can explode, not of small ammunition.
func explosive(c *Case) bool {
	f := c.Find
	if classOf(f) == "explosive" {
		return true
	}
	for i := range f.Hazards {
		if f.Hazards[i].Is("explosive") && f.Hazards[i].Certainty != "unlikely" {
			return true
		}
	}
	s := speaksOf(c)
	return s.of&danger.Ordnance != 0 && (s.ordnance == "/name" || s.ordnance == "/type")
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
	Kind: notice.Kind{
		Code: "live-cartridge-posted", Severity: notice.Warning, Caution: true, Group: "safety", Spec: "5.12",
		Title:  "an unfired cartridge went by post or courier",
		Why:    "ammunition does not belong in the post: it is dangerous to others, and in many places against the law",
		Help:   "Do not send it on. Ask the police where to hand it in.",
		Source: "schema/data/law.json, by jurisdiction; common practice",
		Before: `"objectClass": {"code": "cartridge"}, "traces": [{"code": "unfired"}], "custody": [{"purpose": "sent by post"}]`,
		After:  `"objectClass": {"code": "cartridge"}, "traces": [{"code": "unfired"}], "disposition": {"code": "police-or-disposal"}`,
	},
	// When: The class, unless it is `unlikely`, is `cartridge`, with the trace `unfired`; it is no case for
	// `ordnance-handled`; and a change of hands speaks of the post, as in `ordnance-handled`. At `/custody/N`, once.
	Check: func(c *Case, say Say) {
		f := c.Find
		if len(f.Custody) == 0 || explosive(c) || classOf(f) != "cartridge" || !hasTrace(f, "unfired") {
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
	Kind: notice.Kind{
		Code: "cleaned-before-named", Severity: notice.Warning, Group: "safety", Spec: "5.12",
		Title:  "it was cleaned harshly before it was identified",
		Why:    "acid, current and wire brush take away plating, marks and traces that would have named it",
		Help:   "Ask for advice before cleaning. Leave the rest as it is and say in the notes what was done.",
		Source: "guidance on the care of finds: advice before cleaning; in some places the law forbids it, see schema/data/law.json",
		Before: `"objectClass": {"code": "unidentified"}, "cleaning": {"code": "electrolysis"}`,
		After:  `"objectClass": {"code": "unidentified"}, "cleaning": {"code": "rinsed"}`,
	},
	// When: `cleaning` is `chemical`, `electrolysis` or `wire-brush`, and the class is not in the group `waste` of
	// schema/data/class-groups.json. And it is not named: a class other than `unidentified` is missing or is
	// `unlikely`, or there is an `identification` that is not sure (`certain` or `probable`); a sure `identification`
	// with any class but `unidentified`, or with none, counts as named. At `/cleaning`.
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
	Kind: notice.Kind{
		Code: "storage-harms", Severity: notice.Warning, Group: "safety", Spec: "5.12",
		Title:  "the packing harms the object",
		Why:    "wood and card give off acids that eat lead; iron rusts on in a wet bag; a closed box keeps the water in",
		Help:   "Lead goes into plastic with acid-free tissue. Let iron and everything else dry in the air, away from heat, then pack it dry.",
		Source: "guidance on the care of finds; the words are our own list",
		Before: `"materials": [{"code": "lead"}], "storage": "cardboard box"`,
		After:  `"materials": [{"code": "lead"}], "storage": "polythene bag with acid-free tissue"`,
	},
	// When: There is a `storage`, and the first material, unless it is `unlikely`, is in a group of
	// schema/data/class-groups.json, with a word in `storage` of the group of schema/data/care-words.json that goes
	// with it; the first of `material-lead` with `acid-packing`, `material-ferrous` with `sealed-wet`,
	// `material-metal` with `drying-closed`. At `/storage`.
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
	Kind: notice.Kind{
		Code: "active-corrosion", Severity: notice.Info, Group: "safety", Spec: "5.12",
		Title:  "it is corroding now, and nothing says how it is kept",
		Why:    "weeping iron, pale green powder and white powder on lead eat an object within weeks",
		Help:   "Keep it dry and by itself, do not brush or oil it, and ask a conservator soon. The white powder of lead is poisonous: do not breathe it.",
		Source: "guidance on the care of finds",
		Before: `"condition": {"corrosion": [{"code": "bronze-disease"}]}`,
		After:  `"condition": {"corrosion": [{"code": "bronze-disease"}]}, "storage": "dry box by itself, conservator asked"`,
	},
	// When: One of `/condition/corrosion` is `weeping-iron`, `bronze-disease` or `white-lead-powder` and not
	// `unlikely`; there is no `storage`, `cleaning` is not `conserved`, and `absent` does not name `/storage` with a
	// reason other than `blank`. At the first such `/condition/corrosion/N`.
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
	Kind: notice.Kind{
		Code: "lead-handled", Severity: notice.Info, Group: "safety", Spec: "5.12",
		Title:  "lead was handled",
		Why:    "lead is taken in with food and dust",
		Help:   "Wash hands and face before eating, drinking or smoking, do not brush it dry, keep it from children and mark the bags. The hazard lead in a record says that this was thought of.",
		Source: "health advice on lead, row lead of schema/data/law.json; common practice",
		Before: `"materials": [{"code": "lead"}], "cleaning": {"code": "dry-brush"}`,
		After:  `"materials": [{"code": "lead"}], "cleaning": {"code": "rinsed"}, "hazards": [{"code": "lead"}]`,
	},
	// When: Counted are the finds whose first material, unless it is `unlikely`, is in the group `material-lead` of
	// schema/data/class-groups.json, and which have no hazard `lead` or `toxic`. There are at least `lead-handful`
	// (and at least one), or one of them has a `cleaning` other than `none` and `unknown`. One notice a file, at
	// `/materials` of the first of them.
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
					say(first, "/materials", fmt.Sprintf("%d finds of lead, this is the first. Wash your hands before you eat, and mark the bags", finds))
				}
			},
		}
	},
}
