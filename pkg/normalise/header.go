package normalise

import (
	"fmt"
	"hash/maphash"
	"maps"
	"strings"

	"github.com/findslip/findslip/pkg/country"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Header normalises people, permissions and outings in place. Their lists are copied first, so
// that the caller's report is left alone. Pointers are from the top of the report.
func Header(r *find.Report, o Options) notice.List {
	n := &normaliser{f: &find.Find{}, o: o}
	r.People = append([]find.Person(nil), r.People...)
	r.Permissions = append([]find.Permission(nil), r.Permissions...)
	r.Outings = append([]find.Outing(nil), r.Outings...)
	for i := range r.People {
		p := &r.People[i]
		n.in(indexed("/people", i))
		p.Roles = append([]find.Term(nil), p.Roles...)
		for j := range p.Roles {
			n.term(indexed(indexed("/people", i)+"/roles", j), "role", &p.Roles[j])
			if _, none := absentReason(&p.Roles[j]); none {
				p.Roles[j].Note = "" // in a list the words stand
			}
		}
	}
	for i := range r.Permissions {
		n.in(indexed("/permissions", i))
		n.permission(indexed("/permissions", i), &r.Permissions[i])
	}
	for i := range r.Outings {
		n.in(indexed("/outings", i))
		n.outing(indexed("/outings", i), &r.Outings[i])
	}
	if scheme := vocabulary.Get("audience"); scheme != nil && r.Audience != "" {
		if m, ok := scheme.Match(r.Audience); ok {
			r.Audience = m.Code
		}
	}
	return n.list
}

// in takes over what the headings say of a record that stood in a table.
func (n *normaliser) in(record string) { n.layout = n.o.Origins[record].Layout }

func (n *normaliser) permission(pointer string, p *find.Permission) {
	absent := maps.Clone(p.Absent)
	p.Basis = n.headerTerm(pointer, "/basis", "permission-basis", p.Basis, &absent)
	p.LandUse = n.headerTerm(pointer, "/landUse", "land-use", p.LandUse, &absent)
	n.headerDay(pointer, "/validFrom", &p.ValidFrom, &absent)
	n.headerDay(pointer, "/validTo", &p.ValidTo, &absent)
	p.Place = n.country(pointer+"/place", p.Place)
	if code := n.jurisdiction(pointer+"/jurisdiction", p.Jurisdiction); code != p.Jurisdiction {
		if p.Place == nil {
			p.Place = &find.Place{Verbatim: p.Jurisdiction} // the words stay
		}
		p.Jurisdiction = code
	}
	p.PloughDepth = n.headerDepth(pointer, "/ploughDepth", p.PloughDepth, &absent)
	p.MaxDepth = n.headerDepth(pointer, "/maxDepth", p.MaxDepth, &absent)
	p.Absent = absent
}

func (n *normaliser) outing(pointer string, o *find.Outing) {
	absent := maps.Clone(o.Absent)
	o.Method = n.headerTerm(pointer, "/method", "detecting-method", o.Method, &absent)
	o.DigRule = n.headerTerm(pointer, "/digRule", "dig-rule", o.DigRule, &absent)
	n.headerDay(pointer, "/date", &o.Date, &absent)
	n.headerTime(pointer, "/start", &o.Start, &absent)
	n.headerTime(pointer, "/end", &o.End, &absent)
	o.Absent = absent
}

// setAbsent notes why a member of a record is not given.
func setAbsent(absent *map[string]string, member, reason string) {
	if *absent == nil {
		*absent = map[string]string{}
	}
	(*absent)[member] = reason
}

// headerTerm returns a term with its code, nil if its words only said that there is none.
func (n *normaliser) headerTerm(pointer, member, list string, t *find.Term, absent *map[string]string) *find.Term {
	if t == nil {
		return nil
	}
	c := *t
	n.term(pointer+member, list, &c)
	if reason, none := absentReason(&c); none {
		setAbsent(absent, member, reason)
		return nil
	}
	return &c
}

// headerDay brings a day to ISO 8601.
func (n *normaliser) headerDay(pointer, member string, day *string, absent *map[string]string) {
	if *day == "" || n.layout == nil && hasFormOfDay(*day) {
		return
	}
	r, err := readFound(*day, edtf.Options{Order: n.order(member), Pivot: n.o.Pivot, Serial: n.o.Serial,
		Language: lexicon.ByTag(n.o.Language)})
	switch {
	case err != nil:
		n.fault(pointer+member, err)
		return
	case r.Absent != "":
		setAbsent(absent, member, r.Absent)
	}
	for _, note := range r.Notes {
		n.assumed(pointer+member, note.Code, note.Message)
	}
	*day = r.Date.String() // empty when the text says that there is none
}

func (n *normaliser) headerTime(pointer, member string, text *string, absent *map[string]string) {
	if *text == "" {
		return
	}
	if reason, none := vocabulary.Absent(*text); none {
		setAbsent(absent, member, reason)
		*text = ""
		return
	}
	t, err := edtf.ParseTime(*text)
	if err != nil {
		n.fault(pointer+member, err)
		return
	}
	*text = t
}

func (n *normaliser) headerDepth(pointer, member string, q *find.Quantity, absent *map[string]string) *find.Quantity {
	if q == nil {
		return nil
	}
	c := *q
	if c.Verbatim == "" || c.HasValue() {
		return &c
	}
	def, stated := n.unitOf(member, "cm", &c)
	r, err := readMeasure(c.Verbatim, quantity.Options{Into: quantity.CM, Default: def,
		Language: lexicon.ByTag(n.o.Language)})
	switch {
	case err != nil:
		n.fault(pointer+member, err)
	case r.Absent != "":
		setAbsent(absent, member, r.Absent)
		return nil
	default:
		n.notes(pointer+member, r.Notes, stated)
		c.SetValue(r.Quantity)
	}
	return &c
}

// identity gives ids to finds that have none.
type identity struct {
	report string
	seen   map[[3]string]int // unnumbered finds: how many are equal in day, place and name
	told   bool              // that the sheet has no column for numbers, which is reported once

	grounds map[string]string // of several permissions, the name of the place of each; nil: there are not several
	numbers map[uint64]uint64 // sums of folded numbers: that of the permission which had it first
}

var numberSeed = maphash.MakeSeed()

func newIdentity(r *find.Report) *identity {
	i := &identity{report: r.ID, seen: map[[3]string]int{}}
	if len(r.Permissions) > 1 {
		i.grounds, i.numbers = map[string]string{}, map[uint64]uint64{}
		for k := range r.Permissions {
			if p := &r.Permissions[k]; p.Place != nil {
				i.grounds[p.ID] = p.Place.Name
			}
		}
	}
	return i
}

// counts reports whether the id of a find depends on the finds before it.
func (i *identity) counts(f *find.Find) bool {
	return f.ID == "" && i.report != "" && (i.grounds != nil || find.FoldNumber(f.Number) == "")
}

// give makes the id of a find from its number, else from what is written of it. It comes before
// normalising, so that the words count as they were written. A blank among numbers is reported of each find;
// where a sheet has no column for them, that is reported once.
func (i *identity) give(f *find.Find, layout *find.Layout) notice.List {
	if f.ID != "" || i.report == "" {
		return nil
	}
	if n := find.FoldNumber(f.Number); n != "" {
		if ground := i.groundOf(f, n); ground != "" {
			f.ID = find.GroundFindID(i.report, n, ground)
		} else {
			f.ID = find.FindID(i.report, n)
		}
		return nil
	}
	key := [3]string{foundText(f.Found), placeText(f), f.Name}
	i.seen[key]++
	f.ID = find.UnnumberedFindID(i.report, key[0], key[1], key[2], i.seen[key])
	words := "the find has no number; its id is made from its day, place and name and changes with them"
	if _, column := layout.Column("/number"); layout != nil && !column {
		if i.told {
			return nil
		}
		i.told = true
		words = "there is no column of numbers; the id of each find is made from its day, place and name and changes with " +
			"them"
	}
	return notice.List{notice.New(&kinds.NumberMissing, "/number", words)}
}

// groundOf returns the name of the field of a find where an earlier one of another permission has its number, as where
// each field is numbered from 1; else nothing.
func (i *identity) groundOf(f *find.Find, number string) string {
	if i.grounds == nil {
		return ""
	}
	key, own := maphash.String(numberSeed, number), maphash.String(numberSeed, f.Permission)
	if first, known := i.numbers[key]; known && first != own {
		return i.grounds[f.Permission]
	}
	i.numbers[key] = own
	return ""
}

func foundText(d *find.Found) string {
	switch {
	case d == nil:
		return ""
	case d.Verbatim != "":
		return d.Verbatim
	}
	return d.Date
}

func placeText(f *find.Find) string {
	if p := f.Position; p != nil {
		if p.Verbatim != "" {
			return p.Verbatim
		}
		if p.Latitude.Known() {
			return p.Latitude.String() + ", " + p.Longitude.String()
		}
	}
	if p := f.Place; p != nil {
		if p.Verbatim != "" {
			return p.Verbatim
		}
		return p.Name
	}
	return ""
}

// country brings the country of a place to its code of ISO 3166. The words stay in the place as written, unless it has
// words of its own; a name that is not known, or may mean several, is asked about and leaves no code.
func (n *normaliser) country(pointer string, p *find.Place) *find.Place {
	if p == nil || p.Country == "" {
		return p
	}
	code := n.jurisdiction(pointer+"/country", p.Country)
	if code == p.Country {
		return p
	}
	c := *p
	if c.Country = code; c.Verbatim == "" {
		c.Verbatim = p.Country
	}
	return &c
}

// jurisdiction returns the code that a text names; empty where it names none.
func (n *normaliser) jurisdiction(pointer, written string) string {
	if written == "" {
		return ""
	}
	code, perhaps := country.Read(written)
	switch {
	case code != "":
	case len(perhaps) > 0:
		names := make([]string, len(perhaps))
		for i, p := range perhaps {
			names[i] = country.Name(p) + " (" + p + ")"
		}
		n.say(&kinds.CountryNotRead, pointer, fmt.Sprintf("which country is meant: %s?", strings.Join(names, ", ")))
	default:
		n.say(&kinds.CountryNotRead, pointer, "this is no name of a country that is known here; the words are kept")
	}
	return code
}
