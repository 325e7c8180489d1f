package normalise

import (
	"fmt"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// A Reading is what is made of one text. Its members are those of the format; only those that
// apply are given. Text is the same for people.
type Reading struct {
	Input            string          `json:"input"`
	Min              find.Number     `json:"min,omitzero"`
	Max              find.Number     `json:"max,omitzero"`
	Best             find.Number     `json:"best,omitzero"`
	Unit             string          `json:"unit,omitzero"`
	Said             string          `json:"said,omitzero"`
	Resolution       find.Number     `json:"resolution,omitzero"`
	Approximate      bool            `json:"approximate,omitzero"`
	Basis            string          `json:"basis,omitzero"`
	Date             string          `json:"date,omitzero"`
	Time             string          `json:"time,omitzero"`
	Earliest         find.Number     `json:"earliest,omitzero"`
	Latest           find.Number     `json:"latest,omitzero"`
	Event            string          `json:"event,omitzero"`
	Period           *find.Period    `json:"period,omitzero"`
	Latitude         find.Number     `json:"latitude,omitzero"`
	Longitude        find.Number     `json:"longitude,omitzero"`
	Uncertainty      find.Number     `json:"uncertainty,omitzero"`
	UncertaintyBasis string          `json:"uncertaintyBasis,omitzero"`
	ReferenceSystem  string          `json:"referenceSystem,omitzero"`
	Code             string          `json:"code,omitzero"`
	Label            string          `json:"label,omitzero"`
	Certainty        string          `json:"certainty,omitzero"`
	Absent           string          `json:"absent,omitzero"`
	Error            *ReadingError   `json:"error,omitzero"`
	Notices          []ReadingNotice `json:"notices,omitzero"`

	Text string `json:"-"`
}

// ReadingError says why a text is refused and what to type instead.
type ReadingError struct {
	Code      string   `json:"code"`
	Message   string   `json:"message"`
	Help      string   `json:"help,omitzero"`
	Proposals []string `json:"proposals,omitzero"`
}

// ReadingNotice asks a person to look again.
type ReadingNotice struct {
	Code     string `json:"code"`
	Severity string `json:"severity"`
	Message  string `json:"message"`
}

// Readings returns the names of what Reader can read.
func Readings() []string {
	return []string{"length", "weight", "count", "date", "dating", "position", "material"}
}

// Reader returns a function that reads texts of one kind.
func Reader(name string, o Options) (func(text string) Reading, error) {
	if o.Language != "" && lexicon.ByTag(o.Language) == nil {
		return nil, fmt.Errorf("the language %q is not one that is read; it is one of %s", o.Language,
			strings.Join(lexicon.Tags(), ", "))
	}
	switch name {
	case "length":
		return func(s string) Reading { return readQuantity(s, quantity.CM, o) }, nil
	case "weight":
		return func(s string) Reading { return readQuantity(s, quantity.G, o) }, nil
	case "count":
		return func(s string) Reading { return readQuantity(s, quantity.NoUnit, o) }, nil
	case "date":
		return func(s string) Reading { return readDate(s, o) }, nil
	case "dating":
		return func(s string) Reading { return readDating(s, o) }, nil
	case "position":
		return func(s string) Reading { return readPosition(s, o) }, nil
	case "material":
		return readMaterial, nil
	}
	return nil, fmt.Errorf("%q cannot be read; it is one of %s", name, strings.Join(Readings(), ", "))
}

func (r *Reading) refuse(err error) {
	r.refuseAs(err, false)
}

func (r *Reading) refuseAs(err error, dating bool) {
	k, e := explain(err, dating)
	e.Code = k.Code
	r.Error = &e
}

func (r *Reading) note(code, message string) {
	if k := noteKind(code); k != nil {
		r.add(k, message)
	}
}

func (r *Reading) add(k *notice.Kind, message string) {
	r.Notices = append(r.Notices, ReadingNotice{k.Code, k.Severity.String(), message})
}

func (r *Reading) none(reason string) bool {
	if reason == "" {
		return false
	}
	r.Absent, r.Text = reason, reason
	return true
}

func readQuantity(s string, into quantity.Unit, o Options) Reading {
	r := Reading{Input: s}
	options := quantity.Options{Into: into, Language: lexicon.ByTag(o.Language)}
	if o.Unit.Dimension() == into.Dimension() {
		options.Default = o.Unit
	}
	q, err := readMeasure(s, options)
	if err != nil {
		r.refuse(err)
		return r
	}
	if r.none(q.Absent) {
		return r
	}
	var v find.Quantity
	v.SetValue(q.Quantity)
	r.Min, r.Max, r.Best, r.Unit, r.Said, r.Resolution, r.Approximate, r.Basis = v.Min, v.Max, v.Best, v.Unit, v.Said,
		v.Resolution, v.Approximate, q.Basis
	for _, n := range q.Notes {
		r.note(n.Code, n.Message)
	}
	r.Text = q.Quantity.String()
	return r
}

func readDate(s string, o Options) Reading {
	r := Reading{Input: s}
	d, err := readFound(s, edtf.Options{Order: o.Order, Pivot: o.Pivot, Serial: o.Serial, Today: o.AsOf,
		Language: lexicon.ByTag(o.Language)})
	if err != nil {
		r.refuse(err)
		return r
	}
	if r.none(d.Absent) {
		return r
	}
	r.Date, r.Time = d.Date.String(), d.Time
	for _, n := range d.Notes {
		r.note(n.Code, n.Message)
	}
	r.Text = strings.TrimSpace(r.Date + " " + r.Time)
	return r
}

func readDating(s string, o Options) Reading {
	r := Reading{Input: s}
	d, err := readAge(s, edtf.Options{Order: o.Order, Pivot: o.Pivot, Serial: o.Serial, Today: o.AsOf,
		Language: lexicon.ByTag(o.Language)})
	if err != nil {
		r.refuseAs(err, true)
		return r
	}
	if r.none(d.Absent) {
		return r
	}
	if !d.Date.IsZero() {
		r.Date = d.Date.String()
		earliest, latest, hasEarliest, hasLatest := d.Date.Years()
		if hasEarliest {
			r.Earliest = find.Int(earliest)
		}
		if hasLatest {
			r.Latest = find.Int(latest)
		}
	}
	if d.Period != "" {
		r.Period = &find.Period{Label: d.Period}
	}
	r.Event = d.Event
	for _, n := range d.Notes {
		r.note(n.Code, n.Message)
	}
	r.Text = strings.Join(strings.Fields(r.Date+" "+d.Period), " ")
	return r
}

func readPosition(s string, o Options) Reading {
	r := Reading{Input: s}
	p, err := readPlace(s, coordinate.Options{System: o.System, Language: o.Language})
	if err != nil {
		r.refuse(err)
		return r
	}
	if r.none(p.Absent) {
		return r
	}
	r.Latitude, r.Longitude = find.Float(p.Point.Latitude), find.Float(p.Point.Longitude)
	r.Uncertainty, r.UncertaintyBasis, r.ReferenceSystem = find.Float(p.Uncertainty), p.Basis, p.System
	for _, n := range p.Notes {
		r.note(n.Code, n.Message)
	}
	r.Text = fmt.Sprintf("%s ± %s m", p.Point, r.Uncertainty)
	return r
}

func readMaterial(s string) Reading {
	r := Reading{Input: s}
	scheme := vocabulary.Get("material")
	if reason, none := vocabulary.Absent(s); none {
		r.none(reason)
		return r
	}
	m, ok := scheme.Match(s)
	if !ok {
		e := ReadingError{Code: kinds.TermNotListed.Code, Message: "no material of the list is named by these words",
			Help: kinds.TermNotListed.Help}
		if all, rest := scheme.MatchAll(s); len(all) > 1 && rest == "" {
			e.Message = fmt.Sprintf("the words name %d materials, and one reading is of one", len(all))
			e.Help = "give the main one; in a sheet the others follow it, each with its own code"
			for _, m := range all {
				e.Proposals = append(e.Proposals, m.Code)
			}
		} else if c, _, near := scheme.Nearest(s); near {
			e.Proposals = []string{c.Label("en")}
		}
		r.Error = &e
		return r
	}
	r.Code, r.Certainty = m.Code, m.Certainty
	if c, ok := scheme.Concept(m.Code); ok {
		r.Label = c.Label("en")
	}
	switch m.How {
	case vocabulary.Misspelling:
		r.add(&kinds.TermRespelt, fmt.Sprintf("taken as %q", r.Label))
	case vocabulary.Suggested:
		r.add(&kinds.TermSuggested, fmt.Sprintf("taken as %q; the words only suggest it", r.Label))
	}
	if m.Coated {
		r.add(&kinds.ReadingAssumed, coatedMessage)
	}
	r.Text = strings.TrimSpace(m.Code + " " + m.Certainty)
	return r
}
