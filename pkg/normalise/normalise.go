// Package normalise turns what people wrote into the canonical values of SPEC.md section 4, beside
// the words, which stay. What it had to assume, and what it could not read honestly, it says in
// notices; it never guesses and never overwrites a value that is there.
//
//	read := normalise.Stream(in, normalise.Options{Order: edtf.DayMonthYear})
//
// What it has written it leaves alone: normalising twice is normalising once.
//
// This package is unstable: it may change between any two versions.
package normalise

import (
	"cmp"
	"slices"
	"sync"
	"sync/atomic"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Options say what the cells leave open. What a cell, its heading or its sheet states wins over
// them. The zero value assumes nothing.
type Options struct {
	Unit   quantity.Unit // of lengths and weights that state none
	Order  edtf.Order    // of day, month and year where nothing proves it
	Pivot  int           // first year that two digits may mean; 0 refuses two-digit years
	Serial edtf.Epoch    // makes bare numbers the dates of a workbook
	System string        // of bare eastings and northings: EPSG:27700
	AsOf   edtf.Day      // the day that counts as today; zero: nothing is in the future
	// Language is the BCP 47 tag of who wrote: words that differ between languages mean what they mean in it. Where it is
	// empty, a text whose value differs between two languages is refused.
	Language string
	// Table says that the source is a table: a core member that was not given is then blank, not
	// merely missing.
	Table bool
	// Supplied says which of them the keeper of the log has stated for all of it: what is read by one is marked so
	// in the find, and is no assumption.
	Supplied Supplied
	// Origins say where people, permissions and outings stood in a table; see find.Stream.
	Origins map[string]find.Origin
}

// Supplied are the options that were stated for the log.
type Supplied struct{ Unit, Order, System bool }

// Stream normalises each entry of a stream as it passes, and the header at once.
func Stream(in *find.Stream, o Options) *find.Stream {
	out := *in
	head := *in.Report
	out.Report = &head
	if o.Language == "" {
		o.Language = head.Language
	}
	o.Origins = in.Origins
	list := Header(&head, o)
	for i := range list {
		in.LocateRecord(&list[i])
	}
	out.Notices = append(out.Notices[:len(out.Notices):len(out.Notices)], list...)
	ids := newIdentity(&head)
	var known atomic.Pointer[hints] // one layout serves all rows
	return out.Map(func(e *find.Entry, inOrder bool) bool {
		if !inOrder && ids.counts(e.Find) {
			return false
		}
		e.Notices.Add(ids.give(e.Find, e.Origin.Layout)...)
		h := known.Load()
		if h == nil || h.layout != e.Origin.Layout {
			h = newHints(e.Origin.Layout)
			known.Store(h)
		}
		e.Notices.Add((&normaliser{f: e.Find, layout: e.Origin.Layout, hints: h, o: o}).find()...)
		return true
	})
}

// Find normalises one find in place. Layout says what the headings add; it may be nil. The
// pointers of the notices are relative to the find.
func Find(f *find.Find, layout *find.Layout, o Options) notice.List {
	return (&normaliser{f: f, layout: layout, o: o, hints: newHints(layout)}).find()
}

func (n *normaliser) find() notice.List {
	n.found()
	n.terms() // before what they belong to, of which nothing may be left
	if n.o.Table {
		n.several()
	}
	n.positions()
	n.f.Place = n.country("/place", n.f.Place)
	n.quantities()
	n.codes()
	n.days()
	n.datings()
	n.lot()
	if n.o.Table {
		n.blanks()
	}
	return n.list
}

// normaliser works on one find.
type normaliser struct {
	f      *find.Find
	layout *find.Layout
	hints  *hints // of the layout
	o      Options
	list   notice.List
	marked bool // a term bears absentMark
}

// hints holds what a layout says of each pointer that is asked for often.
type hints struct {
	layout *find.Layout
	known  func() map[string]*find.Hints
}

func newHints(layout *find.Layout) *hints {
	return &hints{layout, sync.OnceValue(func() map[string]*find.Hints {
		known := map[string]*find.Hints{}
		for _, pointer := range [...]string{"/found/verbatim", "/position/verbatim", "/dating/verbatim", "/depth", "/count",
			"/weight",
			"/dimensions/length", "/dimensions/width", "/dimensions/height", "/dimensions/thickness", "/dimensions/diameter"} {
			h := layout.HintsAt(pointer)
			known[pointer] = &h
		}
		return known
	})}
}

// hintsAt returns them.
func (n *normaliser) hintsAt(pointer string) *find.Hints {
	if n.layout == nil {
		return new(find.Hints)
	}
	if n.hints != nil && n.hints.layout == n.layout {
		if h, ok := n.hints.known()[pointer]; ok {
			return h
		}
	}
	h := n.layout.HintsAt(pointer)
	return &h
}

func (n *normaliser) say(k *notice.Kind, pointer, message string) {
	n.list.Add(notice.New(k, pointer, message))
}

// absent notes why a member is not given.
func (n *normaliser) absent(pointer, reason string) {
	if n.f.Absent == nil {
		n.f.Absent = map[string]string{}
	}
	n.f.Absent[pointer] = reason
}

// fault tells why a text was not read.
func (n *normaliser) fault(pointer string, err error) { n.list.Add(unread(pointer, err)) }

// assumed passes on what a reading assumed.
func (n *normaliser) assumed(pointer, code, message string) {
	if k := noteKind(code); k != nil {
		n.say(k, pointer, message)
	}
}

// supplied notes that a member was read by what is stated for the whole log.
func (n *normaliser) supplied(pointer string) { find.MarkSupplied(n.f, pointer) }

func (n *normaliser) order(pointer string) edtf.Order {
	if o, err := edtf.ParseOrder(n.hintsAt(pointer).Order); err == nil && o != edtf.OrderUnknown {
		return o
	}
	return n.o.Order
}

func (n *normaliser) dateOptions(pointer string) edtf.Options {
	o := edtf.Options{Order: n.order(pointer), Pivot: n.o.Pivot, Serial: n.o.Serial, Today: n.o.AsOf,
		Language: lexicon.ByTag(n.o.Language)}
	if p := n.hintsAt(pointer).Pivot; p != 0 {
		o.Pivot = p
	}
	return o
}

// found reads the day of the find.
func (n *normaliser) found() {
	d := n.f.Found
	if d == nil || d.Verbatim == "" || d.Date != "" {
		return
	}
	r, err := readFound(d.Verbatim, n.dateOptions("/found/verbatim"))
	if err != nil {
		n.fault("/found/verbatim", err)
		return
	}
	if r.Absent != "" {
		if onlyWords(*d, func(d *find.Found) { d.Verbatim = "" }) {
			n.f.Found = nil
			n.absent("/found", r.Absent)
		} else {
			d.Verbatim = ""
			n.absent("/found/date", r.Absent)
		}
		return
	}
	for _, note := range r.Notes {
		n.assumed("/found/verbatim", note.Code, note.Message)
	}
	if n.o.Supplied.Order && n.hintsAt("/found/verbatim").Order == "" {
		o := n.dateOptions("/found/verbatim")
		o.Order = edtf.OrderUnknown
		if _, err := readFound(d.Verbatim, o); err != nil {
			n.supplied("/found")
		}
	}
	d.Date = r.Date.String()
	canonical := d.Date
	if r.Time != "" && (d.Time == "" || d.Time == r.Time) {
		d.Time = r.Time
		canonical += "T" + r.Time
	}
	if d.Verbatim == d.Date || d.Verbatim == canonical {
		d.Verbatim = ""
	}
}

// days brings plain days to ISO 8601.
func (n *normaliser) days() {
	n.f.Days(func(pointer string, day *string) { n.day(pointer, day) })
	if r := n.f.Recorded; r != nil && r.At != "" {
		if n.moment("/recorded/at", &r.At); r.At == "" && r.By == "" && r.Unknown == nil {
			n.f.Recorded = nil
		}
	}
}

func (n *normaliser) day(pointer string, day *string) {
	if isPlainDay(*day) || n.layout == nil && hasFormOfDay(*day) {
		return
	}
	if d, err := edtf.Parse(*day); err == nil && d.Precision() == edtf.PrecisionDay {
		return
	}
	r, err := readFound(*day, n.dateOptions(pointer))
	if err != nil {
		n.fault(pointer, err)
		n.keepBeside(pointer, day)
		return
	}
	if r.Absent != "" {
		*day = ""
		n.absent(pointer, r.Absent)
		return
	}
	*day = r.Date.String()
}

// isPlainDay tells a day of ISO 8601 that every month has.
func isPlainDay(s string) bool {
	return hasFormOfDay(s) && s[5:7] >= "01" && s[5:7] <= "12" && s[8:] >= "01" && s[8:] <= "28"
}

// hasFormOfDay tells figures with dashes as in 2026-04-12. Schema and rules speak of one that the calendar has not.
func hasFormOfDay(s string) bool {
	if len(s) != len("2026-04-12") {
		return false
	}
	for i := range len(s) {
		if dash := i == 4 || i == 7; dash != (s[i] == '-') || !dash && s[i]-'0' > 9 {
			return false
		}
	}
	return true
}

// moment brings a day with or without a time to ISO 8601 where it is not RFC 3339 already.
func (n *normaliser) moment(pointer string, text *string) {
	if isInstant(*text) || n.layout == nil && hasFormOfDay(*text) {
		return
	}
	r, err := readFound(*text, n.dateOptions(pointer))
	if err != nil {
		n.fault(pointer, err)
		n.keepBeside(pointer, text)
		return
	}
	if r.Absent != "" {
		*text = ""
		n.absent(pointer, r.Absent)
		return
	}
	*text = r.Date.String()
	if r.Time != "" {
		*text += "T" + r.Time
	}
}

// keepBeside moves a text of a sheet that is not read, of a member that has no place for words, to the column that it
// stood in.
func (n *normaliser) keepBeside(pointer string, text *string) {
	if n.layout == nil {
		return
	}
	if c, ok := n.layout.Column(pointer); ok && c.Heading != "" && n.f.Columns[c.Heading] == "" {
		if n.f.Columns == nil {
			n.f.Columns = map[string]string{}
		}
		n.f.Columns[c.Heading], *text = *text, ""
	}
}

// isInstant tells a day with a T and a time from a day alone or anything else.
func isInstant(s string) bool {
	return len(s) >= 16 && s[4] == '-' && s[7] == '-' && (s[10] == 'T' || s[10] == 't')
}

// datings reads how old things are and computes the years.
func (n *normaliser) datings() {
	if n.f.Dating != nil && n.dating("/dating", n.f.Dating) {
		n.f.Dating = nil
	}
	for i := range n.f.OtherDatings {
		n.dating(indexed("/otherDatings", i), &n.f.OtherDatings[i])
	}
}

// dating reports whether the dating said only that there is none, and is to be taken away.
func (n *normaliser) dating(pointer string, d *find.Dating) (remove bool) {
	if d.Verbatim != "" && d.Date == "" && d.Period == nil {
		r, err := readAge(d.Verbatim, n.dateOptions(pointer+"/verbatim"))
		switch {
		case err != nil:
			n.fault(pointer+"/verbatim", err)
		case r.Absent != "":
			if inList(pointer) || !onlyWords(*d, func(d *find.Dating) { d.Verbatim = "" }) {
				return false // the words stand
			}
			n.absent(pointer, r.Absent)
			return true
		default:
			for _, note := range r.Notes {
				n.assumed(pointer+"/verbatim", note.Code, note.Message)
			}
			n.setDating(d, r)
		}
	}
	if d.Date != "" && !d.Earliest.Known() && !d.Latest.Known() {
		if date, err := edtf.Parse(d.Date); err == nil {
			setYears(d, date)
		}
	}
	return false
}

func (n *normaliser) setDating(d *find.Dating, r edtf.Dating) {
	if !r.Date.IsZero() {
		d.Date = r.Date.String()
		setYears(d, r.Date)
	}
	if r.Period != "" {
		d.Period = &find.Period{Label: r.Period}
		if d.Certainty == "" && r.Date.IsZero() && hasNote(r.Notes, "period-uncertain") {
			d.Certainty = cmp.Or(vocabulary.Doubt(d.Verbatim), "possible")
		}
	}
	if r.Event != "" && d.Event == nil {
		d.Event = &find.Term{Code: r.Event}
	}
	if d.Verbatim == d.Date {
		d.Verbatim = ""
	}
}

func hasNote(notes []edtf.Note, code string) bool {
	return slices.ContainsFunc(notes, func(n edtf.Note) bool { return n.Code == code })
}

func setYears(d *find.Dating, date edtf.Date) {
	earliest, latest, hasEarliest, hasLatest := date.Years()
	if hasEarliest {
		d.Earliest = find.Int(earliest)
	}
	if hasLatest {
		d.Latest = find.Int(latest)
	}
}

// positions reads where things lay.
func (n *normaliser) positions() {
	if n.f.Position != nil && n.position("/position", n.f.Position) {
		n.f.Position = nil
	}
	n.methodAlone()
	for i := range n.f.OtherPositions {
		n.position(indexed("/otherPositions", i), &n.f.OtherPositions[i])
	}
}

func (n *normaliser) position(pointer string, p *find.Position) (remove bool) {
	device := methodRadius(p.Method)
	if p.Verbatim != "" && !p.Latitude.Known() && !p.Longitude.Known() {
		system, supplied := n.hintsAt(pointer+"/verbatim").System, false
		if system == "" {
			system = n.o.System
			supplied = n.o.Supplied.System
		}
		if s, ok := coordinate.SystemByCode(p.ReferenceSystem); ok {
			system, supplied = s.Code, false // the row names its own
		}
		r, err := readPlace(p.Verbatim, coordinate.Options{System: system, Device: device, Language: n.o.Language})
		switch {
		case err != nil:
			n.fault(pointer+"/verbatim", err)
			return false
		case r.Absent != "":
			return n.noPosition(pointer, p, r.Absent)
		}
		for _, note := range r.Notes {
			n.assumed(pointer+"/verbatim", note.Code, note.Message)
		}
		if supplied && r.System == system {
			n.supplied(pointer)
		}
		n.setPosition(pointer, p, r, device)
	}
	if p.Latitude.Known() && !p.Uncertainty.Known() && device > 0 && !n.saidAbsent(pointer+"/uncertainty") {
		p.Uncertainty = find.Float(device)
		p.UncertaintyBasis = &find.Term{Code: "method-default"}
		n.say(&kinds.UncertaintyAssumed, pointer+"/uncertainty",
			"the uncertainty is the usual one of the method, not a measured one")
	}
	return false
}

// saidAbsent reports whether a person said why a member is missing: then it stays so.
func (n *normaliser) saidAbsent(pointer string) bool {
	reason := n.f.Absent[pointer]
	return reason != "" && reason != "blank"
}

// noPosition deals with a cell that says why there is no position. In a list the words stand:
// absent names members only.
func (n *normaliser) noPosition(pointer string, p *find.Position, reason string) (remove bool) {
	if inList(pointer) {
		return false
	}
	if onlyWords(*p, func(p *find.Position) { p.Verbatim = "" }) {
		n.absent(pointer, reason)
		return true
	}
	p.Verbatim = ""
	if n.methodAlone() {
		n.absent(pointer, reason)
		return true
	}
	n.absent(pointer+"/latitude", reason)
	n.absent(pointer+"/longitude", reason)
	return false
}

// setPosition takes over a reading. A point typed as degrees says nothing of how well it was
// known, so that without a method only the rounding of a grid square makes an uncertainty.
func (n *normaliser) setPosition(pointer string, p *find.Position, r coordinate.Reading, device float64) {
	p.Longitude, p.Latitude = find.Float(r.Point.Longitude), find.Float(r.Point.Latitude)
	if p.ReferenceSystem == "" && r.System != "EPSG:4326" {
		p.ReferenceSystem = r.System
	}
	const coarse = 30 // metres; below it the rounding of the digits is not what limits a fix
	if !p.Uncertainty.Known() && !n.saidAbsent(pointer+"/uncertainty") &&
		(device > 0 || r.Square >= 1 || r.Basis == coordinate.BasisStated || r.Uncertainty >= coarse) {
		p.Uncertainty = find.Float(r.Uncertainty)
		p.UncertaintyBasis = &find.Term{Code: basisOf(r, device)}
	}
	if p.Verbatim == r.Point.String() {
		p.Verbatim = ""
	}
}

func basisOf(r coordinate.Reading, device float64) string {
	if device > 0 && r.Square < 1 && r.Basis != coordinate.BasisStated {
		return "method-default"
	}
	return r.Basis
}
