package validate

import (
	"fmt"

	"github.com/findslip/findslip/pkg/internal/kinds"
)

var conditionRules = []*Rule{conditionContradicts, missingNotSaid}

var conditionContradicts = &Rule{
	Kind: kinds.ConditionContradicts,
	Check: func(c *Case, say Say) {
		f := c.Find
		complete := f.Condition != nil && f.Condition.Completeness.Is("complete")
		if complete && len(f.Condition.Missing) > 0 {
			say("/condition/missing", fmt.Sprintf("it is called complete, but %s is missing", f.Condition.Missing[0].Text()))
		}
		if complete && hasTrace(f, "melted-whole") && !isLot(f) {
			say("/condition/completeness", "it is melted to a lump or run, and cannot be complete")
		}
		if hasTrace(f, "unfired") && hasTrace(f, "fired-impact", "fired-rifling") && !isLot(f) {
			say("/traces", "it is called both fired and unfired")
		}
		for i := range f.Traces {
			if t := &f.Traces[i]; t.When.Is(neverThen[t.Code]...) {
				say(fmt.Sprintf("/traces/%d/when", i), fmt.Sprintf("%s did not come about %s", t.Text(), t.When.Text()))
			}
		}
	},
}

// neverThen is when a trace did not come about.
var neverThen = map[string][]string{"plough-struck": {"in-use", "recovery", "cleaning"},
	"spade-struck": {"in-use", "in-ground", "plough", "cleaning"}, "scraped-clean": {"in-use", "in-ground", "plough"}}

var missingNotSaid = &Rule{
	Kind: kinds.MissingNotSaid,
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
