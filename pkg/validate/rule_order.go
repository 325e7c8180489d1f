package validate

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
)

var orderRules = []*Rule{dateFar, depthFar, nameMisspelt, nameOutOfPlace, finderMissing}

var dateFar = &Rule{
	Kind: kinds.DateFar,
	Log: func(c *Case, log *Roll, say SayOf) {
		odd := log.otherAge()
		for _, sheet := range log.sheets() {
			days := slices.DeleteFunc(slices.Clone(sheet), func(i int) bool { return log.line(i).day == noDay })
			year, named := log.yearOf(days)
			clock, ordered := log.otherClock(days), log.inOrder(days)
			runs := yearRuns{roll: log, finds: days}
			if !named && !ordered && len(clock) == 0 && odd == noDay {
				continue
			}
			for at, i := range days {
				day := int(log.line(i).day)
				if clock[i] {
					say(log.ref(i), "/found/date", clockWords)
				} else if words := runs.words(at); words != "" && ordered {
					say(log.ref(i), "/found/date", words)
				} else if day == odd && (at == 0 || int(log.line(days[at-1]).day) != odd) {
					say(log.ref(i), "/found/date", fmt.Sprintf("it is a day of %d; all other finds are of other times",
						dayOf(day).Year))
				} else if got := dayOf(day).Year; named && got != year && !log.goesOn(days, at) {
					say(log.ref(i), "/found/date", fmt.Sprintf("it is a day of %d on the sheet of %d", got, year))
				}
			}
		}
	},
}

// sheets returns the finds sheet by sheet.
func (r *Roll) sheets() [][]int {
	out := make([][]int, len(r.origins))
	for i := range r.n {
		out[r.line(i).origin] = append(out[r.line(i).origin], i)
	}
	return out
}

// inOrder reports whether the days of some finds mostly go forward, so that one that does not stands out.
func (r *Roll) inOrder(finds []int) bool {
	forward := 0
	for at := 1; at < len(finds); at++ {
		if r.line(finds[at]).day >= r.line(finds[at-1]).day {
			forward++
		}
	}
	return len(finds) >= 4 && 5*forward >= 4*(len(finds)-1)-5
}

// yearRuns are finds in their order, with the run of one year that was asked for last.
type yearRuns struct {
	roll     *Roll
	finds    []int
	from, to int
}

// around returns the finds without a gap that are of the year of one of them. Asked for one after the other, each is
// looked at once.
func (r *yearRuns) around(at int) (from, to int) {
	if at < r.from || at >= r.to {
		year := func(k int) int { return dayOf(int(r.roll.line(r.finds[k]).day)).Year }
		for r.from = at; r.from > 0 && year(r.from-1) == year(at); r.from-- {
		}
		for r.to = at + 1; r.to < len(r.finds) && year(r.to) == year(at); r.to++ {
		}
	}
	return r.from, r.to
}

// words says how a day, on the first find of it, or the year that it is one of, does not fit; empty: it does.
func (r *yearRuns) words(at int) string {
	day := func(k int) int { return int(r.roll.line(r.finds[k]).day) }
	if at > 0 && day(at-1) == day(at) {
		return ""
	}
	to := at + 1
	for to < len(r.finds) && day(to) == day(at) {
		to++
	}
	words, more := r.roll.dayWords(r.finds, at, to), to-at-1
	if from, to := r.around(at); words == "" && to-from > more+1 {
		words = r.roll.dayWords(r.finds, from, to)
	}
	if words != "" && more > 0 {
		words += fmt.Sprintf("; %d more of this day", more)
	}
	return words
}

// dayWords says how the day, or the days, of some finds do not fit between the two before them and the two behind them;
// empty: they do.
func (r *Roll) dayWords(finds []int, from, to int) string {
	n := len(finds)
	if to-from > 1 && 3*(to-from) > n {
		return ""
	}
	var around []int
	for k := max(0, from-2); k < min(n, to+2); k++ {
		if k < from || k >= to {
			around = append(around, int(r.line(finds[k]).day))
		}
	}
	day := int(r.line(finds[from]).day)
	if to == n && from > 0 { // the last of all: exchanged it is the very day of the one before
		if before := int(r.line(finds[from-1]).day); before-day > 20 && turned(day) == before {
			return turnedWords
		}
	}
	if words := r.yearWords(finds, from, to); words != "" {
		return words
	}
	if len(around) < 3 {
		return ""
	}
	if from > 0 && to < n {
		before, behind := int(r.line(finds[from-1]).day), int(r.line(finds[to]).day)
		if before <= behind && behind-before <= 40 && max(before-day, day-behind) > 20 && turnsInto(day, before, behind) {
			return turnedWords
		}
	}
	first, last := slices.Min(around), slices.Max(around)
	if last-first > 200 {
		return ""
	}
	out := max(first-day, day-last)
	switch {
	case out <= 20:
		return ""
	case turnsInto(day, first, last):
		return turnedWords
	case out > 300 && abs(day-first) >= 1461 && abs(abs(day-(first+last)/2)-1462) <= 1+(last-first)/2:
		return clockWords
	case out > 300:
		return fmt.Sprintf("the finds around it are of %s", yearsWords(dayOf(first).Year, dayOf(last).Year))
	}
	return ""
}

