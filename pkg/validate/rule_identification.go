package validate

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
)

var identificationRules = []*Rule{identificationUnlikeOpinion}

// saysOf is what an opinion says of the members that may not change in silence.
type saysOf struct {
	ObjectClass *find.Term      `json:"objectClass"`
	Type        string          `json:"type"`
	Materials   []find.Material `json:"materials"`
	Dating      *find.Dating    `json:"dating"`
}

func opinion(f *find.Find, id string) *find.Opinion {
	i := slices.IndexFunc(f.Opinions, func(o find.Opinion) bool { return o.ID == id })
	if id == "" || i < 0 {
		return nil
	}
	return &f.Opinions[i]
}

func withdrawn(f *find.Find, id string) bool {
	return slices.ContainsFunc(f.Opinions, func(o find.Opinion) bool { return o.Withdraws == id && id != "" })
}

var identificationUnlikeOpinion = &Rule{
	Kind: kinds.IdentificationUnlikeOpinion,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Identification == nil {
			return
		}
		o := opinion(f, f.Identification.Follows)
		if o == nil {
			return
		}
		if withdrawn(f, o.ID) {
			say("/identification/follows", "the opinion that the record follows was withdrawn")
			return
		}
		if len(o.Says) == 0 {
			return
		}
		var says saysOf
		if json.Unmarshal(o.Says, &says) != nil {
			c.NotChecked()
			return
		}
		switch {
		case says.ObjectClass != nil && f.ObjectClass != nil && unlike(says.ObjectClass, f.ObjectClass):
			say("/objectClass", "the class is not the one of the opinion that the record follows")
		case says.Type != "" && f.Type != "" && says.Type != f.Type:
			say("/type", "the type is not the one of the opinion that the record follows")
		case len(says.Materials) > 0 && len(f.Materials) > 0 && unlike(&says.Materials[0].Term, &f.Materials[0].Term):
			say("/materials/0", "the material is not the one of the opinion that the record follows")
		case says.Dating != nil && f.Dating != nil && says.Dating.Date != "" && f.Dating.Date != "" &&
			says.Dating.Date != f.Dating.Date:
			say("/dating/date", "the date is not the one of the opinion that the record follows")
		}
	},
}

// unlike reports whether two terms bear different codes; words are not compared.
func unlike(a, b *find.Term) bool { return a.Code != "" && b.Code != "" && a.Code != b.Code }

var identityRules = []*Rule{idRepeated, recordRepeated, numberRepeated, referenceUnknown, linkOutside, linkLoop,
	linkOneSided, notLiftedButKept, outingNothingFound}

var idRepeated = &Rule{
	Kind: kinds.IdRepeated,
	Log: func(c *Case, log *Roll, say SayOf) {
		r := c.Report
		sayLocalIDs("people", r.People, func(p *find.Person) string { return p.ID }, say)
		sayLocalIDs("permissions", r.Permissions, func(p *find.Permission) string { return p.ID }, say)
		sayLocalIDs("outings", r.Outings, func(o *find.Outing) string { return o.ID }, say)
		eachRepeatedID(log, func(first, again int, alike bool) {
			if !alike && !log.numbered(first, again) {
				say(log.ref(again), "/id", log.words(first, again, "/id")+" has this id too and says something else")
			}
		})
	},
}

// sayLocalIDs says which records of a list bear the id of an earlier one and are not the same; all that name the id
// lead to the first.
func sayLocalIDs[T any](list string, records []T, id func(*T) string, say SayOf) {
	first := make(map[string]*T, len(records))
	for i := range records {
		switch r := &records[i]; {
		case id(r) == "":
		case first[id(r)] == nil:
			first[id(r)] = r
		case !reflect.DeepEqual(first[id(r)], r):
			say(reportRef, fmt.Sprintf("/%s/%d/id", list, i),
				"an earlier record of this list has this id too and says something else")
		}
	}
}

var recordRepeated = &Rule{
	Kind: kinds.RecordRepeated,
	Log: func(c *Case, log *Roll, say SayOf) {
		eachRepeatedID(log, func(first, again int, alike bool) {
			if alike {
				say(log.ref(again), "/id", "this is the same record as "+log.words(first, again, "/number")+", word for word")
			}
		})
	},
}

