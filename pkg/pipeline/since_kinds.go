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
