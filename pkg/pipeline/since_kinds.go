package pipeline

import "github.com/findslip/findslip/pkg/notice"

// Kinds of notice that pairing with an earlier conversion gives.
var (
	sinceAmbiguous = &notice.Kind{
		Code: "since-ambiguous", Severity: notice.Warning, Group: "conversion", Spec: "8.8",
		Title:  "it cannot be told which earlier find this is",
		Why:    "several finds share the number, so that an id kept by chance would join two histories",
		Help:   "Give one of them another number, or put the id of the earlier find into the column id.",
		Source: "our proposal",
		Before: "two finds with the number 7, by one finder on one land", After: "numbers 7a and 7b",
	}
	sinceUnpaired = &notice.Kind{
		Code: "since-unpaired", Severity: notice.Info, Group: "conversion", Spec: "8.8",
		Title:  "a find stands in only one of the two files",
		Why:    "it is new, or was taken out, or its number was changed; in the last case its history breaks off",
		Help:   "Nothing to do for new finds. If only the number was changed, put the id of the earlier find into the column id.",
		Source: "our proposal",
		Before: "the earlier file has number 8, the new one 8a", After: "the new one has 8a and the id of 8",
	}
)

var sinceKept = &notice.Kind{
	Code: "since-kept", Severity: notice.Info, Group: "conversion", Spec: "3.6",
	Title:  "what the earlier file has stays",
	Why:    "the new file withholds it or has it coarser, as copies for others do: that is no news of the find",
	Help:   "Nothing to do. To take the value out for good, take it out of the earlier file too.",
	Source: "format of this specification, section 3.6",
	Before: `the new file: "absent": {"/depth": "withheld"}; the earlier one: "depth": {"min": 20, "max": 20, "unit": "cm"}`,
	After:  `"depth": {"min": 20, "max": 20, "unit": "cm"}`,
}

var sinceAudience = &notice.Kind{
	Code: "since-audience", Severity: notice.Warning, Group: "conversion", Spec: "3.6",
	Title:  "what was a copy for others is none any more",
	Why:    "together with the earlier file it holds more than that audience may see, and read as its copy it would be handed on",
	Help:   "Keep this file as you keep the log itself. To hand something on, make a copy of it with share.",
	Source: "format of this specification, section 3.6",
	Before: `the new file: "audience": "expert"; the earlier one: the log of the finder`,
	After:  `no "audience"`,
}
