package profile

import (
	"slices"

	"github.com/findslip/findslip/pkg/notice"
)

// kind makes a kind of fault of a profile. They are never faults of a log.
func kind(code string, severity notice.Severity, spec, title, why, help, before, after string) *notice.Kind {
	return &notice.Kind{Code: code, Severity: severity, Group: "profile", Spec: spec, Title: title, Why: why,
		Help: help, Source: "format of profiles, schema/spec/profiles.md", Before: before, After: after}
}

// The kinds of notice that are given of a profile.
var (
	notShaped = kind("profile-shape", notice.Error, "7.3", "the profile is not built as a profile is",
		"a part that is not understood may change what all the rest asks",
		"Compare the line with the schema: findslip schema profile.",
		`"strength": "wanted"`, `"strength": "should"`)
	unknownMember = kind("profile-member-unknown", notice.Error, "7.3", "no find has a member of this name",
		"nobody can ever answer the ask", "Take a name of the list: findslip profile --members.",
		`"any": ["/found/day"]`, `"any": ["/found/date"]`)
	unknownTerm = kind("profile-term-unknown", notice.Error, "7.3",
		"no list has this code, or no rule or setting this name",
		"a find can never have it, so that the ask is never met or the change never made",
		"Take a code of the list: findslip explain lists them.", `"oneOf": ["bronze"]`, `"oneOf": ["copper-alloy"]`)
	noColumn = kind("profile-no-column", notice.Warning, "7.3", "no column of a template can hold what is asked",
		"finders keep sheets; what a sheet has no column for they cannot give",
		"Ask for a member that has a column, make the ask one of strength may, or drop it.", `"any": ["/custody"]`,
		`"any": ["/disposition"]`)
	impossible = kind("profile-impossible", notice.Error, "7.3", "nothing can meet the ask, or nothing is about it",
		"every find would lack it for ever", "Change the bounds or the condition.",
		`"atLeast": 5, "atMost": 3`, `"atLeast": 3, "atMost": 5`)
	contradiction = kind("profile-contradiction", notice.Error, "7.3", "two parts of the profile say opposite things",
		"whoever follows one breaks the other", "Drop one of the two, or give them conditions that do not meet.",
		`{"name": "value", "strength": "must"}, {"name": "no-value", "strength": "never"}`,
		`{"name": "no-value", "strength": "never"}`)
	badText = kind("profile-text", notice.Error, "7.3", "a text holds more than plain words",
		"what a body says is shown to finders; links, markup and hidden signs could mislead them",
		"Write plain words in one line: no links, no markup, no unusual signs, and no words in two alphabets.",
		`"en": "see https://example.org"`, `"en": "ask at the library"`)
	notChangeable = kind("profile-fixed", notice.Error, "7.3", "the profile would change what no profile can",
		"safety, law, copies for others and faults of the format are nobody's opinion",
		"Take the row out.", `{"rule": "ordnance-possible", "set": "off"}`, ``)
	baseMissing = kind("profile-base", notice.Error, "7.3", "the profile that this one is based on cannot be used",
		"what it asks would be missing without a word",
		"Put the file beside this one, unchanged; where it was changed on purpose, write its new sum.",
		`"sha256": "00..."`, `"sha256": "5f..."`)
	whyMissing = kind("profile-why", notice.Warning, "7.3", "an exact place is asked for without a reason",
		"a finder gives an exact place only for a reason, and decides by it", "Say in why what it is needed for.",
		`"ask": {"any": ["/position/longitude"], "within": 5}`, `"ask": {...}, "why": {"en": "We dig beside it."}`)
	outOfDate = kind("profile-date", notice.Info, "7.3", "the profile is not meant for today",
		"the body may ask for other things by now", "Ask the body for its present profile.",
		`"valid": {"to": "2020-12-31"}`, `"valid": {"to": "2030-12-31"}`)
)

// Kinds returns the kinds of notice that are given of a profile. The list is fresh.
func Kinds() []*notice.Kind {
	return slices.Clone([]*notice.Kind{notShaped, unknownMember, unknownTerm, noColumn, impossible, contradiction,
		badText, notChangeable, baseMissing, whyMissing, outOfDate, wordRead})
}