// yearWords says that the first or the last finds of all are as those next to them but for one figure of the year.
func (r *Roll) yearWords(finds []int, from, to int) string {
	n := len(finds)
	if n < 6 || from != 0 && to != n || to-from > n-4 {
		return ""
	}
	next, nearest, edge := finds[max(0, from-4):from], from-1, from
	if from == 0 {
		next, nearest, edge = finds[to:to+4], to, to-1
	}
	own := dayOf(int(r.line(finds[edge]).day))
	year := dayOf(int(r.line(finds[nearest]).day)).Year
	if slices.ContainsFunc(next, func(i int) bool { return dayOf(int(r.line(i).day)).Year != year }) ||
		r.line(finds[from]).day != r.line(finds[to-1]).day && (own.Year < year) == (from == 0) {
		return ""
	}
	moved := own
	moved.Year = year
	other := 0 // figures of the year that differ
	for a, b := own.Year, year; a > 0 || b > 0; a, b = a/10, b/10 {
		if a%10 != b%10 {
			other++
		}
	}
	if abs(own.Year-year) < 2 || other != 1 || !moved.IsValid() ||
		abs(dayNumber(moved)-int(r.line(finds[nearest]).day)) > 60 {
		return ""
	}
	return fmt.Sprintf("it is of %d, the finds next to it of %d; one figure of the year is another", own.Year, year)
}

const clockWords = "it lies 1,462 days off the other finds, as between the two date systems of spreadsheets"

// otherClock returns the finds of a sheet, fewer than half of them, that lie more than 1,000 days from most and,
// with 1,462 days added or taken away, among them.
func (r *Roll) otherClock(finds []int) map[int]bool {
	if len(finds) < 5 {
		return nil
	}
	days := make([]int, len(finds))
	for k, i := range finds {
		days[k] = int(r.line(i).day)
	}
	slices.Sort(days)
	middle := days[len(days)/2]
	most := slices.DeleteFunc(slices.Clone(days), func(d int) bool { return abs(d-middle) > 1000 })
	first, last := most[0], most[len(most)-1]
	if slices.ContainsFunc(days, func(d int) bool { return d < first && d >= first-300 || d > last && d <= last+300 }) {
		return nil // the log goes on over the years
	}
	out := map[int]bool{}
	for _, i := range finds {
		d := int(r.line(i).day)
		for _, moved := range [...]int{d + 1462, d - 1462} {
			if abs(d-middle) > 1000 && moved >= first-30 && moved <= last+30 {
				out[i] = true
			}
		}
	}
	if 2*len(out) >= len(finds) {
		return nil
	}
	return out
}

// otherAge returns the day, of at least five finds, that lies more than 50 years from all others, which lie within ten
// years and are the most; noDay: there is none.
func (r *Roll) otherAge() int {
	n, firsts, lasts := 0, 0, 0
	first, second, last, before := math.MaxInt, math.MaxInt, math.MinInt, math.MinInt // two earliest and two latest days
	for i := range r.n {
		if r.line(i).day == noDay {
			continue
		}
		d := int(r.line(i).day)
		n++
		switch {
		case d < first:
			first, second, firsts = d, first, 1
		case d == first:
			firsts++
		case d < second:
			second = d
		}
		switch {
		case d > last:
			last, before, lasts = d, last, 1
		case d == last:
			lasts++
		case d > before:
			before = d
		}
	}
	const year = 365
	switch {
	case n < 5 || first == last:
		return noDay
	case second-first > 50*year && last-second < 10*year && 2*firsts < n:
		return first
	case last-before > 50*year && before-first < 10*year && 2*lasts < n:
		return last
	}
	return noDay
}

const turnedWords = "the finds around it are of other months; with day and month exchanged it fits between them"

// turnsInto reports whether a day with day and month exchanged lies between two others, or within a week of them.
func turnsInto(day, first, last int) bool {
	n := turned(day)
	return n != noDay && n >= first-7 && n <= last+7
}

// turned returns a day with day and month exchanged; noDay where that is none, or the same.
func turned(day int) int {
	d := dayOf(day)
	other := d
	other.Month, other.Day = d.Day, d.Month
	if other == d || !other.IsValid() {
		return noDay
	}
	return dayNumber(other)
}

