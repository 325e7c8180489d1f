package validate

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
)

// LoadProfile reads a profile with those that it is based on, as profile.Load does, and looks at the rules and
// figures that it changes too.
func LoadProfile(name string, from profile.Source) (*profile.Effective, notice.List, error) {
	return profile.Load(name, from, changeable)
}

// changeable is what of the rules and settings a profile may change: opinions, and the figures of opinions.
var changeable = profile.Known{
	Rule: func(code string) profile.Standing {
		for _, r := range Catalogue() {
			if r.Code == code {
				return profile.StandingOf(!fixed(r) && r.Severity != notice.Error)
			}
		}
		return profile.Unknown
	},
	Setting: func(name, value string) profile.Standing {
		s := DefaultSettings()
		for _, setting := range s.List() {
			if setting.Name == name {
				return profile.StandingOf(setting.Opinion && s.Set(name, value) == nil)
			}
		}
		return profile.Unknown
	},
}

// profiled returns the rules and settings of a validator as its profiles want them: what they switch on, switch
// off, and tell more or less gravely. Where two profiles differ the later wins.
func profiled(rules []*Rule, settings *Settings, list []*profile.Effective) []*Rule {
	for _, e := range list {
		for _, change := range e.Rules {
			rules = changed(rules, change)
		}
		for _, s := range e.Settings {
			_ = settings.Set(s.Setting, strings.TrimSpace(string(s.Value))) // looked at when it was loaded
		}
	}
	return rules
}

// changed returns the rules with one of them changed.
func changed(rules []*Rule, change profile.Rule) []*Rule {
	at := slices.IndexFunc(rules, func(r *Rule) bool { return r.Code == change.Rule })
	if change.Set == "off" {
		if at >= 0 {
			rules = slices.Delete(slices.Clone(rules), at, at+1)
		}
		return rules
	}
	if at < 0 { // it was off
		on := map[string]bool{change.Rule: true}
		for _, r := range rules {
			on[r.Code] = true
		}
		rules = slices.DeleteFunc(Catalogue(), func(r *Rule) bool { return !on[r.Code] })
		at = slices.IndexFunc(rules, func(r *Rule) bool { return r.Code == change.Rule })
	}
	if severity, err := notice.ParseSeverity(change.Set); err == nil && at >= 0 {
		told := *rules[at]
		told.Severity = severity
		rules = slices.Clone(rules)
		rules[at] = &told
	}
	return rules
}
