package find

import (
	"strconv"
	"strings"
)

// Terms calls visit for each term of the find that takes its codes from a list, with its pointer
// and the name of the list. The test holds it to the table of fields.
func (f *Find) Terms(visit func(pointer, list string, t *Term)) {
	one := func(t *Term, pointer, list string) {
		if t != nil {
			visit(pointer, list, t)
		}
	}
	many := func(ts []Term, pointer, list string) {
		for i := range ts {
			visit(pointer+"/"+strconv.Itoa(i), list, &ts[i])
		}
	}
	for i := range f.Associated {
		one(f.Associated[i].Relation, at("/associated", i, "/relation"), "relation")
	}
	if f.Position != nil {
		f.Position.terms(positionMembers, one)
	}
	for i := range f.OtherPositions {
		f.OtherPositions[i].terms(positionMembers.below(at("/otherPositions", i, "")), one)
	}
	if f.Depth != nil {
		f.Depth.terms(depthMembers, one)
	}
	for i := range f.OtherDepths {
		f.OtherDepths[i].terms(depthMembers.below(at("/otherDepths", i, "")), one)
	}
	one(f.Layer, "/layer", "layer")
	one(f.ObjectClass, "/objectClass", "object-class")
	one(f.Use, "/use", "use")
	if f.Lot != nil {
		one(f.Lot.Rule, "/lot/rule", "lot-rule")
		for i := range f.Lot.Breakdown {
			one(f.Lot.Breakdown[i].Material, at("/lot/breakdown", i, "/material"), "material")
		}
	}
	for i := range f.Materials {
		visit(materialPlaces.at(i), "material", &f.Materials[i].Term)
	}
	many(f.Coating, "/coating", "technique")
	many(f.Technique, "/technique", "technique")
	one(f.Magnetic, "/magnetic", "magnetic")
	one(f.WeightState, "/weightState", "weight-state")
	if c := f.Condition; c != nil {
		one(c.Completeness, "/condition/completeness", "completeness")
		one(c.State, "/condition/state", "condition-state")
		many(c.Corrosion, "/condition/corrosion", "corrosion")
		one(c.Wear, "/condition/wear", "wear")
	}
	for i := range f.Traces {
		visit(at("/traces", i, ""), "trace", &f.Traces[i].Term)
		one(f.Traces[i].When, at("/traces", i, "/when"), "damage-when")
	}
	for i := range f.Marks {
		one(f.Marks[i].Kind, at("/marks", i, "/kind"), "mark-kind")
		one(f.Marks[i].Side, at("/marks", i, "/side"), "mark-side")
	}
	if f.Dating != nil {
		f.Dating.terms(datingMembers, one)
	}
	for i := range f.OtherDatings {
		f.OtherDatings[i].terms(datingMembers.below(at("/otherDatings", i, "")), one)
	}
	if f.Identification != nil {
		one(f.Identification.Basis, "/identification/basis", "identification-basis")
		one(f.Identification.Seen, "/identification/seen", "opinion-seen")
	}
	for i := range f.Opinions {
		one(f.Opinions[i].Seen, at("/opinions", i, "/seen"), "opinion-seen")
		one(f.Opinions[i].Basis, at("/opinions", i, "/basis"), "identification-basis")
	}
	for i := range f.Media {
		one(f.Media[i].View, at("/media", i, "/view"), "photo-view")
	}
	one(f.Cleaning, "/cleaning", "cleaning")
	many(f.Hazards, "/hazards", "hazard")
	for i := range f.Notified {
		one(f.Notified[i].Status, at("/notified", i, "/status"), "notification-status")
	}
	one(f.Disposition, "/disposition", "disposition")
	many(f.SensitivityReasons, "/sensitivityReasons", "sensitivity-reason")
}

func (p *Position) terms(at pair, one func(*Term, string, string)) {
	one(p.UncertaintyBasis, at[0], "uncertainty-basis")
	one(p.Method, at[1], "position-method")
}

func (d *Depth) terms(at pair, one func(*Term, string, string)) {
	one(d.Basis, at[0], "depth-basis")
	one(d.Surface, at[1], "depth-surface")
}

func (d *Dating) terms(at pair, one func(*Term, string, string)) {
	one(d.Event, at[0], "dating-event")
	one(d.Basis, at[1], "identification-basis")
}

