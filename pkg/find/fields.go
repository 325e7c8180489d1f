package find

import (
	"cmp"
	"strconv"
	"strings"
	"sync"
)

// FieldKind says what a cell of a field holds.
type FieldKind uint8

// The kinds of field.
const (
	Text         FieldKind = iota + 1 // words, codes, ids, dates in canonical form
	Decimal                           // a Number
	Flag                              // true or false
	TermText                          // the words of a Term; its canonical parts are fields of their own
	QuantityText                      // the words of a Quantity; likewise
	PointerMap                        // absent and generalised: "depth=not-measured; position=withheld"
	JSON                              // a JSON value in one cell
)

// A Field is one leaf of a record: its pointer, its flat name and what a cell of it holds. In a
// list the position is "#".
type Field struct {
	Name    string // flat name: materials.#.certainty
	Pointer string // JSON Pointer: /materials/#/certainty
	Title   string // what the schema calls it
	Kind    FieldKind
	Unit    string // the unit its number is in, if it has one: cm, mm, g
	Part    bool   // a canonical part of the Term or Quantity named before the last dot
	Private bool   // messages never quote it
	List    string // the code list its codes come from, if it has one
	Sharing string // the class that says who may see it, where the schema names one
}

// Record is what has a table of fields.
type Record interface {
	Find | Person | Permission | Outing | Report
}

// FieldsOf returns the table of fields of a Find, Person, Permission, Outing or Report, in the
// order of the schema. The lists of a report's people, permissions, outings and finds are not
// part of it, nor are columns, whose names are the sender's own.
func FieldsOf[T Record]() []Field { return treeOf[T]().fields }

// tree is the map of the record seen from one record: what the shapes say, at every place where they stand.
type tree struct {
	fields []Field
	byName map[string]int
	top    level
}

// level is the members of one object at one place, by their numbers.
type level struct {
	nodes []node
	with  [sorts][]int // the numbers of those at or below which something of a sort stands
}

// node is a member at one place in the record. Its name and pointer begin at the record, or at the item of the
// innermost list that it stands in.
type node struct {
	member        *member
	name, pointer string
	first         [8]string // of a list: the pointers of its first items, for most have no more
	skip          bool      // it has no flat name
	field         *Field    // nil: only what stands in it is given
	below         level
	is            [sorts]bool // what visitors look for
}

// What visitors look for.
const (
	terms = iota
	quantities
	codes
	days
	locals
	sorts
)

var trees sync.Map // *shape to *tree

func treeOf[T Record]() *tree {
	s := any((*T)(nil)).(object).shape()
	if t, ok := trees.Load(s); ok {
		return t.(*tree)
	}
	t := &tree{byName: map[string]int{}}
	t.top = t.grow(s, branch{root: s})
	t.link(t.top.nodes, "")
	made, _ := trees.LoadOrStore(s, t)
	return made.(*tree)
}

// branch is what the members of an object have from where it stands.
type branch struct {
	root          *shape
	name, pointer string // of the object, from the record or the item of the innermost list
	flat, full    string // the same from the record, with # for positions
	unit          string
	list          string // of the codes of a term
	private       bool
	sharing       string
}

// grow makes the nodes of the members of an object and adds their fields.
func (t *tree) grow(s *shape, from branch) level {
	l := level{nodes: make([]node, len(s.members))}
	for i := range s.members {
		m, n := &s.members[i], &l.nodes[i]
		*n = node{member: m, name: join(from.name, m.name), pointer: from.pointer + "/" + m.name}
		to := branch{from.root, n.name, n.pointer, join(from.flat, m.name), from.full + "/" + m.name,
			cmp.Or(m.unit, from.unit), m.list, m.private || from.private, cmp.Or(m.sharing, from.sharing)}
		if from.name == "" && from.flat != "" { // in an item of a list
			n.name = "." + m.name
			to.name = n.name
		}
		if from.flat == "" && (m.name == "columns" || from.root == shapeOfReport && isRecordList(m.name)) ||
			m.part && (m.name == "verbatim" || m.name == "unit") {
			n.skip = true
			continue
		}
		if m.part && m.name == "code" {
			to.list = from.list
		}
		t.add(n, m, to)
		for sort := range l.with {
			if n.is[sort] || len(n.below.with[sort]) > 0 {
				l.with[sort] = append(l.with[sort], i)
			}
		}
	}
	return l
}

// add adds the field of a node, and what stands below it.
func (t *tree) add(n *node, m *member, to branch) {
	if m.kind == listKind || m.kind == textsKind {
		to.name, to.pointer, to.flat, to.full = "", "", to.flat+".#", to.full+"/#"
		for i := range n.first {
			n.first[i] = n.pointer + "/" + strconv.Itoa(i)
		}
	}
	f := Field{Name: to.flat, Pointer: to.full, Title: m.title, Private: to.private, List: to.list,
		Sharing: to.sharing, Part: m.part}
	switch m.kind {
	case textKind, textsKind:
		f.Kind = Text
		n.is[codes] = m.kind == textKind && m.list != "" && !m.part
		n.is[days] = m.day
		n.is[locals] = m.kind == textKind && localIDs[m.name] != "" && !strings.HasPrefix(to.full, "/notified/")
	case numberKind:
		f.Kind, f.Unit = Decimal, to.unit
	case flagKind, choiceKind:
		f.Kind = Flag
	case textMapKind:
		f.Kind = PointerMap
	case jsonKind:
		f.Kind = JSON
	case objectKind, listKind:
		switch {
		case m.of.term:
			f.Kind = TermText
			n.is[terms] = m.list != ""
		case m.of.quantity:
			f.Kind, f.Unit = QuantityText, to.unit
			n.is[quantities] = true
		case m.of.name == "Area":
			f.Kind = JSON
		}
	}
	if f.Kind != 0 {
		t.byName[f.Name] = len(t.fields)
		t.fields = append(t.fields, f)
	}
	if m.of != nil && f.Kind != JSON {
		n.below = t.grow(m.of, to)
	}
}

// link leads the nodes to their fields, now that the table does not move any more.
func (t *tree) link(nodes []node, flat string) {
	for i := range nodes {
		n := &nodes[i]
		if n.skip {
			continue
		}
		name := join(flat, n.member.name)
		if n.member.kind == listKind || n.member.kind == textsKind {
			name += ".#"
		}
		if at, ok := t.byName[name]; ok {
			n.field = &t.fields[at]
		}
		t.link(n.below.nodes, name)
	}
}

func isRecordList(name string) bool {
	return name == "people" || name == "permissions" || name == "outings" || name == "finds"
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "." + b
}
