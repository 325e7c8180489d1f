package season

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/vocabulary"
)

func itoa(n int) string { return strconv.Itoa(n) }

// tally counts finds by names.
type tally struct{ list []Count }

func (t *tally) add(name string, order float64, objects int) *Count {
	i := slices.IndexFunc(t.list, func(c Count) bool { return c.Name == name })
	if i < 0 {
		i = len(t.list)
		t.list = append(t.list, Count{Name: name, order: order})
	}
	t.list[i].Finds++
	t.list[i].Objects += objects
	t.list[i].order = min(t.list[i].order, order)
	return &t.list[i]
}

// sorted are the counts, ages the oldest first, most first, those of which nothing was said last.
func (t *tally) sorted() []Count {
	slices.SortStableFunc(t.list, func(a, b Count) int {
		return cmp.Or(cmp.Compare(b2i(a.Name == ""), b2i(b.Name == "")), cmp.Compare(a.order, b.order),
			cmp.Compare(b.Finds, a.Finds), cmp.Compare(a.Name, b.Name))
	})
	return append([]Count{}, t.list...)
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (w *work) count() {
	var fields, materials, periods, classes, finders tally
	for _, f := range w.finds {
		n := objects(f.Find)
		w.Totals.Finds++
		w.Totals.Objects += n
		fields.add(f.field, 0, n)
		materials.add(w.material(f.Find), 0, n)
		age, order, unsure := w.age(f.Find)
		periods.add(age, order, n).Unsure += b2i(unsure)
		classes.add(w.class(f.Find), 0, n)
		finders.add(w.finder(f), 0, n)
	}
	w.Fields, w.Materials, w.Classes = fields.sorted(), materials.sorted(), classes.sorted()
	w.Periods, w.Finders = periods.sorted(), finders.sorted()
}

// objects is how many objects a find surely stands for; a part of another find stands for none.
func objects(f *find.Find) int {
	switch {
	case f.PartOf != "":
		return 0
	case f.Count.HasValue() && f.Count.Min.Known() && f.Count.Min.Float() < 1e6:
		return max(f.Count.Min.Int(), 0)
	}
	return 1
}

// material names what a find is mainly made of.
func (w *work) material(f *find.Find) string {
	if len(f.Materials) == 0 {
		return ""
	}
	if c, ok := vocabulary.Get("material").Concept(f.Materials[0].Code); ok {
		return c.Label(w.Language)
	}
	return render.Clean(f.Materials[0].Text())
}

// class names the class of object: the one that is given, else the only one that the name of the find names.
func (w *work) class(f *find.Find) string {
	if code := classCode(f); code != "" {
		if c, ok := vocabulary.Get("object-class").Concept(code); ok {
			return c.Label(w.Language)
		}
	}
	if f.ObjectClass != nil {
		return render.Clean(f.ObjectClass.Text())
	}
	return ""
}

func classCode(f *find.Find) string {
	if f.ObjectClass != nil {
		return f.ObjectClass.Code
	}
	scheme := vocabulary.Get("object-class")
	if m, ok := scheme.Match(f.Name); ok {
		return m.Code
	}
	if list, _ := scheme.MatchAll(f.Name); len(list) == 1 {
		return list[0].Code
	}
	return ""
}

// age names how old a find is: the part of one scale that the middle of its years falls into, else the period as it was
// named. Order is the first year of that part; unsure is a dating that its finder doubts.
func (w *work) age(f *find.Find) (name string, order float64, unsure bool) {
	d := f.Dating
	if d == nil {
		return "", math.Inf(1), false
	}
	name, order = w.sureAge(d)
	certain, marked := strings.CutSuffix(name, "?")
	unsure = marked || d.Certainty != "" && d.Certainty != "certain" || strings.ContainsAny(d.Date, "?%")
	return certain, order, unsure && certain != ""
}

// toldAge is the age of one find by itself: as it was written, else in the years that were read, else as it is counted.
func (w *work) toldAge(f *find.Find) string {
	if f.Dating == nil {
		return ""
	}
	name, _, unsure := w.age(f)
	if unsure {
		name += "?"
	}
	return cmp.Or(render.Clean(f.Dating.Verbatim), share.Years(render.Clean(f.Dating.Date), w.Language), name)
}

// widest is how many years an age may span to have a place on the scale, at its middle.
const widest = 500

func (w *work) sureAge(d *find.Dating) (name string, order float64) {
	from, to := d.Earliest.Float(), d.Latest.Float()
	if !d.Earliest.Known() || !d.Latest.Known() || from > to || to-from >= widest {
		if d.Period != nil && d.Period.Label != "" {
			return render.Clean(d.Period.Label), math.MaxFloat64
		}
		return w.ownWords(d), math.MaxFloat64
	}
	middle := (from + to) / 2
	if middle < 1 {
		last := math.Floor(-middle/1000) * 1000
		return w.years(-last-999, -last), -last - 999
	}
	wide := 100.0 // the 17th century is 1601 to 1700 and the 1600s are 1600 to 1699: both are one line
	if middle < 1500 {
		wide = widest
	}
	start := math.Floor(middle/wide) * wide
	return w.years(max(start, 1), start+wide-1), start // there is no year 0 in the count of the calendar
}

// ownWords are what was written of an age, for whoever sees places too; a copy says what it may in years and periods.
func (w *work) ownWords(d *find.Dating) string {
	if w.options.Places {
		return render.Clean(d.Verbatim)
	}
	return ""
}

// years puts a part of the scale.
func (w *work) years(from, to float64) string {
	edtf := func(year int) string { return fmt.Sprintf("%0*d", 4+b2i(year < 0), year) }
	return share.Years(edtf(int(from))+"/"+edtf(int(to)), w.Language)
}

// finder names who found it, as the report lets them be named.
func (w *work) finder(f one) string {
	if f.Finder == "" {
		return ""
	}
	if p := f.report.Person(f.Finder); p != nil {
		return render.Clean(cmp.Or(p.Handle, p.Name))
	}
	return ""
}

// unit is the unit that most depths were stated in.
func (w *work) unit() {
	inches, all := 0, 0
	for _, f := range w.finds {
		if f.Depth != nil && f.Depth.Said != "" {
			all++
			inches += b2i(f.Depth.Said == "in" || f.Depth.Said == "ft")
		}
	}
	w.Unit = "cm"
	if 2*inches > all {
		w.Unit = "in"
	}
}

// outing is an outing while finds are counted to it.
type outing struct {
	Outing
	log        int
	id         string
	permission string
	unread     bool // hours are noted of it in a way that is not understood
}

// time counts by outing and month. A find belongs to the outing that it names, else to the only one of its day and
// field, else to one that is made of its day and field.
func (w *work) time(reports []*find.Report) {
	list := w.noted(reports)
	first := len(list)
	timedFinds := 0
	made := map[string]int{} // outings of finds that name none, by log, day and field
	months := map[string]*Month{}
	month := func(day string) *Month {
		m := monthOf(day)
		if m == "" {
			return &Month{}
		}
		if months[m] == nil {
			months[m] = &Month{Month: m}
		}
		return months[m]
	}
	for _, f := range w.finds {
		day := dayOf(f.Find)
		month(day).Finds++
		w.Totals.Undated += b2i(monthOf(day) == "")
		w.span(day)
		i := outingOf(list[:first], f)
		if i < 0 && len(day) == 10 {
			key, known := itoa(f.log)+" "+day+" "+f.field, false
			if i, known = made[key]; !known {
				i = len(list)
				made[key], list = i, append(list, outing{Outing: Outing{Day: day, Field: f.field}, log: f.log})
			}
		}
		if i >= 0 {
			list[i].Finds++
			timedFinds += b2i(list[i].Hours > 0)
			list[i].unread = list[i].Hours == 0 && (list[i].unread || f.column(heading.TripHours) != "")
		}
	}
	w.outings(list, month)
	w.Totals.TimedFinds = timedFinds
	if w.Totals.Hours > 0 {
		w.Totals.FindsAnHour = hundredth(float64(timedFinds) / w.Totals.Hours)
	}
	w.Months = calendar(months)
}

// outings adds outings to the totals and to their months.
func (w *work) outings(list []outing, month func(day string) *Month) {
	for _, o := range list {
		o.Nothing = o.Finds == 0
		if o.Nothing && w.held(o) {
			continue
		}
		w.Totals.Outings++
		w.Totals.Nothing += b2i(o.Nothing)
		w.Totals.Hours += o.Hours
		w.Totals.TimedOut += b2i(o.Hours > 0)
		w.Totals.Unread += b2i(o.unread)
		m := month(o.Day)
		m.Outings++
		m.Nothing += b2i(o.Nothing && w.options.Audience == Show)
		m.Hours = hundredth(m.Hours + o.Hours)
		w.span(o.Day)
		w.Outings = append(w.Outings, o.Outing)
	}
	w.Totals.Hours = hundredth(w.Totals.Hours)
	slices.SortStableFunc(w.Outings, func(a, b Outing) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Field, b.Field))
	})
}