func abs(n int) int { return max(n, -n) }

func yearsWords(from, to int) string {
	if from == to {
		return strconv.Itoa(from)
	}
	return fmt.Sprintf("%d and %d", from, to)
}

const leastFar = 45 // cm: a depth below which none stands out

var depthFar = &Rule{
	Kind: kinds.DepthFar,
	Log: func(c *Case, log *Roll, say SayOf) {
		var depths []float64
		for i := range log.n {
			if d := log.line(i).depth; d > 0 {
				depths = append(depths, float64(d))
			}
		}
		if len(depths) < max(c.Settings.LogDepths, 3) {
			return
		}
		slices.Sort(depths)
		middle := depths[len(depths)/2]
		for i := range log.n {
			l := log.line(i)
			switch d := float64(l.depth); {
			case d <= 0:
			case d >= leastFar && d >= 3.5*middle && l.flags&depthTold == 0 && d >= 1.5*below(depths, d):
				say(log.ref(i), "/depth",
					fmt.Sprintf("it is %s; half of the finds lie no deeper than %s. Is this cell in another unit?",
						l.inUnit(d), l.inUnit(middle)))
			case d < 1 && middle >= 5 && d*100 >= middle/4 && d*100 <= middle*4:
				say(log.ref(i), "/depth", fmt.Sprintf("it is %s cm; was it written in metres?", figure(d)))
			}
		}
	},
}

// inUnit writes centimetres in the unit in which the depth of a find was written.
func (l *line) inUnit(cm float64) string {
	if l.flags&inInches != 0 {
		return inUnitOf("in", cm)
	}
	return inUnitOf("cm", cm)
}

// below returns the greatest of sorted figures that is below one of them; zero: there is none.
func below(sorted []float64, d float64) float64 {
	at, _ := slices.BinarySearch(sorted, d)
	if at == 0 {
		return 0
	}
	return sorted[at-1]
}

// acrossNames gathers the names of fields and finders, each sort by itself, and has them judged at the end.
func acrossNames(judge func(c *Case, counts map[string]map[string]*named, say SayOf)) Across {
	counts := map[string]map[string]*named{}
	note := func(pointer, name string, ref Ref) {
		if name == "" {
			return
		}
		if counts[pointer] == nil {
			counts[pointer] = map[string]*named{}
		}
		n := counts[pointer][name]
		if n == nil {
			if len(counts[pointer]) >= 1000 {
				return
			}
			n = &named{}
			counts[pointer][strings.Clone(name)] = n
		}
		if n.count++; len(n.refs) < 3 {
			n.refs = append(n.refs, ref)
		}
	}
	return Across{
		Find: func(c *Case, ref Ref, _ Say) {
			if p := c.Permission; p != nil && p.Place != nil {
				note("/permission", p.Place.Name, ref)
			}
			if p := c.Find.Place; p != nil {
				note("/place/name", p.Name, ref)
			}
			if p := c.Report.Person(c.Find.Finder); p != nil {
				note("/finder", personName(p), ref)
			}
		},
		End: func(c *Case, say SayOf) { judge(c, counts, say) },
	}
}

var nameMisspelt = &Rule{
	Kind: kinds.NameMisspelt,
	Across: func() Across {
		return acrossNames(func(c *Case, counts map[string]map[string]*named, say SayOf) {
			for _, pointer := range sortedKeys(counts) {
				names := counts[pointer]
				for _, name := range sortedKeys(names) {
					if near, _ := unlisted(c.Report, name); pointer == "/permission" && near {
						say(names[name].refs[0], pointer,
							"it differs by a letter or two from the name of a permission that is listed; is the same meant?")
						continue
					}
					if letterAlone(name, names) && pointer != "/finder" {
						for _, ref := range names[name].refs {
							say(ref, pointer, fmt.Sprintf("%q is a letter, the other fields have names; which of them is it?", name))
						}
					} else if n := names[name]; n.count <= 3 && n.misspelt(name, names) {
						for _, ref := range n.refs {
							say(ref, pointer, "it differs by a letter or two from a name that more finds bear; is the same meant?")
						}
					}
				}
			}
		})
	},
}

var nameOutOfPlace = &Rule{
	Kind: kinds.NameOutOfPlace,
	Across: func() Across {
		return acrossNames(func(c *Case, counts map[string]map[string]*named, say SayOf) {
			for _, pointer := range sortedKeys(counts) {
				for _, name := range sortedKeys(counts[pointer]) {
					words := ""
					if other := otherColumn(pointer, name, counts); other != "" {
						words = "in other rows this is the name of " + other + "; are the cells exchanged?"
					} else if near, listed := unlisted(c.Report, name); pointer == "/permission" && !near && listed >= 2 &&
						len(counts[pointer]) <= listed+1 {
						words = "the log lists its permissions, and this field is not among them"
					}
					for _, ref := range counts[pointer][name].refs {
						if words != "" {
							say(ref, pointer, words)
						}
					}
				}
			}
		})
	},
}