// eachRepeatedID calls visit with each find whose id an earlier one has, and whether the two say the same.
func eachRepeatedID(log *Roll, visit func(first, again int, alike bool)) {
	for _, group := range log.same(func(l *line) uint64 { return l.id }) {
		first := log.line(group[0])
		for _, i := range group[1:] {
			l := log.line(i)
			visit(group[0], i, l.twin == first.twin && l.bag == first.bag)
		}
	}
}

// numbered reports whether two finds with one id have it from their number, so that it is the number that repeats.
func (r *Roll) numbered(first, again int) bool {
	a, b := r.line(first), r.line(again)
	return b.flags&made != 0 && a.bag != 0 && b.bag != 0
}

// words names a record that came earlier, as its sender can find it: by cell or row, and by its sheet where that is not
// the one of the find of which it is said.
func (r *Roll) words(i, beside int, pointer string) string {
	ref := r.ref(i)
	if ref.Origin.Row == 0 {
		return fmt.Sprintf("record %d of the file", ref.Index+1)
	}
	text := fmt.Sprintf("row %d", ref.Origin.Row)
	if column, ok := ref.Origin.Layout.Column(pointer); ok && column.Column > 0 {
		text = find.ColumnLetters(column.Column) + strconv.Itoa(ref.Origin.Row)
	}
	if sheet := r.sheet(i); sheet != r.sheet(beside) {
		text += " of " + sheet
	}
	return text
}

var numberRepeated = &Rule{
	Kind: kinds.NumberRepeated,
	Log: func(c *Case, log *Roll, say SayOf) {
		eachRepeatedID(log, func(first, again int, alike bool) {
			if !alike && log.numbered(first, again) {
				say(log.ref(again), "/number", log.words(first, again, "/number")+" has this number too")
			}
		})
		for _, group := range log.same(func(l *line) uint64 { return l.bag }) {
			first := log.line(group[0])
			for _, i := range group[1:] {
				if id := log.line(i).id; id == 0 || id != first.id { // one id twice is spoken of above, or by id-repeated
					say(log.ref(i), "/number", log.words(group[0], i, "/number")+" has this number too")
				}
			}
		}
		log.eachSlipOfField(func(first, again int) {
			say(log.ref(again), "/number", log.words(first, again, "/number")+" has this number too, in another field")
		})
	},
}

// eachSlipOfField calls visit with two finds of one number and finder on two permissions that are numbered as one.
func (r *Roll) eachSlipOfField(visit func(first, again int)) {
	finds := map[uint16]int{}
	for i := range r.n {
		if l := r.line(i); l.bag != 0 {
			finds[l.permission]++
		}
	}
	if len(finds) < 2 {
		return
	}
	var pairs [][2]int
	shared := map[[2]uint16]int{}
	for _, group := range r.same(func(l *line) uint64 {
		if l.bag == 0 {
			return 0
		}
		label := r.labels[l.label+1 : l.label+1+uint32(r.labels[l.label])]
		return sumOf(fmt.Sprint(l.finder, " ", r.origins[l.origin].File, " ", find.FoldNumber(string(label))))
	}) {
		for n, i := range group[1:] {
			a, b := r.line(group[n]), r.line(i)
			if a.permission != b.permission && (a.id == 0 || a.id != b.id) {
				pairs = append(pairs, [2]int{group[n], i})
				shared[[2]uint16{min(a.permission, b.permission), max(a.permission, b.permission)}]++
			}
		}
	}
	for _, p := range pairs {
		a, b := r.line(p[0]).permission, r.line(p[1]).permission
		if 2*shared[[2]uint16{min(a, b), max(a, b)}] < min(finds[a], finds[b]) {
			visit(p[0], p[1])
		}
	}
}

var notLiftedButKept = &Rule{
	Kind: kinds.NotLiftedButKept,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Lifted != "none" {
			return
		}
		switch {
		case f.Weight.HasValue():
			say("/weight", "nothing was lifted, yet a weight is given")
		case f.Cleaning != nil && f.Cleaning.Code != "" && !f.Cleaning.Is("none", "not-cleaned", "uncleaned", "unknown",
			"not-known"):
			say("/cleaning", "nothing was lifted, yet it was cleaned")
		case len(f.Custody) > 0:
			say("/custody", "nothing was lifted, yet it was handed on")
		}
	},
}

var outingNothingFound = &Rule{
	Kind: kinds.OutingNothingFound,
	Check: func(c *Case, say Say) {
		if o := c.Outing; o != nil && o.NothingFound != nil && *o.NothingFound {
			say("/outing", "the outing named says that nothing was found")
		}
	},
}
