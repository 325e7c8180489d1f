package validate

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// Level is how much a record must say. Each holds all that the one before it asks. The zero value
// is Log, the default.
type Level int8

// The levels.
const (
	NoLevel Level = iota - 2 // ask for none
	Bag                      // what one writes at the hole
	Log                      // what one can hand to a landowner and a friend
	Full                     // what a recorder wants
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

// demand is a row of schema/data/levels.json: something that a level asks for.
type demand struct {
	Level  string   `json:"level"`
	Any    []string `json:"any"`    // pointers of members, of which one will do
	Within float64  `json:"within"` // metres to which the position is to be known; 0: it does not matter
	Title  string   `json:"title"`

	level Level
	steps [][]int // of each member of Any that is reached without a list, the fields that lead to it
}

// demands are the rows in the order of the table: by level, cheapest first.
var demands = sync.OnceValue(func() []demand {
	rows, _ := schema.Rows[demand]("levels") // a test reads them
	for i := range rows {
		d := &rows[i]
		d.level, _ = ParseLevel(d.Level)
		for _, pointer := range d.Any {
			d.steps = append(d.steps, stepsTo(pointer))
		}
	}
	return rows
})

// stepsTo returns which fields of the structs lead from a find to a member; nil where a list is in between.
func stepsTo(pointer string) (steps []int) {
	t := reflect.TypeFor[find.Find]()
	for token := range strings.SplitSeq(pointer[1:], "/") {
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		index, ok := membersOf(t)[token]
		if !ok {
			return nil
		}
		steps = append(steps, len(index))
		steps = append(steps, index...)
		t = t.FieldByIndex(index).Type
	}
	return steps
}

// met reports whether a find has what is asked for, or says why it has not.
func (d *demand) met(f *find.Find) bool {
	for _, steps := range d.steps {
		if there(f, steps) && (d.Within == 0 || within(f, d.Within)) {
			return true
		}
	}
	if len(f.Absent) == 0 {
		return false
	}
	return slices.ContainsFunc(d.Any, func(pointer string) bool { return excusedAbove(f, pointer) })
}

func there(f *find.Find, steps []int) bool {
	v := reflect.ValueOf(f)
	for len(steps) > 0 {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return false
			}
			v = v.Elem()
		}
		n := steps[0]
		v = v.FieldByIndex(steps[1 : 1+n])
		steps = steps[1+n:]
	}
	return !v.IsZero()
}

// within reports whether the position is known to so many metres.
func within(f *find.Find, metres float64) bool {
	radius, _ := radiusOf(f.Position)
	return radius <= metres
}

// excusedAbove reports whether a reason stands in absent for a member or for one that it is part of; blank is none.
func excusedAbove(f *find.Find, pointer string) bool {
	for ; pointer != ""; pointer = pointer[:strings.LastIndexByte(pointer, '/')] {
		if excusedBy(f, pointer) {
			return true
		}
	}
	return false
}

// Missing returns the pointers that a find lacks for a level, cheapest first.
func Missing(f *find.Find, l Level) []string {
	var out []string
	for i := range demands() {
		if d := &demands()[i]; d.level <= l && !d.met(f) {
			out = append(out, d.Any[0])
		}
	}
	return out
}

// MissingTitle names what stands at a pointer that Missing returns or Summary.Missing counts, in words.
func MissingTitle(pointer string) string {
	for _, d := range demands() {
		if d.Any[0] == pointer {
			return d.Title
		}
	}
	return ""
}

// LevelIncomplete says once what the finds of a file lack for the level asked for.
var LevelIncomplete = &notice.Kind{
	Code: "level-incomplete", Severity: notice.Warning, Group: "level", Spec: "7.2",
	Title:  "the log does not yet say what the level asks for",
	Why:    "a blank can mean forgotten, not measured or not known, and nobody can tell later which",
	Help:   "Fill it in, or say why there is nothing to fill in: not noted, not measured, not known, illegible, not applicable. Such a word may stand in the cell itself.",
	Source: "our proposal",
	Before: `"number": "12", "name": "button"`,
	After:  `"number": "12", "name": "button", "absent": {"/materials": "not-known"}`,
}

// lacking returns, as bits, the demands that a find does not meet.
func lacking(f *find.Find) (bits uint64) {
	all := demands()
	for i := range all {
		if !all[i].met(f) {
			bits |= 1 << i
		}
	}
	return bits
}

// levels counts the levels that a find meets, and what it lacks for the level asked for, but for what another
// notice says already.
func (r *run) levels(e *find.Entry, lacking uint64) {
	met := Full
	for i, d := range demands() {
		if lacking&(1<<i) == 0 {
			continue
		}
		met = min(met, d.level-1)
		if d.level <= r.v.options.Level {
			r.v.summary.Missing[d.Any[0]]++
			if !slices.ContainsFunc(d.Any, func(pointer string) bool { return spokenOf(e.Notices, pointer) }) {
				r.lacks[i]++
			}
		}
	}
	for l := Bag; l <= met; l++ {
		r.v.summary.Met[l]++
	}
}

// sayLevel says what the finds lack, once for the file.
func (r *run) sayLevel() {
	var lacks []string
	for i, d := range demands() {
		switch n := r.lacks[i]; {
		case n == 0:
		case n == r.v.summary.Finds:
			lacks = append(lacks, d.Title)
		default:
			lacks = append(lacks, fmt.Sprintf("%s (%s)", d.Title, findsText(n)))
		}
	}
	if len(lacks) > 0 {
		r.sayLate(reportRef, notice.New(LevelIncomplete, "",
			fmt.Sprintf("still missing for level %s: %s", r.v.options.Level, strings.Join(lacks, ", "))))
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
