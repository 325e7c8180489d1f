package validate

import (
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/internal/kinds"
)

var conditionRules = []*Rule{completeButMissing, missingNotSaid, meltedButComplete, firedAndUnfired, traceUnlikeObject,
	damageTimeContradicts, certainButIllegible}

var completeButMissing = &Rule{
	Kind: kinds.CompleteButMissing,
	// When: `/condition/completeness` is `complete`, and `/condition/missing` has an item. At `/condition/missing`.
	Check: func(c *Case, say Say) {
		if k := c.Find.Condition; k != nil && k.Completeness.Is("complete") && len(k.Missing) > 0 {
			say("/condition/missing", fmt.Sprintf("it is called complete, but %s is missing", k.Missing[0].Text()))
		}
	},
}

var missingNotSaid = &Rule{
	Kind: kinds.MissingNotSaid,
	// When: The find is a fragment, and nothing tells of what: no `/condition/missing`, no `note` at
	// `/condition/completeness`, no `description`, no `notes`; and `/condition/missing` is not excused. At
	// `/condition/completeness`.
	Check: func(c *Case, say Say) {
		f := c.Find
		if !isFragment(f) || len(f.Condition.Missing) > 0 || f.Condition.Completeness.Note != "" || f.Description != "" ||
			f.Notes != "" {
			return
		}
		if !excusedBy(f, "/condition/missing") {
			say("/condition/completeness", "it is not whole, but nothing says which part is left or missing")
		}
	},
}

var meltedButComplete = &Rule{
	Kind: kinds.MeltedButComplete,
	// When: `/condition/completeness` is `complete`, there is the trace `melted-whole`, and the find is not several
	// objects. At `/condition/completeness`.
	Check: func(c *Case, say Say) {
		if k := c.Find.Condition; k != nil && k.Completeness.Is("complete") && hasTrace(c.Find, "melted-whole") &&
			!isLot(c.Find) {
			say("/condition/completeness", "it is melted to a lump or run, and cannot be complete")
		}
	},
}

var firedAndUnfired = &Rule{
	Kind: kinds.FiredAndUnfired,
	// When: The find is not several objects, and has the trace `unfired` and one of `fired-impact` and
	// `fired-rifling`. At `/traces`.
	Check: func(c *Case, say Say) {
		if len(c.Find.Traces) > 1 && !isLot(c.Find) && hasTrace(c.Find, "unfired") && hasTrace(c.Find, "fired-impact",
			"fired-rifling") {
			say("/traces", "it is called both fired and unfired")
		}
	},
}

var traceUnlikeObject = &Rule{
	Kind: kinds.TraceUnlikeObject,
	// When: For each trace without `note` that has a row in schema/data/trace-class.json: the row has `classes`, the
	// find has a class other than `unidentified`, `other`, `unknown` and those that begin with `x-`, and it is not
	// among them; or the row has `notMaterials`, the find has one material, and it is among them. At each `/traces/N`.
	Check: func(c *Case, say Say) {
		f := c.Find
		if len(f.Traces) == 0 {
			return
		}
		t := theTables()
		class := classOf(f)
		knownClass := class != "" && class != "unidentified" && class != "other" && class != "unknown" &&
			class[:min(2, len(class))] != "x-"
		for i := range f.Traces {
			trace := &f.Traces[i]
			row, ok := t.traces[trace.Code]
			if !ok || trace.Certainty == "unlikely" || trace.Note != "" {
				continue
			}
			switch {
			case len(row.Classes) > 0 && knownClass && !slices.Contains(row.Classes, class):
				say(fmt.Sprintf("/traces/%d", i), fmt.Sprintf("%s does not fit the class %s: %s", trace.Text(),
					f.ObjectClass.Text(), row.Why))
			case len(row.NotMaterials) > 0 && len(f.Materials) == 1 && slices.Contains(row.NotMaterials, material(f)):
				say(fmt.Sprintf("/traces/%d", i), fmt.Sprintf("%s does not fit %s: %s", trace.Text(), f.Materials[0].Text(),
					row.Why))
			}
		}
	},
}

var damageTimeContradicts = &Rule{
	Kind: kinds.DamageTimeContradicts,
	// When: A trace, also an `unlikely` one, has a `when` that it cannot have: `plough-struck` with `in-use`,
	// `recovery` or `cleaning`; `spade-struck` with `in-use`, `in-ground`, `plough` or `cleaning`; `scraped-clean`
	// with `in-use`, `in-ground` or `plough`. At each `/traces/N/when`.
	Check: func(c *Case, say Say) {
		for i := range c.Find.Traces {
			t := &c.Find.Traces[i]
			var wrong bool
			switch t.Code {
			case "plough-struck":
				wrong = t.When.Is("in-use", "recovery", "cleaning")
			case "spade-struck":
				wrong = t.When.Is("in-use", "in-ground", "plough", "cleaning")
			case "scraped-clean":
				wrong = t.When.Is("in-use", "in-ground", "plough")
			}
			if wrong {
				say(fmt.Sprintf("/traces/%d/when", i), fmt.Sprintf("%s did not come about %s", t.Text(), t.When.Text()))
			}
		}
	},
}

var certainButIllegible = &Rule{
	Kind: kinds.CertainButIllegible,
	// When: Nothing can be read: `absent` names `/marks` as `illegible`, or there are `marks` and the `text` of each
	// is `[...]` or `[…]`, but for spaces around it. The dating is `certain`, of one year, and has no `basis` (at
	// `/dating/certainty`); else the identification is `certain`, has no `basis`, and there is a `type` (at
	// `/identification/certainty`).
	Check: func(c *Case, say Say) {
		f := c.Find
		if !legendLost(f) {
			return
		}
		if d := f.Dating; d != nil && d.Certainty == "certain" && d.Basis == nil && c.years().exact {
			say("/dating/certainty", "no mark on it can be read, but one exact year is called certain and nothing says how it is known")
			return
		}
		if id := f.Identification; id != nil && id.Certainty == "certain" && id.Basis == nil && f.Type != "" {
			say("/identification/certainty", "no mark on it can be read, but the type is called certain and nothing says how it is known")
		}
	},
}