// Quantities calls visit for each quantity of the find with its pointer and the unit its numbers
// are in: cm, mm, g, or empty for a count.
func (f *Find) Quantities(visit func(pointer, unit string, q *Quantity)) {
	one := func(q *Quantity, pointer, unit string) {
		if q != nil {
			visit(pointer, unit, q)
		}
	}
	if f.Depth != nil {
		visit("/depth", "cm", &f.Depth.Quantity)
	}
	for i := range f.OtherDepths {
		visit(at("/otherDepths", i, ""), "cm", &f.OtherDepths[i].Quantity)
	}
	one(f.Count, "/count", "")
	if f.Lot != nil {
		for i := range f.Lot.Breakdown {
			one(f.Lot.Breakdown[i].Count, at("/lot/breakdown", i, "/count"), "")
			one(f.Lot.Breakdown[i].Weight, at("/lot/breakdown", i, "/weight"), "g")
		}
	}
	if d := f.Dimensions; d != nil {
		one(d.Length, "/dimensions/length", "mm")
		one(d.Width, "/dimensions/width", "mm")
		one(d.Height, "/dimensions/height", "mm")
		one(d.Thickness, "/dimensions/thickness", "mm")
		one(d.Diameter, "/dimensions/diameter", "mm")
	}
	one(f.Weight, "/weight", "g")
}

// Codes calls visit for each plain code of a closed list, or of the owner list, that is given.
func (f *Find) Codes(visit func(pointer, list string, code *string)) {
	one := func(code *string, pointer, list string) {
		if *code != "" {
			visit(pointer, list, code)
		}
	}
	one(&f.Kind, "/kind", "kind")
	one(&f.Lifted, "/lifted", "lifted")
	if f.Dating != nil {
		one(&f.Dating.Certainty, "/dating/certainty", "certainty")
	}
	for i := range f.OtherDatings {
		one(&f.OtherDatings[i].Certainty, at("/otherDatings", i, "/certainty"), "certainty")
	}
	if f.Identification != nil {
		one(&f.Identification.Certainty, "/identification/certainty", "certainty")
	}
	for i := range f.Opinions {
		one(&f.Opinions[i].Certainty, at("/opinions", i, "/certainty"), "certainty")
	}
	for i := range f.Owners {
		one(&f.Owners[i].Code, at("/owners", i, "/code"), "owner")
	}
	one(&f.Sensitivity, "/sensitivity", "sensitivity")
}

// Days calls visit for each member that holds a plain day.
func (f *Find) Days(visit func(pointer string, day *string)) {
	one := func(day *string, pointer string) {
		if *day != "" {
			visit(pointer, day)
		}
	}
	if f.Retracted != nil {
		one(&f.Retracted.On, "/retracted/on")
	}
	if f.Depth != nil {
		one(&f.Depth.On, "/depth/on")
	}
	for i := range f.OtherDepths {
		one(&f.OtherDepths[i].On, at("/otherDepths", i, "/on"))
	}
	if f.Identification != nil {
		one(&f.Identification.On, "/identification/on")
	}
	for i := range f.Opinions {
		one(&f.Opinions[i].On, at("/opinions", i, "/on"))
	}
	for i := range f.Notified {
		one(&f.Notified[i].On, at("/notified", i, "/on"))
		one(&f.Notified[i].Deadline, at("/notified", i, "/deadline"))
	}
	for i := range f.Custody {
		one(&f.Custody[i].On, at("/custody", i, "/on"))
	}
	one(&f.EmbargoUntil, "/embargoUntil")
}

func at(list string, i int, member string) string {
	if i == 0 { // most lists have one element
		return list + "/0" + member
	}
	return list + "/" + strconv.Itoa(i) + member
}

// pair is the pointers of the two terms that some records have.
type pair [2]string

var (
	positionMembers = pair{"/position/uncertaintyBasis", "/position/method"}
	depthMembers    = pair{"/depth/basis", "/depth/surface"}
	datingMembers   = pair{"/dating/event", "/dating/basis"}
)

// below returns the pointers of the same members in another record.
func (p pair) below(record string) pair {
	for i, pointer := range p {
		p[i] = record + pointer[strings.LastIndexByte(pointer, '/'):]
	}
	return p
}

// places are the pointers of the first elements of a list that most finds have.
type places struct {
	list  string
	ready [8]string
}

var materialPlaces = placesOf("/materials")

func placesOf(list string) *places {
	p := &places{list: list}
	for i := range p.ready {
		p.ready[i] = at(list, i, "")
	}
	return p
}

func (p *places) at(i int) string {
	if i < len(p.ready) {
		return p.ready[i]
	}
	return at(p.list, i, "")
}
