package find

import (
	"reflect"
	"strings"
	"sync"
	"unsafe"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/quantity"
)

// The quick way from a tape to a Find, for records that have the shape of the structs and no unknown
// members. What it makes is what DecodeFind makes of the same text; where it sees anything else it
// gives up, and DecodeFind is asked. The members and where they go are read once from the tags of
// the structs.

// shape says how the value of one Go type is read.
type shape struct {
	sort    sort
	typ     reflect.Type
	item    *shape // of pointers and lists
	size    uintptr
	members []shapeSlot // of structs: open addressing by the hash of the name
	fields  []shapeSlot // of structs: all of them in their order, those for unknown members too
	number  int         // among all shapes
}

type shapeSlot struct {
	hash   uint32
	name   string
	offset uintptr
	shape  *shape  // nil: empty
	sign   uintptr // where the word lies that tells whether the member is given
	of     uintptr // what to look at of it; nought: it always counts as given
}

// sort is what a Go type takes.
type sort uint8

const (
	unfit sort = iota
	textSort
	numberSort
	boolSort
	structSort
	pointerSort
	listSort
	textMapSort
	rawSort
)

var findShape = sync.OnceValue(func() *shape { return findShapes()[reflect.TypeFor[Find]()] })

// findShapes are the shapes of all that stands in a find, by their types.
var findShapes = sync.OnceValue(func() map[reflect.Type]*shape {
	made := map[reflect.Type]*shape{}
	shapeOf(reflect.TypeFor[Find](), made)
	return made
})

func shapeOf(t reflect.Type, made map[reflect.Type]*shape) *shape {
	if s := made[t]; s != nil {
		return s
	}
	s := &shape{typ: t, size: t.Size(), number: len(made)}
	made[t] = s
	switch {
	case t == reflect.TypeFor[Number]():
		s.sort = numberSort
	case t == reflect.TypeFor[jsontext.Value]():
		s.sort = rawSort
	case t == reflect.TypeFor[map[string]string]():
		s.sort = textMapSort
	case t.Kind() == reflect.String:
		s.sort = textSort
	case t.Kind() == reflect.Bool:
		s.sort = boolSort
	case t.Kind() == reflect.Pointer:
		s.sort, s.item = pointerSort, shapeOf(t.Elem(), made)
	case t.Kind() == reflect.Slice:
		s.sort, s.item = listSort, shapeOf(t.Elem(), made)
	case t.Kind() == reflect.Struct:
		s.sort = structSort
		s.readMembers(made)
	}
	return s
}

// readMembers lays out the members of a struct, those of embedded structs among them.
func (s *shape) readMembers(made map[reflect.Type]*shape) {
	size := 8
	for size < 4*s.typ.NumField() {
		size *= 2
	}
	s.members = make([]shapeSlot, size)
	var read func(t reflect.Type, base uintptr)
	read = func(t reflect.Type, base uintptr) {
		for i := range t.NumField() {
			f := t.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			switch {
			case f.Anonymous:
				read(f.Type, base+f.Offset)
			default:
				m := shapeSlot{hash: tape.Hash(name), name: name, offset: base + f.Offset, shape: shapeOf(f.Type, made)}
				m.setSign()
				if s.fields = append(s.fields, m); name != "" {
					s.addMember(m)
				}
			}
		}
	}
	read(s.typ, 0)
}

// setSign says where to look whether the member is given: texts and lists have a length, pointers and maps an
// address, numbers and booleans a byte that is set.
func (m *shapeSlot) setSign() {
	const word = unsafe.Sizeof(uintptr(0))
	aside := m.offset
	switch m.shape.sort {
	case textSort, listSort, rawSort:
		aside += word
	case numberSort:
		aside += unsafe.Offsetof(Number{}.known)
	case boolSort, pointerSort, textMapSort:
	default:
		return
	}
	m.sign, m.of = aside, ^uintptr(0)
	if m.shape.sort == numberSort || m.shape.sort == boolSort {
		m.sign, m.of = aside-aside%word, 0
		(*[word]byte)(unsafe.Pointer(&m.of))[aside%word] = 0xff
	}
}

func (s *shape) addMember(m shapeSlot) {
	i := int(m.hash) & (len(s.members) - 1)
	for s.members[i].shape != nil {
		i = (i + 1) & (len(s.members) - 1)
	}
	s.members[i] = m
}

// quickReader reads one record.
type quickReader struct {
	tape *tape.Tape
	text string // all that the record says; its texts are pieces of it
	from uint32 // where it starts on the tape
	room *slabs // for values that are made for good
	own  *room  // for those of a find whose memory is used again; else nil
}

// slabs hold room for values that pointers lead to. It is taken in pieces for several values, so that
// those of one find mostly come at no cost; a find keeps alive the few beside its own.
type slabs []slab

type slab struct {
	next unsafe.Pointer
	left int
}

// slabBytes is about how much room is taken at one go, slabMost for how many values at most.
const (
	slabBytes = 2048
	slabMost  = 16
)

var slabsInUse = sync.Pool{New: func() any { return new(slabs) }}

