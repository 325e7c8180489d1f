package validate

import (
	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/memo"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/validate/internal/law"
)

// facts are what several rules ask of one find. Each is worked out when it is first asked for, by a method of Case.
type facts struct {
	found    once[span]
	years    once[years]
	placed   once[placement]
	spoken   once[spoken]
	named    *called
	readings once[quirk]
	codes    once[[]oddCode]
	treasure once[mayBe]
	precious once[law.Answer]
	grounds  once[uint64]
	law      *law.Place
}

// once is an answer that may not have been worked out yet.
type once[T any] struct {
	value T
	ok    bool
	asked bool
}

// get returns the answer, asking for it the first time.
func (o *once[T]) get(ask func() (T, bool)) (*T, bool) {
	if !o.asked {
		o.value, o.ok = ask()
		o.asked = true
	}
	return &o.value, o.ok
}

// found returns the days on which the find may have been made.
func (c *Case) found() (span, bool) {
	s, ok := c.facts.found.get(func() (span, bool) { return foundSpan(c.Find) })
	return *s, ok
}

// years returns the years of the dating of the find.
func (c *Case) years() *years {
	y, _ := c.facts.years.get(func() (years, bool) { return yearsOf(c.Find.Dating), true })
	return y
}

// law returns the law of the place of the find.
func (c *Case) law() *law.Place {
	if c.facts.law == nil {
		c.facts.law = theTables().law.Of(jurisdictionOf(c))
	}
	return c.facts.law
}

// frame is what the finds of one run have in common.
type frame struct {
	report      *find.Report
	outings     map[string]*find.Outing
	permissions map[string]*find.Permission
	people      map[string]*find.Person
	sites       sites
	mostPicture int64 // bytes that are read of one picture
	// jurisdiction is what a profile takes where the log names none.
	jurisdiction string
	language     string // in which a log that states none was read
}

func newFrame(r *find.Report, mostPicture int64) *frame {
	f := &frame{report: r, outings: make(map[string]*find.Outing, len(r.Outings)),
		permissions: make(map[string]*find.Permission, len(r.Permissions)),
		people:      make(map[string]*find.Person, len(r.People)),
		sites:       newSites(r), mostPicture: mostPicture}
	for i := range r.Outings { // of two with one id the first counts
		if o := &r.Outings[i]; f.outings[o.ID] == nil {
			f.outings[o.ID] = o
		}
	}
	for i := range r.Permissions {
		if p := &r.Permissions[i]; f.permissions[p.ID] == nil {
			f.permissions[p.ID] = p
		}
	}
	for i := range r.People {
		if p := &r.People[i]; f.people[p.ID] == nil {
			f.people[p.ID] = p
		}
	}
	return f
}

// set gives a case its outing and its permission: the one that the find names, else that of its outing.
func (f *frame) set(c *Case) {
	c.Outing = f.outings[c.Find.Outing]
	id := c.Find.Permission
	if id == "" && f.permissions[""] == nil && c.Outing != nil {
		id = c.Outing.Permission
	}
	c.Permission = f.permissions[id]
}

// Several rules read the same text of a find, and the finds of one outing have the same day and often
// the same depth. So each reading is remembered for as long as there is room for it.

// read is what came of reading a text.
type read[T any] struct {
	value T
	err   error
}

// aDate is a date with what rules ask of it.
type aDate struct {
	date  edtf.Date
	err   error
	span  span
	spans bool // whether span is known
	years years
	back  bool // it is an interval of two readable dates of which the second is earlier
}

var (
	dates = memo.New(func(k memo.Key[struct{}]) *aDate { return newDate(k.Text) })

	foundTexts = memo.New(func(k memo.Key[edtf.Options]) read[edtf.Found] {
		r, err := edtf.NormaliseFound(k.Text, k.With)
		return read[edtf.Found]{r, err}
	})
	datingTexts = memo.New(func(k memo.Key[string]) read[edtf.Dating] { // with a language
		r, err := edtf.NormaliseDating(k.Text, edtf.Options{Language: lexicon.ByTag(k.With)})
		return read[edtf.Dating]{r, err}
	})
	positionTexts = memo.New(func(k memo.Key[coordinate.Options]) read[coordinate.Reading] {
		r, err := coordinate.Normalise(k.Text, k.With)
		return read[coordinate.Reading]{r, err}
	})
	quantityTexts = memo.New(func(k memo.Key[measure]) read[quantity.Reading] {
		r, err := k.With.read(k.Text)
		return read[quantity.Reading]{r, err}
	})
)

// dateOf reads a date of EDTF.
func dateOf(s string) *aDate { return dates.Of(memo.Key[struct{}]{Text: s}) }

func newDate(s string) *aDate {
	date, err := edtf.Parse(s)
	d := &aDate{date: date, err: err, back: reversed(s)}
	if err != nil {
		return d
	}
	d.span, d.spans = spanOfDate(date)
	y := &d.years
	y.from, y.to, y.hasFrom, y.hasTo = date.Years()
	y.approximate = date.Approximate() || date.Uncertain()
	y.exact = y.hasFrom && y.hasTo && y.from == y.to && !y.approximate
	return d
}

func readFound(s string, o edtf.Options) (edtf.Found, error) {
	r := foundTexts.Of(memo.Key[edtf.Options]{Text: s, With: o})
	return r.value, r.err
}

func readDating(s, language string) (edtf.Dating, error) {
	r := datingTexts.Of(memo.Key[string]{Text: s, With: language})
	return r.value, r.err
}

func readPosition(s string, o coordinate.Options) (coordinate.Reading, error) {
	r := positionTexts.Of(memo.Key[coordinate.Options]{Text: s, With: o})
	return r.value, r.err
}

// measure is how the text of a quantity is read.
type measure struct {
	unit string // of the member; empty for a count
	said string // for numbers that bear no unit
	lang string
}

// readAgain reads the text of a quantity once more: into the unit of the member, with the unit that
// was stated for numbers that bear none. Without a stated unit such a number is not read.
func readAgain(q *find.Quantity, unit, language string) (quantity.Reading, error) {
	r := quantityTexts.Of(memo.Key[measure]{Text: q.Verbatim, With: measure{unit, q.Said, language}})
	return r.value, r.err
}

func (m measure) read(s string) (quantity.Reading, error) {
	if m.unit == "" {
		return quantity.NormaliseCount(s, quantity.Options{Language: lexicon.ByTag(m.lang)})
	}
	into, _ := quantity.ParseUnit(m.unit)
	o := quantity.Options{Into: into, Language: lexicon.ByTag(m.lang)}
	if m.said != "" {
		o.Default, _ = quantity.ParseUnit(m.said)
	}
	if into.Dimension() == quantity.Mass {
		return quantity.NormaliseMass(s, o)
	}
	return quantity.NormaliseLength(s, o)
}
