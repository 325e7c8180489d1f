package validate

import (
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

// Level is how much a record must say. Each holds all that the one before it asks. The zero value
// is Log, the default.
type Level int8

// The levels.
const (
	NoLevel Level = iota - 2 // ask for none
	Bag                      // what stands on the bag
	Log                      // a usable log
	Full                     // what a museum or heritage office needs
)

// Levels returns the levels from the least to the most.
func Levels() []Level { return []Level{Bag, Log, Full} }

// String returns bag, log or full.
func (l Level) String() string {
	switch l {
	case Bag:
		return "bag"
	case Full:
		return "full"
	}
	return "log"
}

// ParseLevel reads what String writes.
func ParseLevel(s string) (Level, error) {
	for _, l := range Levels() {
		if s == l.String() {
			return l, nil
		}
	}
	return Log, fmt.Errorf("level %q is not bag, log or full", s)
}

// coreMember is a member that a level asks for. It is satisfied by a value or by a reason in
// absent; alternatives satisfy it as well.
type coreMember struct {
	level        Level
	pointer      string
	title        string
	given        func(f *find.Find) bool
	alternatives []string // pointers whose absence reason counts too
}

func quantityGiven(q *find.Quantity) bool { return q.HasValue() }
func termGiven(t *find.Term) bool         { return t != nil && (t.Code != "" || t.Verbatim != "") }

// coreMembers is in the order of cost to the finder, cheapest first within each level.
var coreMembers = [...]coreMember{
	{Bag, "/number", "the number on the bag", func(f *find.Find) bool { return f.Number != "" }, nil},
	{Bag, "/name", "a name in your own words", func(f *find.Find) bool { return f.Name != "" }, nil},
	{Bag, "/finder", "the finder", func(f *find.Find) bool { return f.Finder != "" }, nil},
	{Bag, "/found", "the day it was found", func(f *find.Find) bool { return f.Found != nil && f.Found.Date != "" }, []string{"/found/date"}},
	{Bag, "/place", "the place or the position", placeGiven, []string{"/position"}},
	{Bag, "/position/method", "how the position was taken", func(f *find.Find) bool {
		return f.Position == nil || termGiven(f.Position.Method) || !f.Position.Latitude.Known() && f.Position.Verbatim == ""
	}, []string{"/position"}},
	{Bag, "/count", "how many there are", func(f *find.Find) bool { return quantityGiven(f.Count) }, nil},
	{Bag, "/depth", "the depth", func(f *find.Find) bool { return f.Depth != nil && quantityGiven(&f.Depth.Quantity) }, []string{"/depth/min"}},
	{Bag, "/depth/basis", "how the depth was known", func(f *find.Find) bool { return f.Depth == nil || termGiven(f.Depth.Basis) }, []string{"/depth", "/depth/min"}},
	{Log, "/materials", "the material", func(f *find.Find) bool { return len(f.Materials) > 0 && termGiven(&f.Materials[0].Term) }, nil},
	{Log, "/permission", "the permission", func(f *find.Find) bool { return f.Permission != "" }, nil},
	{Log, "/identification/certainty", "how sure the naming is", func(f *find.Find) bool { return f.Identification != nil && f.Identification.Certainty != "" }, []string{"/identification"}},
	{Log, "/position", "the position", func(f *find.Find) bool { return f.Position != nil && f.Position.Latitude.Known() }, nil},
	{Log, "/position/uncertainty", "the uncertainty of the position", func(f *find.Find) bool {
		return f.Position == nil || !f.Position.Latitude.Known() || f.Position.Uncertainty.Known()
	}, []string{"/position"}},
	{Full, "/objectClass", "the class of object", func(f *find.Find) bool { return termGiven(f.ObjectClass) }, nil},
	{Full, "/condition/completeness", "how complete it is", func(f *find.Find) bool { return f.Condition != nil && termGiven(f.Condition.Completeness) }, []string{"/condition"}},
	{Full, "/dating", "how old it is", func(f *find.Find) bool {
		return f.Dating != nil && (f.Dating.Date != "" || f.Dating.Period != nil)
	}, nil},
	{Full, "/weight", "weight or size", func(f *find.Find) bool { return quantityGiven(f.Weight) || f.Dimensions != nil }, []string{"/dimensions"}},
	{Full, "/disposition", "where the object is now", func(f *find.Find) bool { return termGiven(f.Disposition) }, nil},
	{Full, "/sensitivity", "how openly the place may be shown", func(f *find.Find) bool { return f.Sensitivity != "" }, nil},
	{Full, "/media", "pictures of two sides, one with a scale", twoSidesWithScale, nil},
}

func placeGiven(f *find.Find) bool {
	if p := f.Position; p != nil && (p.Latitude.Known() || p.Verbatim != "") {
		return true
	}
	return f.Place != nil && (f.Place.Name != "" || f.Place.Parish != "" || f.Place.Region != "" || f.Place.Country != "" || f.Place.Verbatim != "")
}

func twoSidesWithScale(f *find.Find) bool {
	sides, scale := map[string]bool{}, false
	for i := range f.Media {
		m := &f.Media[i]
		if m.View != nil {
			sides[m.View.Code] = true
		}
		scale = scale || m.Scale != nil && *m.Scale
	}
	return len(sides) >= 2 && scale
}

// Missing returns the pointers that a find lacks for a level, cheapest first.
func Missing(f *find.Find, l Level) []string {
	var out []string
	for _, m := range missing(f, l) {
		out = append(out, m.pointer)
	}
	return out
}

func missing(f *find.Find, l Level) []*coreMember {
	var out []*coreMember
	for i := range coreMembers {
		if m := &coreMembers[i]; m.level <= l && lacks(f, m) {
			out = append(out, m)
		}
	}
	return out
}

func lacks(f *find.Find, m *coreMember) bool { return !m.given(f) && !excused(f, m) }

// excused tells whether a reason stands in absent; blank is none.
func excused(f *find.Find, m *coreMember) bool {
	if len(f.Absent) == 0 {
		return false
	}
	if reason := f.Absent[m.pointer]; reason != "" && reason != "blank" {
		return true
	}
	for _, p := range m.alternatives {
		if reason := f.Absent[p]; reason != "" && reason != "blank" {
			return true
		}
	}
	return false
}

// LevelIncomplete says what a find lacks for the level asked for.
var LevelIncomplete = &notice.Kind{
	Code: "level-incomplete", Severity: notice.Warning, Group: "level", Spec: "7.2",
	Title:  "the record does not yet say what the level asks for",
	Why:    "a blank can mean forgotten, not measured or not known, and nobody can tell later which",
	Help:   "Fill it in, or say why there is nothing to fill in: not noted, not measured, not known, illegible, not applicable. Such a word may stand in the cell itself.",
	Source: "our proposal",
	Before: `"number": "12", "name": "button"`, After: `"number": "12", "name": "button", "absent": {"/depth": "not-measured"}`,
}

// level counts the levels a find meets and returns, as bits, what it lacks for the level asked for.
func (v *Validator) level(f *find.Find, b *bench) (lacking uint64) {
	met := Full
	for i := range coreMembers {
		m := &coreMembers[i]
		if m.level-1 >= met && m.level > v.options.Level || !lacks(f, m) {
			continue
		}
		met = min(met, m.level-1)
		if m.level <= v.options.Level {
			b.missing[i]++
			lacking |= 1 << i
		}
	}
	for l := Bag; l <= met; l++ {
		b.met[l-Bag]++
	}
	return lacking
}

// lackOf says what a find lacks for the level asked for, but for what another notice says already.
func (v *Validator) lackOf(e *find.Entry, lacking uint64) {
	var titles []string
	for i := range coreMembers {
		if lacking&(1<<i) == 0 {
			continue
		}
		m := &coreMembers[i]
		switch {
		case spokenOf(e.Notices, m.pointer): // what stands there was not read, and that is told
		case m.pointer == "/place" && v.options.Level >= Log && e.Find.Position == nil: // the position is asked for, and does for both
		default:
			titles = append(titles, m.title)
		}
	}
	if len(titles) > 0 {
		e.Notices.Add(notice.New(LevelIncomplete, "", fmt.Sprintf("still missing for level %s: %s", v.options.Level, strings.Join(titles, ", "))))
	}
}

// spokenOf tells whether a notice says already why there is nothing at a pointer: the words were not
// read, or the number or the uncertainty is missing.
func spokenOf(list notice.List, pointer string) bool {
	return slices.ContainsFunc(list, func(n notice.Notice) bool {
		switch {
		case n.Kind.Severity == notice.Info:
			return false
		case n.Kind.Code == uncertaintyMissing.Code:
			return pointer == "/position/uncertainty"
		case n.Kind.Group != "reading":
			return false
		}
		return n.Pointer == pointer || strings.HasPrefix(n.Pointer, pointer+"/") || strings.HasPrefix(pointer, n.Pointer+"/") && n.Pointer != ""
	})
}

// MissingTitle names what stands at a pointer that Summary.Missing counts, in words.
func MissingTitle(pointer string) string {
	for _, m := range coreMembers {
		if m.pointer == pointer {
			return m.title
		}
	}
	return ""
}
