package validate

import (
	"fmt"
	"slices"

	"github.com/findslip/findslip/pkg/notice"
)

var conditionRules = []*Rule{completeButMissing, missingNotSaid, meltedButComplete, firedAndUnfired, traceUnlikeObject,
	damageTimeContradicts, certainButIllegible}

var completeButMissing = &Rule{
	Kind: notice.Kind{
		Code: "complete-but-missing", Severity: notice.Error, Group: "condition", Spec: "5.7",
		Title:  "it is called complete, and parts are called missing",
		Why:    "one of the two is wrong, and a reader cannot tell which",
		Help:   "Call it nearly complete or incomplete, or take the missing parts out.",
		Source: "our proposal",
		Before: `"condition": {"completeness": {"code": "complete"}, "missing": [{"verbatim": "pin"}]}`,
		After:  `"condition": {"completeness": {"code": "nearly-complete"}, "missing": [{"verbatim": "pin"}]}`,
	},
	// When: `/condition/completeness` is `complete`, and `/condition/missing` has an item. At `/condition/missing`.
	Check: func(c *Case, say Say) {
		if k := c.Find.Condition; k != nil && k.Completeness.Is("complete") && len(k.Missing) > 0 {
			say("/condition/missing", fmt.Sprintf("it is called complete, but %s is missing", k.Missing[0].Text()))
		}
	},
}

var missingNotSaid = &Rule{
	Kind: notice.Kind{
		Code: "missing-not-said", Severity: notice.Warning, Group: "condition", Spec: "5.7",
		Title:  "it is not whole, and nothing says what is missing",
		Why:    "it is the first question of whoever is to name it",
		Help:   "Say in missing what is gone, or describe what is left.",
		Source: "common practice, no source",
		Before: `"condition": {"completeness": {"code": "fragment"}}`,
		After:  `"condition": {"completeness": {"code": "fragment"}, "missing": [{"verbatim": "bow and pin"}]}`,
	},
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
	Kind: notice.Kind{
		Code: "melted-but-complete", Severity: notice.Error, Group: "condition", Spec: "5.7",
		Title:  "it is melted to a lump, and called complete",
		Why:    "the two contradict each other",
		Help:   "Call the completeness melted-mass, or the trace melted-part.",
		Source: "our proposal",
		Before: `"condition": {"completeness": {"code": "complete"}}, "traces": [{"code": "melted-whole"}]`,
		After:  `"condition": {"completeness": {"code": "melted-mass"}}, "traces": [{"code": "melted-whole"}]`,
	},
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
	Kind: notice.Kind{
		Code: "fired-and-unfired", Severity: notice.Error, Group: "condition", Spec: "5.7",
		Title:  "one object is called both fired and unfired",
		Why:    "the two contradict each other; for a cartridge the difference is one of safety",
		Help:   "Take out the one that does not hold. If you are not sure, give neither. Do not strike, cut or open it to find out.",
		Source: "our proposal",
		Before: `"traces": [{"code": "fired-impact"}, {"code": "unfired"}]`, After: `"traces": [{"code": "fired-impact"}]`,
	},
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
	Kind: notice.Kind{
		Code: "trace-unlike-object", Severity: notice.Warning, Group: "condition", Spec: "5.7",
		Title:  "such a trace is not found on such an object",
		Why:    "the wrong line of a list was ticked, or the class or material is another",
		Help:   "Look at the trace and at the class again. Use broken, bent or pierced where the cause is not known.",
		Source: "schema/data/trace-class.json: our list of traces, common practice, no source",
		Before: `"objectClass": {"code": "button"}, "traces": [{"code": "rammed"}]`,
		After:  `"objectClass": {"code": "button"}, "traces": [{"code": "dented"}]`,
	},
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
	Kind: notice.Kind{
		Code: "damage-time-contradicts", Severity: notice.Warning, Group: "condition", Spec: "5.7",
		Title:  "new damage is put down as old",
		Why:    "old and new damage mixed up: the shape of the object in use is misread",
		Help:   "Damage by the plough is plough, by the spade recovery. Call old damage broken, bent or cut instead.",
		Source: "our proposal",
		Before: `"traces": [{"code": "spade-struck", "when": {"code": "in-use"}}]`,
		After:  `"traces": [{"code": "spade-struck", "when": {"code": "recovery"}}]`,
	},
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
	Kind: notice.Kind{
		Code: "certain-but-illegible", Severity: notice.Warning, Group: "condition", Spec: "5.7",
		Title:  "nothing on it can be read, and yet year or type is certain",
		Why:    "where did it come from? The next reader cannot check it",
		Help:   "Say in basis how it is known (type, parallel, weight and size), or lower the certainty.",
		Source: "common practice, no source",
		Before: `"absent": {"/marks": "illegible"}, "identification": {"certainty": "certain"}, "type": "token of Thornmere"`,
		After:  `"absent": {"/marks": "illegible"}, "identification": {"certainty": "certain", "basis": {"code": "parallel"}}, "type": "token of Thornmere"`,
	},
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
