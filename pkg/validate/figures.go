package validate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// least returns the smallest value that a quantity can honestly have: its lower bound less one
// step of what was stated. False where there is no lower bound.
func least(q *find.Quantity) (float64, bool) {
	if q == nil || !q.Min.Known() {
		return 0, false
	}
	return math.Max(0, q.Min.Float()-q.Resolution.Float()), true
}

// most returns the largest value that a quantity can honestly have: its upper bound and one step of
// what was stated. False where there is no upper bound.
func most(q *find.Quantity) (float64, bool) {
	if q == nil || !q.Max.Known() {
		return 0, false
	}
	return q.Max.Float() + q.Resolution.Float(), true
}

// middle returns the best single value of a quantity with two bounds.
func middle(q *find.Quantity) (float64, bool) {
	switch {
	case q == nil || !q.Min.Known() || !q.Max.Known():
		return 0, false
	case q.Best.Known():
		return q.Best.Float(), true
	}
	return (q.Min.Float() + q.Max.Float()) / 2, true
}

// figure writes a computed figure with no more than two decimals.
func figure(x float64) string {
	s := fmt.Sprintf("%.2f", x)
	if x >= 100 {
		s = fmt.Sprintf("%.0f", x)
	}
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// isLot reports whether the record stands for several objects, so that sizes and weights are not those of one.
func isLot(f *find.Find) bool {
	return f.Kind == "lot" || f.Count != nil && f.Count.Max.Known() && f.Count.Max.Int() > 1 ||
		f.Count != nil && f.Count.Min.Known() && f.Count.Min.Int() > 1
}

// classOf returns the code of the class of object, if one is given and not called unlikely.
func classOf(f *find.Find) string {
	if f.ObjectClass == nil || f.ObjectClass.Certainty == "unlikely" {
		return ""
	}
	return f.ObjectClass.Code
}

// material returns the code of the main material, if one is given and not called unlikely.
func material(f *find.Find) string {
	if len(f.Materials) == 0 || f.Materials[0].Certainty == "unlikely" {
		return ""
	}
	return f.Materials[0].Code
}

// isWhole reports whether nothing is said to be missing or broken.
func isWhole(f *find.Find) bool {
	if f.Kind == "part" {
		return false
	}
	if f.Condition == nil {
		return true
	}
	if len(f.Condition.Missing) > 0 {
		return false
	}
	switch f.Condition.Completeness {
	case nil:
		return true
	default:
		return f.Condition.Completeness.Is("complete", "nearly-complete", "unknown")
	}
}

// isFragment reports whether the record is of a piece of an object.
func isFragment(f *find.Find) bool {
	return f.Condition != nil && f.Condition.Completeness.Is("fragment", "incomplete")
}

// hasTrace reports whether one of the traces is given.
func hasTrace(f *find.Find, codes ...string) bool {
	return slices.ContainsFunc(f.Traces, func(t find.Trace) bool { return t.Is(codes...) && t.Certainty != "unlikely" })
}

// years is the span of a dating in astronomical years; a side that is not known is open.
type years struct {
	from, to       int
	hasFrom, hasTo bool
	approximate    bool
	exact          bool // one year and no more is stated
}

// yearsOf returns the years of a dating: those of its date, else the two computed members.
func yearsOf(d *find.Dating) years {
	var y years
	if d == nil {
		return y
	}
	if d.Date != "" {
		if date := dateOf(d.Date); date.err == nil {
			return date.years
		}
	}
	if d.Earliest.Known() {
		y.from, y.hasFrom = d.Earliest.Int(), true
	}
	if d.Latest.Known() {
		y.to, y.hasTo = d.Latest.Int(), true
	}
	y.exact = y.hasFrom && y.hasTo && y.from == y.to
	return y
}

// words writes the years as people say them; those of a dating that has any.
func (y *years) words() string {
	switch {
	case !y.hasFrom:
		return "until " + yearText(y.to)
	case !y.hasTo:
		return "from " + yearText(y.from)
	case y.from == y.to:
		return yearText(y.from)
	}
	return yearText(y.from) + " to " + yearText(y.to)
}

// yearText writes an astronomical year as people say it.
func yearText(y int) string {
	if y <= 0 {
		return fmt.Sprintf("%d BC", 1-y)
	}
	return fmt.Sprint(y)
}

// ofMaking reports whether a dating is of the making of the object, as one that does not say is taken.
func ofMaking(d *find.Dating) bool { return d != nil && (d.Event == nil || d.Event.Is("made")) }

// eachDating calls visit for the dating and the other ones with the pointer of each.
func eachDating(f *find.Find, visit func(d *find.Dating, pointer string)) {
	if f.Dating != nil {
		visit(f.Dating, "/dating")
	}
	for i := range f.OtherDatings {
		visit(&f.OtherDatings[i], fmt.Sprintf("/otherDatings/%d", i))
	}
}
