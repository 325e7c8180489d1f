package validate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var datingRules = []*Rule{datingReversed, datingUnreadable, datedAfterFinding, periodUnlikeYears,
	olderThanMaterial, outsideReign}

var datingReversed = &Rule{
	Kind: kinds.DatingReversed,
	Check: func(c *Case, say Say) {
		eachDating(c.Find, func(d *find.Dating, pointer string) {
			if d.Date != "" && dateOf(d.Date).back {
				say(pointer+"/date", "it ends before it begins")
			} else if d.Earliest.Known() && d.Latest.Known() && d.Earliest.Int() > d.Latest.Int() {
				say(pointer+"/earliest", fmt.Sprintf("the earliest year, %s, is later than the latest, %s",
					yearText(d.Earliest.Int()), yearText(d.Latest.Int())))
			}
		})
	},
}

// reversed reports whether a date is an interval of two readable dates of which the second is earlier.
func reversed(date string) bool {
	from, to, ok := strings.Cut(date, "/")
	if !ok {
		return false
	}
	a, err1 := edtf.Parse(from)
	b, err2 := edtf.Parse(to)
	first, _, open1, _ := a.Span()
	_, last, _, open2 := b.Span()
	return err1 == nil && err2 == nil && !open1 && !open2 && first.Compare(last) > 0
}

var datingUnreadable = &Rule{
	Kind: kinds.DatingUnreadable,
	Check: func(c *Case, say Say) {
		eachDating(c.Find, func(d *find.Dating, pointer string) {
			if d.Date == "" {
				return
			}
			if date := dateOf(d.Date); date.err != nil && !date.back {
				say(pointer+"/date", fmt.Sprintf("%q is not a date in EDTF", d.Date))
			}
		})
	},
}

var datedAfterFinding = &Rule{
	Kind: kinds.DatedAfterFinding,
	Check: func(c *Case, say Say) {
		found, ok := c.found()
		if !ok {
			return
		}
		if year := c.yearOnCoin(); year > found.last.Year {
			say("/name", fmt.Sprintf("it is of %d, after it was found", year))
		}
		eachDating(c.Find, func(d *find.Dating, pointer string) {
			if y := yearsOf(d); y.hasFrom && y.from > found.last.Year && !(y.hasTo && y.to < y.from) {
				say(pointer+"/date", fmt.Sprintf("it begins in %s, after the object was found", yearText(y.from)))
			}
		})
	},
}

// yearOnCoin returns the year in the name of a coin; 0: it names none, or is no usual coin.
func (c *Case) yearOnCoin() int {
	if row, _ := c.thing(); !row.isCoin() && !theTables().in("money", classOf(c.Find)) || c.unusual() {
		return 0
	}
	return yearIn(c.Find.Name)
}

// sayMarkOutsideDating is the part of periodUnlikeYears of which the last sentences of its condition speak.
func sayMarkOutsideDating(c *Case, say Say) {
	f := c.Find
	if len(f.Marks) == 0 || !ofMaking(f.Dating) {
		return
	}
	y := c.years()
	if y.hasFrom && y.hasTo && y.from > y.to {
		return // told by dating-reversed
	}
	slack := 0
	if y.approximate {
		slack = c.Settings.AboutYears
	}
	for i := range f.Marks {
		m := &f.Marks[i]
		if !m.Year.Known() || m.Kind.Is("patent") {
			continue // a patent stands on things made for years after it
		}
		year := m.Year.Int()
		if y.hasFrom && year < y.from-slack || y.hasTo && year > y.to+slack {
			say(fmt.Sprintf("/marks/%d/year", i),
				fmt.Sprintf("the mark says %s, the dating says something else", yearText(year)))
		}
	}
}

// periodYears are the years of a named period in one place, from the list of periods.
type periodYears struct {
	From   int    `json:"from"`
	To     int    `json:"to"` // 0: still running
	Place  string `json:"place"`
	Source string `json:"source"`
}

var periodUnlikeYears = &Rule{
	Kind: kinds.YearsDisagree,
	Check: func(c *Case, say Say) {
		sayMarkOutsideDating(c, say)
		if from, to, ok := c.otherAge(); ok {
			say(datingPointer(c.Find.Dating), fmt.Sprintf("the name says %d, the age is of %s to %s", c.yearOnCoin(),
				yearText(from), yearText(to)))
			return
		}
		eachDating(c.Find, func(d *find.Dating, pointer string) {
			y := yearsOf(d)
			if !y.hasFrom && !y.hasTo || y.hasFrom && y.hasTo && y.from > y.to {
				return
			}
			slack := 0
			if y.approximate {
				slack = c.Settings.AboutYears
			}
			outside := func(from, to int) bool {
				return y.hasFrom && y.from > to+slack || y.hasTo && y.to < from-slack
			}
			if d.Period == nil || d.Period.Scheme == "" {
				if words, from, to := c.periodNamed(d); words != "" && outside(from, to) {
					say(pointer+"/date", fmt.Sprintf("%q and %s do not go together", words, y.words()))
				}
				return
			}
			p, ok := theTables().periodYears(d.Period)
			if !ok {
				c.NotChecked()
			} else if outside(p.From, cmp.Or(p.To, forever)) {
				say(pointer+"/period", fmt.Sprintf("the years stated lie outside the period %q of its scheme", d.Period.Label))
			}
		})
	},
}

