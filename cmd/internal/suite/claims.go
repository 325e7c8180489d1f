package suite

import (
	"path"
	"slices"
	"strings"
)

// Claims are the pieces that an implementation says it does, beside its operations. A list that is missing says:
// all of them.
type Claims struct {
	Codes     []string `json:"codes,omitempty"`     // of notices
	Kinds     []string `json:"kinds,omitempty"`     // of reading
	Languages []string `json:"languages,omitempty"` // of readings whose language is stated
	Formats   []string `json:"formats,omitempty"`
	Audiences []string `json:"audiences,omitempty"`
}

// Tests returns the codes of notices that a vector is about: that of its home, else those that it expects or excludes.
func (v *Vector) Tests() []string {
	if v.Input != nil {
		if home, ok := strings.CutPrefix(v.Input.File, "testdata/codes/"); ok {
			return []string{strings.TrimSuffix(path.Base(home), ".json")}
		}
	}
	list := append(slices.Clone(v.Expect.Says), v.Expect.Silent...)
	if v.Expect.Notices != nil {
		for _, n := range *v.Expect.Notices {
			list = append(list, n.Code)
		}
	}
	return list
}

// Lacks says which piece of a vector is not claimed; it is empty where all are.
func (c *Claims) Lacks(v *Vector) string {
	if c == nil {
		return ""
	}
	for _, step := range append([]Step{{v.Operation, v.Options}}, v.Then...) {
		for option, list := range map[string][]string{"from": c.Formats, "to": c.Formats, "audience": c.Audiences,
			"kind": c.Kinds, "language": c.Languages} {
			value, ok := step.Options[option].(string)
			if ok && len(list) > 0 && !slices.Contains(list, value) && !(option == "language" && step.Operation != "read") {
				return "the " + strings.NewReplacer("from", "format", "to", "format", "kind", "reading").Replace(option) + " " +
					value
			}
		}
	}
	if v.Operation == "validate" && len(c.Codes) > 0 && len(v.Tests()) == 0 {
		return "what a check says beside notices"
	}
	if tests := v.Tests(); len(c.Codes) > 0 && len(tests) > 0 && !slices.ContainsFunc(tests,
		func(code string) bool { return slices.Contains(c.Codes, code) }) {
		return "the code " + tests[0]
	}
	return ""
}

// Of returns a vector as it is judged under claims: notices under other codes are neither expected nor looked at.
func (c *Claims) Of(v *Vector) *Vector {
	if c == nil || len(c.Codes) == 0 {
		return v
	}
	out := *v
	other := func(code string) bool { return !slices.Contains(c.Codes, code) }
	otherNotice := func(n Notice) bool { return other(n.Code) }
	out.Expect.Says = slices.DeleteFunc(slices.Clone(v.Expect.Says), other)
	out.Expect.Silent = slices.DeleteFunc(slices.Clone(v.Expect.Silent), other)
	out.Expect.Ordered = slices.DeleteFunc(slices.Clone(v.Expect.Ordered), otherNotice)
	if v.Expect.Notices != nil {
		list := slices.DeleteFunc(slices.Clone(*v.Expect.Notices), otherNotice)
		out.Expect.Notices = &list
	}
	return &out
}

// Only returns answers without the notices under codes that are not claimed.
func (c *Claims) Only(answers []Answer) []Answer {
	if c == nil || len(c.Codes) == 0 {
		return answers
	}
	out := slices.Clone(answers)
	for i := range out {
		out[i].Notices = slices.DeleteFunc(slices.Clone(out[i].Notices),
			func(n Notice) bool { return !slices.Contains(c.Codes, n.Code) })
	}
	return out
}
