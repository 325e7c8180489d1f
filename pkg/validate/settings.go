package validate

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// Settings are the figures that rules compare with. Each says its default, what it means with its
// unit, and where it comes from; those marked as our proposal have no source. They can be changed,
// and a changed one is shown in the report.
type Settings struct {
	RecordedLate    int     `default:"30" source:"common practice" doc:"days from finding to recording that make it a memory record"`
	OutingSlack     int     `default:"60" source:"our proposal" doc:"minutes before and after an outing that still belong to it"`
	DefaultDates    int     `default:"3" source:"our proposal" doc:"firsts of a month among the days of a log that look filled in by a machine"`
	PhotoSlack      int     `default:"15" source:"our proposal" doc:"minutes after the end of an outing in which a picture may still be of the hole"`
	SameSpotFinds   int     `default:"3" source:"our proposal" doc:"finds at one identical point that look pasted"`
	HandDug         int     `default:"200" source:"our proposal" doc:"cm beyond which a hole is no longer dug by hand" opinion:"no"`
	HandLifted      int     `default:"15000" source:"our proposal" doc:"grams beyond which a find is no longer lifted out of a hole by hand"`
	PloughDepth     int     `default:"30" source:"usual for ploughing in the United Kingdom" doc:"cm taken where the plough depth is not known" opinion:"no"`
	CoinSize        int     `default:"30" source:"our proposal" doc:"mm below which an object counts as coin-sized"`
	SignalDepth     int     `default:"60" source:"common practice" doc:"cm from beyond which a coin-sized object does not answer"`
	LogDepths       int     `default:"5" source:"our proposal" doc:"depths in a log from which its figures are judged together"`
	ProtectedBuffer int     `default:"10" source:"our proposal" doc:"metres around a protected area that are spoken of too" opinion:"no"`
	LotPercent      float64 `default:"2" source:"our proposal" doc:"per cent between the weight of a lot and its groups"`
	LotGrams        float64 `default:"0.5" source:"our proposal" doc:"grams between the weight of a lot and its groups, if that is more"`
	LeadHandful     int     `default:"5" source:"published advice named in the rule" doc:"lead projectiles at one site that are worth a notice" opinion:"no"`
	SolidPercent    int     `default:"20" source:"our proposal" doc:"per cent of a solid body's weight below which a solid object is doubted"`
	AboutYears      int     `default:"10" source:"our proposal" doc:"years that the word about may reach beyond a stated year"`
	DeadlineDays    int     `default:"3" source:"our proposal" doc:"days before a deadline from which it is shown" opinion:"no"`

	Protected *Protected // protected areas supplied by the user; nil: none, and protected-ground is not checked
}

// A Setting is one of the Settings as people know it.
type Setting struct {
	Name    string // kebab-case: plough-depth
	Default string
	Value   string
	Doc     string // what it means, with its unit
	Source  string
	Opinion bool // a profile may change it: it is no figure of safety, law, sharing or an error
	field   int
}

// Changed reports whether the value is not the default.
func (s Setting) Changed() bool { return s.Value != s.Default }

// DefaultSettings returns the documented defaults.
func DefaultSettings() Settings {
	var s Settings
	v := reflect.ValueOf(&s).Elem()
	for i := range v.NumField() {
		if text, ok := v.Type().Field(i).Tag.Lookup("default"); ok {
			if err := setNumber(v.Field(i), text); err != nil {
				panic("validate: the default of a setting is no number: " + v.Type().Field(i).Name) // a test reads them all
			}
		}
	}
	return s
}

// List returns the settings by name, in the order of the struct.
func (s *Settings) List() []Setting {
	var out []Setting
	v := reflect.ValueOf(s).Elem()
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if text, ok := f.Tag.Lookup("default"); ok {
			out = append(out, Setting{Name: kebab(f.Name), Default: text, Value: numberText(v.Field(i)), Doc: f.Tag.Get("doc"),
				Source: f.Tag.Get("source"), Opinion: f.Tag.Get("opinion") == "", field: i})
		}
	}
	return out
}

// Set changes one setting by its name.
func (s *Settings) Set(name, value string) error {
	for _, setting := range s.List() {
		if setting.Name != name {
			continue
		}
		if err := setNumber(reflect.ValueOf(s).Elem().Field(setting.field), value); err != nil {
			return fmt.Errorf("setting %s: %q is not a number above zero that fits it", name, value)
		}
		return nil
	}
	return fmt.Errorf("there is no setting %q; schema/spec/lookup/settings.md lists them", name)
}

func setNumber(v reflect.Value, text string) error {
	if v.Kind() == reflect.Int {
		n, err := strconv.ParseInt(text, 10, 32)
		if err == nil && n < 0 {
			err = strconv.ErrRange
		}
		v.SetInt(max(n, 0))
		return err
	}
	f, err := strconv.ParseFloat(text, 64)
	if err == nil && !(f >= 0 && f < 1e9) {
		return strconv.ErrRange
	}
	v.SetFloat(f)
	return err
}

func numberText(v reflect.Value) string {
	if v.Kind() == reflect.Int {
		return strconv.FormatInt(v.Int(), 10)
	}
	return strconv.FormatFloat(v.Float(), 'f', -1, 64)
}

// kebab writes PloughDepth as plough-depth.
func kebab(name string) string {
	var b strings.Builder
	for i, r := range name {
		if unicode.IsUpper(r) && i > 0 {
			b.WriteByte('-')
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return b.String()
}

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
				r.Off == "" {
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
		if bare := strings.TrimLeft(name, "+-"); !add(bare, name[0] != '-') &&
			(kinds.Named(bare) == nil || kinds.Named(bare).Off == "") {
			return nil, fmt.Errorf("there is no rule, group or severity %q; findslip rules lists them", bare)
		}
	}
	return slices.DeleteFunc(all, func(r *Rule) bool { return !on[r] && !fixed(r) }), nil
}

// quiet returns the codes of notices of readers that a check leaves out: those that are off by default and that the
// selection does not name.
func quiet(selection string) map[string]bool {
	out := map[string]bool{}
	for _, k := range kinds.All() {
		if k.Off != "" {
			out[k.Code] = true
		}
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
