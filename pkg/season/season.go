// Package season works a season out of logs: what was found and how long it took by month, outing, field, material,
// age and class, how deep things lay, what the detector guessed beside what the tape said, and what is still open.
//
//	s, err := season.Of(ctx, []string{"season.xlsx"}, pipeline.Options{}, season.Options{})
//	err = s.HTML(w)
//
// Of walks what package share gives to an audience and nothing else, so that what a reader may not see counts only
// as far as the table of sharing lets it, and no figure says how much is left out. Without an audience it is for
// showing: a public copy, with months, hours, depths in bands and sums of guesses of the finds that it shows.
// Figures that rest on intervals take their middle; an interval with an open end is left out and counted.
//
// This package is unstable: it may change between any two versions.
package season

import (
	"cmp"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
)

// A Season is what logs tell together. Lengths are in cm; Unit is the one that the logs speak in.
type Season struct {
	Version   string   `json:"findslipSeason"`
	Tool      string   `json:"tool,omitempty"`
	Title     string   `json:"title,omitempty"`
	Audience  string   `json:"audience"`
	Language  string   `json:"language"`
	Unit      string   `json:"unit"` // of depths as people are shown them: cm or in
	First     string   `json:"first,omitempty"`
	Last      string   `json:"last,omitempty"`
	Totals    Totals   `json:"totals"`
	Months    []Month  `json:"months"`
	Outings   []Outing `json:"outings"`
	Fields    []Count  `json:"fields"`
	Materials []Count  `json:"materials"`
	Periods   []Count  `json:"periods"`
	Classes   []Count  `json:"classes"`
	Finders   []Count  `json:"finders"`
	Depth     Depth    `json:"depth"`
	Guesses   []Guess  `json:"guesses"`
	Bands     []Band   `json:"depthBands,omitempty"` // in place of depths, to show
	Trust     []Trust  `json:"detectors,omitempty"`  // in place of guesses, to show
	GuessOpen int      `json:"guessesLeftOut"`       // pairs of which a side has an open end
	GuessOnly int      `json:"guessesBesideUnsaid"`  // pairs of which it is not said how the second depth is known
	Best      []Best   `json:"best"`
	chosen    bool     // the best are those that were asked for
	Open      []Open   `json:"open"`

	plans []plan
}

// Totals are the figures of the whole.
type Totals struct {
	Finds       int     `json:"finds"`
	Objects     int     `json:"objects"` // at least: a lot counts by its lower bound
	Outings     int     `json:"outings"`
	Nothing     int     `json:"outingsWithoutFinds"`
	Hours       float64 `json:"hours"`
	TimedOut    int     `json:"outingsWithHours"`
	TimedFinds  int     `json:"findsOfOutingsWithHours"`
	Unread      int     `json:"outingsWithHoursNotUnderstood,omitzero"`
	FindsAnHour float64 `json:"findsAnHour,omitempty"` // finds of outings with hours, by those hours
	Undated     int     `json:"findsWithoutMonth"`
}

// Month is one month of the calendar.
type Month struct {
	Month   string  `json:"month"` // 2026-03; to show, where the public is told the quarter, 2026-01/2026-03
	Finds   int     `json:"finds"`
	Outings int     `json:"outings"`
	Hours   float64 `json:"hours"`
	Nothing int     `json:"outingsWithoutFinds,omitzero"` // to show, where no outing is listed
}

// Outing is one spell of detecting. One that no line of its own was written for is made of the finds of one day on
// one field.
type Outing struct {
	Day     string  `json:"day,omitempty"`
	Field   string  `json:"field,omitempty"`
	Hours   float64 `json:"hours,omitempty"` // 0: not noted
	Finds   int     `json:"finds"`
	Nothing bool    `json:"nothingFound"`
	Noted   bool    `json:"noted"` // as an outing, not only by its finds
}

// Count is how many finds have something in common. Name is empty where that was not said.
type Count struct {
	Name    string `json:"name"`
	Finds   int    `json:"finds"`
	Objects int    `json:"objects"`
	Unsure  int    `json:"inDoubt,omitzero"` // finds whose age is doubted

	order float64 // of ages
}

// Open is something that waits for somebody.
type Open struct {
	Kind string `json:"kind"`           // due, lent, unidentified
	Find string `json:"find,omitempty"` // its number, else its name; none to show
	Name string `json:"name,omitempty"`
	Text string `json:"text,omitempty"`
	Day  string `json:"day,omitempty"`
	Past bool   `json:"past,omitempty"`
}

// one is a find with the report that it stands in.
type one struct {
	*find.Find
	report *find.Report
	log    int
	field  string // its name, made up where the report has none
}

