package find

//go:generate go run ../../cmd/internal/recordmap -root ../..

import "github.com/go-json-experiment/json/jsontext"

// The map of the record says of each object which members it has, in the order of the schema, and how to reach
// them. It is generated (map.gen.go): names and notes come from the schema, access from the structs. Reading,
// writing, setting, flat names, visiting and cloning are loops over it.

// kind is what the field of a member holds.
type kind uint8

const (
	textKind    kind = iota + 1 // string
	numberKind                  // Number
	flagKind                    // bool
	choiceKind                  // *bool
	textsKind                   // []string
	textMapKind                 // map[string]string
	jsonKind                    // jsontext.Value
	objectKind                  // a pointer to a struct
	listKind                    // a list of structs
)

// member is one row of the map.
type member struct {
	name    string
	key     string // "name":
	title   string // from the schema
	kind    kind
	of      *shape // of an object, or of the items of a list
	unit    string // of the quantity, or the quantities, that it holds
	list    string // the code list that its codes are from
	sharing string // the class that says who may see it
	private bool   // messages never quote it
	part    bool   // it belongs to a Term or Quantity
	day     bool   // a plain day
}

// shape is the rows of one object.
type shape struct {
	name           string
	members        []member
	term, quantity bool           // it is a Term or Quantity, or embeds one
	byName         map[string]int // number of a member
}

// object is a struct of the record, reached by the numbers of its members. Its methods are generated.
type object interface {
	shape() *shape
	next(i int) int                  // the first given member from number i on, or -1
	leaf(i int) any                  // a pointer to the field of a member that is neither object nor list
	child(i int, create bool) object // the object of a member, made if there is none and create is set; or nil
	drop(i int)                      // takes away the object of a member
	list(i int) list                 // the list of a member
	unknown() *jsontext.Value        // members that this version does not know
}

// list is a list of structs.
type list interface {
	length() int
	item(i int) object
	resize(n int) // keeps what is there, as far as it goes
	clear()
}

// listOf is a list of structs that stand in it.
type listOf[T any, P interface {
	*T
	object
}] []T

func (l *listOf[T, P]) length() int       { return len(*l) }
func (l *listOf[T, P]) item(i int) object { return P(&(*l)[i]) }

func (l *listOf[T, P]) resize(n int) {
	grown := make([]T, n)
	copy(grown, *l)
	*l = grown
}

func (l *listOf[T, P]) clear() { *l = nil }

// pointersTo is a list of pointers to structs.
type pointersTo[T any, P interface {
	*T
	object
}] []P

func (l *pointersTo[T, P]) length() int { return len(*l) }
func (l *pointersTo[T, P]) item(i int) object {
	if (*l)[i] == nil {
		(*l)[i] = new(T)
	}
	return (*l)[i]
}

func (l *pointersTo[T, P]) resize(n int) {
	grown := make([]P, n)
	copy(grown, *l)
	*l = grown
}

func (l *pointersTo[T, P]) clear() { *l = nil }

func newShape(name string, members []member) *shape {
	s := &shape{name: name, members: members, byName: make(map[string]int, len(members))}
	for i := range members {
		if members[i].part {
			s.term = s.term || members[i].name == "code"
			s.quantity = s.quantity || members[i].name == "min"
		}
		members[i].key = `"` + members[i].name + `":`
		s.byName[members[i].name] = i
	}
	return s
}

// number returns the number of a member, or -1. Most objects name theirs in the order of the schema, so that what
// comes next is not far behind the last.
func (s *shape) number(name string, last int) int {
	for i := last + 1; i < min(last+8, len(s.members)); i++ {
		if s.members[i].name == name {
			return i
		}
	}
	if i, ok := s.byName[name]; ok {
		return i
	}
	return -1
}