// tripOf is what of an outing a column of a sheet of finds says by its heading, which every find of the sheet has;
// empty: nothing.
func tripOf(name string) string { return tripFields.Of(memo.Key[struct{}]{Text: name}) }

var tripFields = memo.New(func(k memo.Key[struct{}]) (field string) {
	for _, m := range heading.All(k.Text) {
		switch m.Field {
		case heading.TripModel, heading.TripSetting, heading.TripHours:
			field = cmp.Or(field, m.Field)
		}
	}
	return field
})

// column is what a column of the sheet says of the outing of a find; behind a ditto, what stood above.
func (f one) column(field string) string { return columnOf(f.Find, field) }

func columnOf(f *find.Find, field string) string {
	for name, text := range f.Columns {
		if tripOf(name) == field {
			return render.Clean(strings.TrimSpace(text[strings.LastIndexByte(text, ';')+1:]))
		}
	}
	return ""
}

// trips makes outings of the finds of a sheet that notes beside each how long its day took. What is noted twice for one
// day on one field is taken once; where two figures stand, nobody knows whether they are two outings.
func trips(r *find.Report) {
	at, says := map[string]int{}, map[string][]float64{}
	key := func(f *find.Find) string {
		if day := dayOf(f); len(day) == 10 && f.Outing == "" {
			return day + " " + f.Permission + " " + f.Finder
		}
		return ""
	}
	clocks := slices.ContainsFunc(r.Finds, func(f *find.Find) bool {
		_, sure := betweenClocks(columnOf(f, heading.TripHours))
		return sure
	})
	for _, f := range r.Finds {
		hours := hoursIn(columnOf(f, heading.TripHours), clocks)
		if hours > 0 && hours <= 24 && key(f) != "" && !slices.Contains(says[key(f)], hours) {
			says[key(f)] = append(says[key(f)], hours)
		}
	}
	for _, f := range r.Finds {
		if len(says[key(f)]) != 1 {
			continue
		}
		i, made := at[key(f)]
		if !made {
			i = len(r.Outings)
			at[key(f)] = i
			o := find.Outing{ID: "outing-of-row-" + itoa(i+1), Date: dayOf(f), Permission: f.Permission,
				Hours: find.Float(says[key(f)][0])}
			r.Outings = append(r.Outings, o)
		}
		f.Outing = r.Outings[i].ID
	}
}