// otherAge returns the years of the dating of a coin with a year in its name, where that is none of them.
func (c *Case) otherAge() (from, to int, ok bool) {
	year, d, y := c.yearOnCoin(), c.Find.Dating, c.years()
	switch {
	case year == 0 || d == nil || !ofMaking(d):
		return 0, 0, false
	case y.hasFrom && y.hasTo:
		slack := 0
		if y.approximate {
			slack = c.Settings.AboutYears
		}
		return y.from, y.to, y.from <= y.to && (year < y.from-slack || year > y.to+slack)
	}
	from, to, ok = theTables().things.spanOf(periodWords(d))
	return from, to, ok && (year < from || year > to)
}

// periodNamed returns the words that name a period of a dating, and its years: its own, else for the dating of the
// find those of the name.
func (c *Case) periodNamed(d *find.Dating) (words string, from, to int) {
	t := theTables().things
	if d.Period != nil {
		if from, to, ok := t.spanOf(d.Period.Label); ok {
			return d.Period.Label, from, to
		}
	}
	if d == c.Find.Dating && !c.unusual() {
		if from, to, ok := t.spanOf(c.Find.Name); ok {
			return c.Find.Name, from, to
		}
	}
	return "", 0, 0
}

// periodYears returns the years of a period, where its scheme is the one we hold.
func (t *tables) periodYears(p *find.Period) (periodYears, bool) {
	const scheme = "purl.org/heritagedata/schemes/eh_period"
	if !strings.Contains(p.Scheme, scheme) {
		return periodYears{}, false
	}
	id := p.ID[strings.LastIndexByte(p.ID, '/')+1:]
	y, ok := t.periods[id]
	if !ok {
		y, ok = t.periods[strings.ToLower(p.Label)]
	}
	return y, ok
}

var olderThanMaterial = &Rule{
	Kind: kinds.OlderThanMaterial,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Dating == nil {
			return
		}
		t := theTables()
		y := c.years()
		if words := periodWords(f.Dating); !y.hasTo && words != "" {
			if _, to, ok := t.things.spanOf(words); ok && to != forever {
				y = &years{to: to, hasTo: true, approximate: true}
			}
		}
		if _, _, told := c.otherAge(); told {
			return
		}
		if row, _ := c.thing(); row != nil && row.Since != 0 && y.hasTo && y.to < row.Since-c.Settings.AboutYears {
			say(datingPointer(f.Dating), fmt.Sprintf("it ends in %s, but there was no %s before %s", yearText(y.to), row.Name,
				yearText(row.Since)))
			return
		}
		if !y.hasTo || f.Dating.Date == "" {
			return
		}
		named := c.named().firstUse | t.mayName(f.Type)
		for i := range t.firstUse {
			u := &t.firstUse[i]
			limit := u.Year
			if u.About || y.approximate {
				limit -= c.Settings.AboutYears
			}
			if y.to < limit && u.appliesTo(f, named&(1<<(i%64)) != 0) {
				say("/dating/date", fmt.Sprintf("it ends in %s, but %s was not in use before %s%d", yearText(y.to), u.Label,
					about(u.About), u.Year))
			}
		}
	},
}

// periodWords are the words of a dating that has no date.
func periodWords(d *find.Dating) string {
	if d.Date != "" {
		return ""
	}
	if d.Period != nil && d.Period.Label != "" {
		return d.Period.Label
	}
	return d.Verbatim
}

// datingPointer is where the age of a dating stands: its date, else its period.
func datingPointer(d *find.Dating) string {
	switch {
	case d.Date != "":
		return "/dating/date"
	case d.Period != nil:
		return "/dating/period"
	}
	return "/dating"
}

func about(is bool) string {
	if is {
		return "about "
	}
	return ""
}

// appliesTo reports whether the find is of the material, made by the technique, or called by the words,
// which are looked for where named says that they may be there.
func (u *firstUse) appliesTo(f *find.Find, named bool) bool {
	for i := range f.Materials {
		m := &f.Materials[i]
		if m.Part == "" && slices.Contains(u.Materials, m.Code) && m.Certainty != "possible" && m.Certainty != "unlikely" {
			return true
		}
	}
	for i := range f.Technique {
		if slices.Contains(u.Techniques, f.Technique[i].Code) && f.Technique[i].Certainty != "possible" &&
			f.Technique[i].Certainty != "unlikely" {
			return true
		}
	}
	return named && u.phrases != nil && (u.phrases.Has(f.Name) || u.phrases.Has(f.Type))
}
