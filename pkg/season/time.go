package season

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/findslip/findslip/pkg/find"
)

// outing is an outing while finds are counted to it.
type outing struct {
	Outing
	log        int
	id         string
	permission string
}

// time counts by outing and month. A find belongs to the outing that it names, else to the only one of its day and
// field, else to one that is made of its day and field.
func (w *work) time(reports []*find.Report) {
	list := w.noted(reports)
	first := len(list)
	timedFinds := 0
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
			i = slices.IndexFunc(list, func(o outing) bool {
				return !o.Noted && o.log == f.log && o.Day == day && o.Field == f.field
			})
			if i < 0 {
				i = len(list)
				list = append(list, outing{Outing: Outing{Day: day, Field: f.field}, log: f.log})
			}
		}
		if i >= 0 {
			list[i].Finds++
			timedFinds += b2i(list[i].Hours > 0)
		}
	}
	for _, o := range list {
		o.Nothing = o.Finds == 0
		if o.Nothing && w.held(o) {
			continue
		}
		w.Totals.Outings++
		w.Totals.Nothing += b2i(o.Nothing)
		w.Totals.Hours += o.Hours
		w.Totals.TimedOut += b2i(o.Hours > 0)
		m := month(o.Day)
		m.Outings++
		m.Nothing += b2i(o.Nothing && w.options.Audience == Show)
		m.Hours = hundredth(m.Hours + o.Hours)
		w.span(o.Day)
		w.Outings = append(w.Outings, o.Outing)
	}
	w.Totals.Hours, w.Totals.TimedFinds = hundredth(w.Totals.Hours), timedFinds
	if w.Totals.Hours > 0 {
		w.Totals.FindsAnHour = hundredth(float64(timedFinds) / w.Totals.Hours)
	}
	slices.SortStableFunc(w.Outings, func(a, b Outing) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Field, b.Field))
	})
	w.Months = calendar(months)
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
