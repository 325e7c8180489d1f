package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// fixed reports whether a rule cannot be left out: what is said of safety, of the law and of copies for others,
// and every caution.
func fixed(r *Rule) bool {
	return r.Caution || r.Group == "safety" || r.Group == "law" || r.Group == "sharing"
}

// Select returns the rules that a selection names, in the order of the catalogue. A selection is a list of names parted
// by commas: all, default, the code of a rule, a group of codes, or a severity (error, warning, info). It begins with
// nothing, or with the default where it is empty or its first name has a sign; + adds and - takes away. Rules of
// safety, law and sharing, and those that draw a caution, are always among them.
func Select(selection string) ([]*Rule, error) {
	all := Catalogue()
	on := map[*Rule]bool{}
	add := func(name string, value bool) bool {
		known := false
		for _, r := range all {
			if name == "all" || name == r.Code || name == r.Group || name == r.Severity.String() || name == "default" &&
				!kinds.IsOff(r.Code) {
				on[r], known = value, true
			}
		}
		return known
	}
	names := strings.FieldsFunc(selection, func(c rune) bool { return c == ',' || c == ' ' })
	if len(names) == 0 || strings.ContainsAny(names[0][:1], "+-") {
		add("default", true)
	}
	for _, name := range names {
		if bare := strings.TrimLeft(name, "+-"); !add(bare, name[0] != '-') && !kinds.IsOff(bare) {
			return nil, fmt.Errorf("there is no rule, group or severity %q; findslip rules lists them", bare)
		}
	}
	return slices.DeleteFunc(all, func(r *Rule) bool { return !on[r] && !fixed(r) }), nil
}

// OnByDefault reports whether a kind of notice is given without being asked for.
func OnByDefault(k *notice.Kind) bool { return !kinds.IsOff(k.Code) }

// quiet returns the codes of notices of readers that a check leaves out: those that are off by default and that the
// selection does not name.
func quiet(selection string) map[string]bool {
	out := map[string]bool{}
	for _, code := range kinds.Off() {
		out[code] = true
	}
	for _, name := range strings.FieldsFunc(selection, func(c rune) bool { return c == ',' || c == ' ' || c == '+' }) {
		if name == "all" {
			return nil
		}
		delete(out, name)
	}
	for _, r := range Catalogue() {
		delete(out, r.Code)
	}
	return out
}

// isQuiet reports whether a notice of a reader is left out.
func (v *Validator) isQuiet(n notice.Notice) bool { return v.quiet[n.Kind.Code] }
