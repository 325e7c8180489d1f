package validate

import (
	"cmp"
	"fmt"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

var lawRules = []*Rule{treasureMayApply, treasureTogether, reportDue,

	lawNotChecked, deadlineNear, partedWithOpenCase, aircraftRemains}

// ours reports whether the report is the finder's own, not a copy for others to read.
func ours(r *find.Report) bool { return r.Audience == "" || r.Audience == "self" }

// reported reports whether an authority was told of the find, as far as the record says.
func reported(f *find.Find) bool {
	words := theTables().care["not-landowner"]
	for i := range f.Notified {
		n := &f.Notified[i]
		if n.Status.Is("not-sent", "returned") || n.On == "" && n.CaseNumber == "" &&
			(n.Status == nil || n.Status.Is("open", "unknown")) {
			continue
		}
		if n.CaseNumber != "" || words.Has(n.To) {
			return true
		}
	}
	for heading, cell := range f.Columns {
		if _, taken := theTables().law.Hoard.StepUnder(heading, cell); taken == law.Yes {
			return true
		}
	}
	return false
}

// mayBe is the row of law under which one object by itself may be treasure, and what of it is sure. No row: it does
// not seem to apply, or (open) the record does not tell.
type mayBe struct {
	row  *law.Row
	why  string
	open bool
}

// treasureRow returns what may make the find treasure.
func treasureRow(c *Case) (row *law.Row, why string, open bool) {
	t, _ := c.facts.treasure.get(func() (t mayBe, ok bool) {
		t.row, t.why, t.open = askTreasure(c)
		return t, true
	})
	return t.row, t.why, t.open
}

func askTreasure(c *Case) (row *law.Row, why string, open bool) {
	f := c.Find
	class := classOf(f)
	if coinLike(c) || class == "jetton" && c.precious() == law.No || class == "modern-rubbish" || exempt(c) {
		return nil, "", false
	}
	for _, r := range c.lawRows("treasure-metal") {
		min := r.Applies.AgeYearsMin
		if min == 0 {
			continue // the row only names the act of the place, and is told beside what else it asks
		}
		metal, age := c.precious(), olderThan(c, min)
		switch {
		case metal == law.No || age == law.No:
		case len(f.Materials) == 0 || !dated(c) || !knownMetal(f):
			open = true
		case metal == law.Yes && age == law.Yes:
			return r.Row, fmt.Sprintf("it is of gold or silver and was %d years old or more when found", min), false
		case metal == law.Yes:
			return r.Row, fmt.Sprintf("it is of gold or silver and may have been %d years old when found", min), false
		case age == law.Yes:
			return r.Row, fmt.Sprintf("it was %d years old or more when found and may hold a tenth of gold or silver",
				min), false
		default:
			open = true
		}
	}
	for _, r := range c.lawRows("treasure-trove") {
		if !r.Applies.HiddenOnPurpose && olderThan(c, 100) != law.Yes {
			continue // the row names no age; whoever lost a ring of our time is its owner
		}
		if c.meets(&r.Applies) == law.Yes {
			return r.Row, "it is of gold or silver and may have been hidden", false
		}
	}
	return nil, "", open
}

// exempt reports whether the law of the place leaves an object out of its treasure, for what it is or where it lay.
func exempt(c *Case) bool {
	if classOf(c.Find) == "natural" {
		return true
	}
	for _, rule := range [...]string{"treasure-not", "treasure-exempt"} {
		for _, r := range c.lawRows(rule) {
			if c.onGround(r.Applies.Ground).Or(c.onGround(r.Applies.OrGround)) == law.Yes {
				return true
			}
		}
	}
	return false
}

// knownMetal reports whether the main material is known.
func knownMetal(f *find.Find) bool {
	switch material(f) {
	case "", "unknown", "metal-unknown", "other":
		return false
	}
	return true
}

// offence adds what the law of the place says of not telling.
func offence(c *Case) (text string) {
	for _, r := range c.lawRows("treasure-deadline") {
		if r.Applies.NotReported {
			text += " " + r.Rule
		}
	}
	return text
}

// timeLimit adds the last day of a time limit to a message.
func timeLimit(r *law.Row, c *Case) string {
	if day, ok := deadlineOf(r, c); ok {
		days, _ := r.Days()
		return fmt.Sprintf(" Counted from the day after the find, the %d days end on %s.", days, day)
	}
	return ""
}

var treasureMayApply = &Rule{
	Kind: kinds.TreasureMayApply,
	Check: func(c *Case, say Say) {
		saySignificanceMayApply(c, say)
		row, why, open := treasureRow(c)
		if open {
			c.NotChecked()
		}
		if row != nil {
			c.due(clockFor(c, row, tellTreasure))
		}
		if row != nil && !reported(c.Find) {
			say("", "the law of treasure may apply: "+why+". "+c.words(row)+timeLimit(row, c)+offence(c))
		}
	},
}

// saySignificanceMayApply is the part of treasureMayApply of which the last sentences of its condition speak.
func saySignificanceMayApply(c *Case, say Say) {
	f := c.Find
	if !calledSignificant(f) || exempt(c) {
		return
	}
	for _, r := range c.lawRows("treasure-significance") {
		switch meetsMetal(c, &r.Applies).And(olderThan(c, r.Applies.AgeYearsMin)) {
		case law.No:
			continue
		case law.CannotTell:
			if !dated(c) || len(f.Materials) == 0 {
				if !reported(f) {
					c.NotChecked()
				}
				return
			}
		}
		c.due(clockFor(c, r.Row, tellTreasure))
		if !reported(f) {
			say("", "it is called of outstanding significance. "+c.words(r.Row)+timeLimit(r.Row, c))
		}
		return
	}
}

var lawNotChecked = &Rule{
	Kind: kinds.LawNotChecked,
	Across: func() Across {
		var guess countryGuess
		unknown := map[string]int{}
		return Across{
			Find: func(c *Case, ref Ref, _ Say) {
				if !ours(c.Report) || c.law().Known {
					return
				}
				c.NotChecked()
				if place := c.law().Code; place != "" {
					unknown[place]++
					return
				}
				guess.see(c, ref)
			},
			End: func(c *Case, say SayOf) {
				for _, place := range sortedKeys(unknown) {
					say(reportRef, "",
						fmt.Sprintf("the law of the place was not checked: no table of law is held for %s; ask the heritage authority "+
							"there", place))
				}
				if words := guess.words(cmp.Or(c.Report.Language, c.run.language)); words != "" {
					say(reportRef, "/permissions", words)
				}
			},
		}
	},
}

var deadlineNear = &Rule{
	Kind: kinds.DeadlineNear,
	Check: func(c *Case, say Say) {
		for i := range c.Find.Notified {
			n := &c.Find.Notified[i]
			if n.Deadline == "" || !openCase(n) {
				continue
			}
			end, ok := spanOf(n.Deadline)
			if !ok || c.AsOf.IsZero() {
				c.NotChecked()
				continue
			}
			at := fmt.Sprintf("/notified/%d/deadline", i)
			switch days := daysBetween(c.AsOf, end.last); {
			case days < 0:
				say(at, fmt.Sprintf("the time limit ended %s ago and the case is open", daysText(-days)))
			case days == 0:
				say(at, "the time limit ends today and the case is open")
			case days <= c.Settings.DeadlineDays:
				say(at, fmt.Sprintf("the time limit ends in %s and the case is open", daysText(days)))
			}
		}
	},
}

// openCase reports whether whoever was to be told has not been told yet, or has not answered.
func openCase(n *find.Notified) bool {
	if n.Status == nil {
		return n.On == ""
	}
	return n.Status.Is("open", "not-sent", "unknown")
}

func daysText(n int) string {
	if n == 1 {
		return "one day"
	}
	return fmt.Sprintf("%d days", n)
}

var partedWithOpenCase = &Rule{
	Kind: kinds.PartedWithOpenCase,
	Check: func(c *Case, say Say) {
		f := c.Find
		if !f.Disposition.Is("sold", "gifted", "recycled", "deselected") {
			return
		}
		for i := range f.Notified {
			if n := &f.Notified[i]; n.Status.Is("open", "not-sent", "sent", "acknowledged") &&
				(n.CaseNumber != "" || theTables().care["not-landowner"].Has(n.To)) {
				say("/disposition", fmt.Sprintf("%s, while the case at notified is %s", f.Disposition.Code,
					f.Notified[i].Status.Code))
				return
			}
		}
		for i := range f.SensitivityReasons {
			if f.SensitivityReasons[i].Is("legal-process") {
				say("/disposition", fmt.Sprintf("%s, while a legal process is named as a reason for sensitivity",
					f.Disposition.Code))
				return
			}
		}
		if row, _, _ := treasureRow(c); row != nil && !reported(f) {
			say("/disposition", fmt.Sprintf("%s, while the law of treasure may apply and no report is recorded",
				f.Disposition.Code))
		}
	},
}

var aircraftRemains = &Rule{
	Kind: kinds.AircraftRemainsPossible,
	Check: func(c *Case, say Say) {
		s := speaksOf(c)
		if s.aircraft == "" {
			return
		}
		message := "do not touch it: this may be part of a military aircraft; ammunition and human remains may lie with it. "
		if r := theTables().law.Row("aircraft", jurisdictionOf(c)); r != nil {
			message += c.words(r)
		} else {
			message += "The law of the place was not checked for this: ask the authorities."
		}
		say(s.aircraft, message)
	},
}