// otherColumn says what a name is that rarely stands at a pointer and more often elsewhere; empty: it does not.
func otherColumn(pointer, name string, counts map[string]map[string]*named) string {
	of := func(pointer string) int {
		if n := counts[pointer][name]; n != nil {
			return n.count
		}
		return 0
	}
	fields, finders := max(of("/permission"), of("/place/name")), of("/finder")
	switch {
	case pointer == "/finder" && finders <= 3 && fields >= 3*finders && len(counts[pointer]) > 1:
		return "a field"
	case pointer != "/finder" && fields <= 3 && finders >= 3*fields && len(counts[pointer]) > 1:
		return "a finder"
	}
	return ""
}

// named is how often a name came and where it came first.
type named struct {
	count int
	refs  []Ref
}

// letterAlone reports whether a name is a letter or two, as of a key, while all others are names.
func letterAlone(name string, names map[string]*named) bool {
	for other := range names {
		if other != name && utf8.RuneCountInString(other) < 4 {
			return false
		}
	}
	return utf8.RuneCountInString(name) <= 2 && len(names) > 2
}

func personName(p *find.Person) string {
	if p.Name != "" {
		return p.Name
	}
	return p.Handle
}

// unlisted returns of how many permissions more than the name is known, where it is not of the one that is named; near:
// that name is near to the name of one of them.
func unlisted(r *find.Report, name string) (near bool, others int) {
	listed := func(p *find.Permission) bool {
		return p.GrantedBy != "" || p.Basis != nil || p.ValidFrom != "" || p.Terms != "" || p.Area != nil ||
			len(p.Columns) > 0
	}
	for i := range r.Permissions {
		p := &r.Permissions[i]
		switch {
		case p.Place == nil || !listed(p):
		case p.Place.Name == name:
			return false, 0
		default:
			others++
			near = near || nearName(strings.ToLower(name), strings.ToLower(p.Place.Name))
		}
	}
	return near, others
}

// misspelt reports whether a name is near to one that comes at least twice as often.
func (n *named) misspelt(name string, names map[string]*named) bool {
	short := strings.ToLower(name)
	for other, o := range names {
		if other != name && o.count >= 2*n.count && nearName(short, strings.ToLower(other)) {
			return true
		}
	}
	return false
}

// nearName reports whether two names of five letters and more, with the same figures, differ by an edit, or by two
// where the word that differs has eight letters, or two letters changed places.
func nearName(short, long string) bool {
	n := len([]rune(short))
	if n < 5 || figuresOf(short) != figuresOf(long) || math.Abs(float64(len(short)-len(long))) > 4 {
		return false
	}
	near := func(a, b string) bool {
		d := vocabulary.EditDistance(a, b)
		return d == 1 || d == 2 && (len([]rune(a)) >= 8 || sameLetters(a, b))
	}
	a, b := strings.Fields(short), strings.Fields(long)
	if len(a) != len(b) {
		return near(short, long)
	}
	differ := -1
	for i := range a { // of several words one differs: North Field is no slip for South Field
		if a[i] != b[i] && differ >= 0 {
			return false
		} else if a[i] != b[i] {
			differ = i
		}
	}
	return differ >= 0 && near(a[differ], b[differ])
}

func figuresOf(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, s)
}

// sameLetters reports whether two words are made of the same letters, as where two of them changed places.
func sameLetters(a, b string) bool {
	x, y := []rune(a), []rune(b)
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

var finderMissing = &Rule{
	Kind: kinds.FinderMissing,
	Across: func() Across {
		finders := map[string]bool{}
		var without []Ref
		blank, all := 0, 0
		return Across{
			Find: func(c *Case, ref Ref, _ Say) {
				all++
				if f := c.Find; f.Finder != "" {
					if len(finders) < 2 {
						finders[strings.Clone(f.Finder)] = true
					}
				} else if !excusedBy(f, "/finder") && !slices.ContainsFunc(c.told, func(n notice.Notice) bool {
					return n.Kind.Code == kinds.FindersTwo.Code
				}) {
					if blank++; len(without) < 100 {
						without = append(without, ref)
					}
				}
			},
			End: func(c *Case, say SayOf) {
				if len(finders) < 2 || 5*blank > all {
					return
				}
				for _, ref := range without {
					say(ref, "/finder", "it has no finder, and the log has more than one")
				}
			},
		}
	},
}