// take returns room for a value of the shape, all nought.
func (s *slabs) take(of *shape) unsafe.Pointer {
	if of.number >= len(*s) {
		*s = append(*s, make(slabs, of.number+1-len(*s))...)
	}
	b := &(*s)[of.number]
	if b.left == 0 {
		n := min(slabMost, slabBytes/max(int(of.size), 1))
		if n < 2 {
			return reflect.New(of.typ).UnsafePointer()
		}
		b.next, b.left = reflect.MakeSlice(reflect.SliceOf(of.typ), n, n).UnsafePointer(), n
	}
	made := b.next
	if b.left--; b.left == 0 {
		b.next = nil
	} else {
		b.next = unsafe.Add(made, of.size)
	}
	return made
}

// quickFind reads the find at a node of a tape into f, which is empty. False means that it was not
// read; f is then of no use.
func quickFind(t *tape.Tape, i uint32, f *Find, own *room) bool {
	n := &t.Nodes[i]
	if n.Kind != tape.Object {
		return false
	}
	room := slabsInUse.Get().(*slabs)
	defer slabsInUse.Put(room)
	r := quickReader{tape: t, text: string(t.Text[n.Start:n.End]), from: n.Start, room: room, own: own}
	return r.object(findShape(), i, unsafe.Pointer(f))
}

func (r *quickReader) take(of *shape) unsafe.Pointer {
	if r.own != nil {
		return r.own.take(of)
	}
	return r.room.take(of)
}

// value reads a node to where a value of the shape lives. The writes go through pointers of the
// field's own type, so that the garbage collector sees them.
func (r *quickReader) value(s *shape, i uint32, to unsafe.Pointer) bool {
	n := &r.tape.Nodes[i]
	switch s.sort {
	case textSort:
		if n.Kind != tape.String {
			return false
		}
		*(*string)(to) = r.string(i)
	case numberSort:
		return n.Kind == tape.Number && r.number(i, (*Number)(to))
	case boolSort:
		if n.Kind != tape.True && n.Kind != tape.False {
			return false
		}
		*(*bool)(to) = n.Kind == tape.True
	case structSort:
		return n.Kind == tape.Object && r.object(s, i, to)
	case pointerSort:
		if n.Kind == tape.Null {
			return false
		}
		made := r.take(s.item)
		*(*unsafe.Pointer)(to) = made
		return r.value(s.item, i, made)
	case listSort:
		return n.Kind == tape.Array && r.list(s, i, to)
	case textMapSort:
		return n.Kind == tape.Object && r.textMap(i, (*map[string]string)(to))
	case rawSort:
		if n.Kind != tape.Object && n.Kind != tape.Array {
			return false
		}
		*(*jsontext.Value)(to) = jsontext.Value(r.text[n.Start-r.from : n.End-r.from])
	default:
		return false
	}
	return true
}

func (r *quickReader) string(i uint32) string {
	n := &r.tape.Nodes[i]
	if n.Escaped {
		return string(r.tape.AppendString(nil, i))
	}
	return r.text[n.Start-r.from : n.End-r.from]
}

func (r *quickReader) number(i uint32, to *Number) bool {
	n := &r.tape.Nodes[i]
	d, err := quantity.ParseDecimal(r.text[n.Start-r.from : n.End-r.from])
	*to = Number{d, true}
	return err == nil
}

func (r *quickReader) object(s *shape, i uint32, to unsafe.Pointer) bool {
	end := r.tape.Nodes[i].Next
	for at := i + 1; at < end; {
		name, value := &r.tape.Nodes[at], at+1
		m := s.member(name.Count, r.text[name.Start-r.from:name.End-r.from])
		if m == nil || !r.value(m.shape, value, unsafe.Add(to, m.offset)) {
			return false
		}
		at = r.tape.Nodes[value].Next
	}
	return true
}

func (s *shape) member(hash uint32, name string) *shapeSlot {
	for i := int(hash) & (len(s.members) - 1); s.members[i].shape != nil; i = (i + 1) & (len(s.members) - 1) {
		if m := &s.members[i]; m.hash == hash && m.name == name {
			return m
		}
	}
	return nil
}

// sliceHeader is how any list begins: its address, its length and its room.
type sliceHeader struct {
	first       unsafe.Pointer
	length, cap int
}

func (r *quickReader) list(s *shape, i uint32, to unsafe.Pointer) bool {
	count := int(r.tape.Nodes[i].Count)
	if count == 1 { // as most are
		first := r.take(s.item)
		*(*sliceHeader)(to) = sliceHeader{first, 1, 1}
		return r.value(s.item, i+1, first)
	}
	made := reflect.MakeSlice(s.typ, count, count)
	reflect.NewAt(s.typ, to).Elem().Set(made)
	if count == 0 {
		return true
	}
	first := made.UnsafePointer()
	at := i + 1
	for k := range count {
		if !r.value(s.item, at, unsafe.Add(first, uintptr(k)*s.item.size)) {
			return false
		}
		at = r.tape.Nodes[at].Next
	}
	return true
}

func (r *quickReader) textMap(i uint32, to *map[string]string) bool {
	n := &r.tape.Nodes[i]
	made := make(map[string]string, n.Count)
	for at := i + 1; at < n.Next; at += 2 {
		if r.tape.Nodes[at+1].Kind != tape.String {
			return false
		}
		made[r.string(at)] = r.string(at + 1)
	}
	*to = made
	return true
}
