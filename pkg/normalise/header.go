package normalise

import (
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
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
		p.Roles = append([]find.Term(nil), p.Roles...)
		for j := range p.Roles {
			n.term(indexed(indexed("/people", i)+"/roles", j), "role", &p.Roles[j])
		}
	}
	for i := range r.Permissions {
		n.permission(indexed("/permissions", i), &r.Permissions[i])
	}
	for i := range r.Outings {
		n.outing(indexed("/outings", i), &r.Outings[i])
	}
	if scheme := vocabulary.Get("audience"); scheme != nil && r.Audience != "" {
		if m, ok := scheme.Match(r.Audience); ok {
			r.Audience = m.Code
		}
	}
	return n.list
}

func (n *normaliser) permission(pointer string, p *find.Permission) {
	p.Basis, p.LandUse = clone(p.Basis), clone(p.LandUse)
	n.term(pointer+"/basis", "permission-basis", p.Basis)
	n.term(pointer+"/landUse", "land-use", p.LandUse)
	p.Basis, p.LandUse = kept(p.Basis), kept(p.LandUse)
	n.headerDay(pointer+"/validFrom", &p.ValidFrom)
	n.headerDay(pointer+"/validTo", &p.ValidTo)
	p.PloughDepth = n.headerDepth(pointer+"/ploughDepth", p.PloughDepth)
	p.MaxDepth = n.headerDepth(pointer+"/maxDepth", p.MaxDepth)
}

func (n *normaliser) outing(pointer string, o *find.Outing) {
	o.Method, o.DigRule = clone(o.Method), clone(o.DigRule)
	n.term(pointer+"/method", "detecting-method", o.Method)
	n.term(pointer+"/digRule", "dig-rule", o.DigRule)
	o.Method, o.DigRule = kept(o.Method), kept(o.DigRule)
	n.headerDay(pointer+"/date", &o.Date)
	n.headerTime(pointer+"/start", &o.Start)
	n.headerTime(pointer+"/end", &o.End)
}

func clone[T any](v *T) *T {
	if v == nil {
		return nil
	}
	c := *v
	return &c
}

// kept takes away a term whose words only said that there is none.
func kept(t *find.Term) *find.Term {
	if _, none := absentReason(t); none {
		return nil
	}
	return t
}

// headerDay brings a day to ISO 8601; words that say that there is none are taken away.
func (n *normaliser) headerDay(pointer string, day *string) {
	if *day == "" {
		return
	}
	r, err := edtf.NormaliseFound(*day, edtf.Options{Order: n.o.Order, Pivot: n.o.Pivot, Serial: n.o.Serial})
	switch {
	case err != nil:
		n.fault(pointer, err)
	default:
		*day = r.Date.String() // empty when the text says that there is none
	}
}

func (n *normaliser) headerTime(pointer string, text *string) {
	if *text == "" {
		return
	}
	t, err := edtf.ParseTime(*text)
	if err != nil {
		n.fault(pointer, err)
		return
	}
	*text = t
}

func (n *normaliser) headerDepth(pointer string, q *find.Quantity) *find.Quantity {
	if q == nil {
		return nil
	}
	c := *q
	if c.Verbatim == "" || c.HasValue() {
		return &c
	}
	def, _ := n.unitOf(pointer, "cm", &c)
	r, err := quantity.NormaliseLength(c.Verbatim, quantity.Options{Into: quantity.CM, Default: def})
	switch {
	case err != nil:
		n.fault(pointer, err)
	case r.Absent != "":
		return nil
	default:
		c.SetValue(r.Quantity)
	}
	return &c
}
