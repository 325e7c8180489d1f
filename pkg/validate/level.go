package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/profile"
)

// Level is the id of a profile that is shipped as a level (schema/data/profiles): how much a record must say. Each
// level holds all that the one before it asks. The zero value is the default of schema/data/profiles.json.
type Level string

// NoLevel asks for none.
const NoLevel Level = "none"

// Levels returns the levels from the least to the most.
func Levels() (out []Level) {
	for _, name := range profile.LevelNames() {
		out = append(out, Level(name))
	}
	return out
}

// String returns the id of the level.
func (l Level) String() string {
	if l == "" {
		return profile.DefaultLevel()
	}
	return string(l)
}

// ParseLevel reads what String writes.
func ParseLevel(s string) (Level, error) {
	if names := profile.LevelNames(); !slices.Contains(names, s) {
		return "", fmt.Errorf("level %q is not one of %s", s, strings.Join(names, ", "))
	}
	return Level(s), nil
}

// LevelIncomplete says once what the finds of a file lack for the level or the profile asked for.
var LevelIncomplete = &kinds.LevelIncomplete

// asks are the profiles that a validator puts to finds: the levels, then those that are asked for.
type asks struct {
	panel  *profile.Panel
	levels int   // how many of them are levels
	asked  []int // the numbers of those that are asked for
}

// newAsks makes the panel of a validator.
func newAsks(o *Options) (*asks, error) {
	all := profile.Levels()
	if o.Level == NoLevel {
		all = nil // nobody asks what the log is good for
	}
	a := &asks{levels: len(all)}
	if o.Level != NoLevel && len(o.Profiles) == 0 {
		at := slices.IndexFunc(all, func(e *profile.Effective) bool { return e.ID == o.Level.String() })
		if at < 0 {
			return nil, fmt.Errorf("there is no level %q", o.Level)
		}
		a.asked = append(a.asked, at)
	}
	for _, e := range o.Profiles {
		a.asked = append(a.asked, len(all))
		all = append(all, e)
	}
	today := ""
	if !o.AsOf.IsZero() {
		today = o.AsOf.String()
	}
	a.panel = profile.NewPanel(all, profile.Options{Today: today, Files: o.Files, Years: yearsNamed})
	return a, nil
}

// tallies are those of a run, one for each profile of the panel.
func (a *asks) tallies(shunned []profile.Spot) (out []*profile.Tally) {
	for i, e := range a.panel.Profiles {
		out = append(out, profile.NewTally(e))
		out[i].Shunned = slices.Clone(shunned)
		out[i].Spares = slices.Contains(a.asked, i)
	}
	return out
}

// ask counts what the profiles ask of a find, and what of it no other notice speaks of.
func (r *run) ask(e *find.Entry, label string, j *profile.Judgement) {
	j.Alone = slices.ContainsFunc(e.Notices, func(n notice.Notice) bool {
		return n.Kind.Caution && n.Kind.Group == "safety"
	})
	for i, t := range r.tallies {
		t.Add(j, i, label)
		if !slices.Contains(r.v.asks.asked, i) || j.Covered[i] == profile.No {
			continue
		}
		for k, is := range j.Asks[i] {
			if a := t.Profile.Asks[k]; is.Outcome == profile.Lacking && a.Strength == profile.Must &&
				!slices.ContainsFunc(a.Ask.Members(), func(pointer string) bool { return spokenOf(e.Notices, pointer) }) {
				t.Asks[k].Unspoken++
			}
		}
	}
}

// sayLevel says what the finds lack, once for the file and profile.
func (r *run) sayLevel() {
	r.v.summary.Levels = r.tallies[:r.v.asks.levels]
	for _, i := range r.v.asks.asked {
		t := r.tallies[i]
		t.Spare()
		t.Stale = !r.v.options.AsOf.IsZero() && len(t.Profile.Remarks(r.v.options.AsOf.String())) > 0
		r.v.summary.Asked = append(r.v.summary.Asked, t)
		var lacks []string
		for k, a := range t.Profile.Asks {
			switch n := t.Of(k).Unspoken; {
			case n == 0:
			case n == t.Finds:
				lacks = append(lacks, t.Profile.Called(a, "en"))
			default:
				lacks = append(lacks, fmt.Sprintf("%s (%s)", t.Profile.Called(a, "en"), findsText(n)))
			}
		}
		if len(lacks) == 0 || r.v.options.Level == "" && i < r.v.asks.levels {
			continue // nobody asked for the level: what it lacks stands with what the log is good for
		}
		whom := "level " + t.Profile.ID
		if i >= r.v.asks.levels {
			whom = fmt.Sprintf("%q", t.Profile.In(t.Profile.Title, "en"))
		}
		r.sayLate(reportRef, notice.New(LevelIncomplete, "",
			fmt.Sprintf("still missing for %s: %s", whom, strings.Join(lacks, ", "))))
	}
}

// spokenOf reports whether a notice says already why there is nothing at a pointer: the words were not read.
func spokenOf(list notice.List, pointer string) bool {
	return slices.ContainsFunc(list, func(n notice.Notice) bool {
		if n.Kind.Severity == notice.Info || n.Kind.Group != "reading" {
			return false
		}
		return n.Pointer == pointer || strings.HasPrefix(n.Pointer, pointer+"/") || strings.HasPrefix(pointer,
			n.Pointer+"/") && n.Pointer != ""
	})
}

// LoadProfile reads a profile with those that it is based on, as profile.Load does, and looks at the rules and
// figures that it changes too.
func LoadProfile(name string, from profile.Source) (*profile.Effective, notice.List, error) {
	return profile.Load(name, from, changeable)
}

// yearsNamed are the years outside which the periods that words name are nowhere.
func yearsNamed(words string) (from, to int, ok bool) {
	t := theTables().things
	if t.unless.Has(words) { // a copy
		return 0, 0, false
	}
	return t.spanOf(words)
}

// changeable is what of the rules and settings a profile may change: opinions, and the figures of opinions.
var changeable = profile.Known{
	Danger: func(language, words string) (speaks bool, wrong string) {
		return theTables().danger.Heed(language, words)
	},
	Rule: func(code string) (known, free bool) {
		for _, r := range Catalogue() {
			if r.Code == code {
				return true, !fixed(r) && r.Severity != notice.Error
			}
		}
		return false, false
	},
	Setting: func(name, value string) (known, free bool) {
		s := DefaultSettings()
		for _, setting := range s.List() {
			if setting.Name == name {
				return true, setting.Opinion && s.Set(name, value) == nil
			}
		}
		return false, false
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