// hoursIn reads 2, 2.5, 2,5 h and 2:30, and in a column of clock times 9.30-12.30 and 1 to 4; 0 for anything else.
func hoursIn(text string, clocks bool) float64 {
	if hours, sure := betweenClocks(text); sure || clocks && hours > 0 {
		return hours
	}
	text = strings.TrimRightFunc(text, func(r rune) bool { return r == '.' || r == ' ' || unicode.IsLetter(r) })
	if whole, minutes, ok := strings.Cut(strings.Replace(text, "h", ":", 1), ":"); ok {
		return hundredth(float64(intOf(whole)) + float64(intOf(strings.TrimSpace(minutes)))/60)
	}
	hours, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
	if err != nil {
		return 0
	}
	return hours
}

// fromTo is a beginning and an end on the clock, whole hours or with minutes, with words of any language around them.
var fromTo = sync.OnceValue(func() *regexp.Regexp {
	const clock = `(\d{1,2})(?:[.:h](\d\d))?`
	return regexp.MustCompile(`(?i)^[^\d(]*` + clock + `[^\d/,.:()]*[ –-][^\d/,.:()]*` + clock +
		`\s*(?:[ap]\.?m\.?|[^\d(m]*)$`)
})

// betweenClocks is the hours from a beginning to an end, past noon where the end is the smaller. It is sure that clock
// times are meant where one has minutes or the end is the smaller: 2-3 may also be two to three hours.
func betweenClocks(text string) (hours float64, sure bool) {
	m := fromTo().FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	start, end := intOf(m[1])*60+intOf(m[2]), intOf(m[3])*60+intOf(m[4])
	sure = m[2] != "" || m[4] != ""
	if end <= start {
		sure, end = true, end+12*60
	}
	if end <= start || start >= 24*60 || end > 24*60 {
		return 0, false
	}
	return hundredth(float64(end-start) / 60), sure
}