// Make works a season out of reports. A find that is in two of them under one id counts once; a withdrawn one
// does not count.
func Make(reports []*find.Report, o Options) *Season {
	s := &Season{Version: "1", Tool: o.Tool, Title: render.Clean(o.Title), Audience: string(o.Audience),
		Language: cmp.Or(o.Language, "en"), Months: []Month{}, Outings: []Outing{}, Guesses: []Guess{}, Best: []Best{},
		Open: []Open{}}
	w := &work{Season: s, options: o, words: wordsOf(s.Language)}
	w.gather(reports)
	w.unit()
	w.count()
	w.time(reports)
	w.depths()
	w.guesses()
	w.best()
	w.open()
	if o.Places {
		w.draw(reports)
	}
	switch o.Audience {
	case Show:
		w.anonymous()
	case share.Public: // a month of few finds is nearly a day
		s.Months, s.Outings, s.Totals.Undated, s.Totals.Outings = []Month{}, []Outing{}, 0, 0
		s.First, s.Last = "", ""
		for _, f := range w.finds {
			if f.Found == nil {
				continue
			}
			for day := range strings.SplitSeq(f.Found.Date, "/") { // a quarter has two
				if year := day[:min(len(day), 4)]; len(year) == 4 && year > "0" && year < ":" {
					s.First, s.Last = min(cmp.Or(s.First, year), year), max(s.Last, year)
				}
			}
		}
	}
	return s
}

// work is a season while it is made.
type work struct {
	*Season
	options Options
	words   words
	finds   []one
	fields  map[string]string // name of a field by log and permission; several of one name with their finders
}

func (w *work) gather(reports []*find.Report) {
	seen := map[string]int{} // one find in two logs counts once; what stands twice in one log is two
	w.fields = map[string]string{}
	for i, r := range reports {
		for _, f := range r.Finds {
			same := f.ID + "\x00" + f.Name + "\x00" + dayOf(f)
			if f.Retracted != nil || f.ID != "" && seen[same] > 0 && seen[same] != i+1 || !w.inYear(f) {
				continue
			}
			seen[same] = i + 1
			w.finds = append(w.finds, one{Find: f, report: r, log: i})
		}
	}
	// Copies come in an order of their own: fields without a name are numbered, and finds listed, by day.
	slices.SortStableFunc(w.finds, func(a, b one) int {
		return cmp.Or(cmp.Compare(dayOf(a.Find), dayOf(b.Find)), compareNumbers(a.Number, b.Number),
			cmp.Compare(a.Name, b.Name))
	})
	w.tellApart(reports)
	for i := range w.finds {
		f := &w.finds[i]
		f.field = w.fieldOf(f.log, f.report, f.Permission)
		if f.Permission == "" && f.Place != nil {
			f.field = f.Place.Name
		}
	}
}

// tellApart puts who searched them behind fields of one report that have one name: two people's land is two.
func (w *work) tellApart(reports []*find.Report) {
	for i, r := range reports {
		for id, name := range share.LandNames(r) {
			w.fields[itoa(i)+"/"+id] = render.Clean(name)
		}
	}
}

// fieldOf names a field: as its finder does, else by a number of its own.
func (w *work) fieldOf(log int, r *find.Report, permission string) string {
	if permission == "" {
		return ""
	}
	key := itoa(log) + "/" + permission
	if name := w.fields[key]; name != "" {
		return name
	}
	name := ""
	if p := r.Permission(permission); p != nil && p.Place != nil {
		name = render.Clean(p.Place.Name)
	}
	if name == "" {
		n := 1
		for _, other := range w.fields {
			if strings.HasPrefix(other, w.words.say("field")+" ") {
				n++
			}
		}
		name = w.words.say("field") + " " + itoa(n)
	}
	w.fields[key] = name
	return name
}

func (w *work) inYear(f *find.Find) bool {
	return w.options.Year == "" || f.Found != nil && strings.HasPrefix(f.Found.Date, w.options.Year)
}

// label is how the owner knows a find.
func label(f *find.Find) string { return render.Clean(cmp.Or(f.Number, f.Name)) }

// compareNumbers compares the numbers of bags, 9 before 10.
func compareNumbers(a, b string) int {
	return cmp.Or(cmp.Compare(len(strings.TrimLeft(a, "0")), len(strings.TrimLeft(b, "0"))), cmp.Compare(a, b))
}

// dayOf is the day, month or year of finding, without marks of doubt.
func dayOf(f *find.Find) string {
	if f.Found == nil {
		return ""
	}
	first, last, open := strings.Cut(strings.TrimRight(f.Found.Date, "~?%"), "/")
	if open && first != last {
		if len(first) >= 7 && len(last) >= 7 && first[:7] == last[:7] {
			return first[:7]
		}
		return ""
	}
	return first
}

// monthOf is the month of a day, empty where that is not known.
func monthOf(day string) string {
	if len(day) < 7 || day[4] != '-' || day[5:7] < "01" || day[5:7] > "12" {
		return ""
	}
	return day[:7]
}