// intOf reads figures; 0 for anything else.
func intOf(text string) int {
	n, _ := strconv.Atoi(text)
	return n
}

// held reports whether finds that are not counted may have been found on an outing.
func (w *work) held(o outing) bool {
	return o.log < len(w.options.held) && slices.ContainsFunc(w.options.held[o.log], func(f *find.Find) bool {
		if f.Outing != "" {
			return f.Outing == o.id
		}
		return strings.HasPrefix(o.Day, dayOf(f)) &&
			(f.Permission == "" || o.permission == "" || f.Permission == o.permission)
	})
}

// noted are the outings that the logs have a line of.
func (w *work) noted(reports []*find.Report) (out []outing) {
	for i, r := range reports {
		for j := range r.Outings {
			o := &r.Outings[j]
			if w.options.Year != "" && (len(o.Date) < 4 || o.Date[:4] != w.options.Year) {
				continue
			}
			out = append(out, outing{Outing: Outing{Day: o.Date, Field: w.fieldOf(i, r, o.Permission), Hours: hoursOf(o),
				Noted: true}, log: i, id: o.ID, permission: o.Permission})
		}
	}
	return out
}

// outingOf is the outing that a find belongs to, -1 if that cannot be told.
func outingOf(list []outing, f one) int {
	if f.Outing != "" {
		return slices.IndexFunc(list, func(o outing) bool { return o.log == f.log && o.id == f.Outing })
	}
	at, day := -1, dayOf(f.Find)
	for i, o := range list {
		if o.log == f.log && o.Day == day && len(day) == 10 && (f.Permission == "" || o.permission == f.Permission) {
			if at >= 0 {
				return -1
			}
			at = i
		}
	}
	return at
}

// hoursOf is how long an outing took: as it was noted, else from its beginning to its end. 0: not known.
func hoursOf(o *find.Outing) float64 {
	if h := o.Hours.Float(); h > 0 && h <= 24 {
		return hundredth(h)
	}
	start, err := time.Parse("15:04", short(o.Start))
	if err != nil {
		return 0
	}
	end, err := time.Parse("15:04", short(o.End))
	if err != nil || !end.After(start) {
		return 0
	}
	return hundredth(end.Sub(start).Hours())
}

func short(clock string) string { return clock[:min(len(clock), 5)] }

// span widens the season to a day.
func (w *work) span(day string) {
	if monthOf(day) == "" {
		return
	}
	if w.First == "" || day < w.First {
		w.First = day
	}
	if day > w.Last {
		w.Last = day
	}
}

// calendar lists the months from the first to the last, those without anything too, but no more than three years of
// them: a slip in a year would make hundreds.
func calendar(months map[string]*Month) []Month {
	out := []Month{}
	for _, m := range months {
		out = append(out, *m)
	}
	slices.SortFunc(out, func(a, b Month) int { return cmp.Compare(a.Month, b.Month) })
	if len(out) == 0 {
		return out
	}
	at, err := time.Parse("2006-01", out[0].Month)
	last, errLast := time.Parse("2006-01", out[len(out)-1].Month)
	if err != nil || errLast != nil || last.Sub(at) > 3*366*24*time.Hour {
		return out
	}
	all := []Month{}
	for ; !at.After(last); at = at.AddDate(0, 1, 0) {
		name := at.Format("2006-01")
		if m := months[name]; m != nil {
			all = append(all, *m)
		} else {
			all = append(all, Month{Month: name})
		}
	}
	return all
}

func hundredth(v float64) float64 { return math.Round(v*100) / 100 }
