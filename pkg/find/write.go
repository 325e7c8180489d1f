package find

import (
	"encoding/binary"
	"reflect"
	"slices"
	"sync"
	"unicode/utf8"
	"unsafe"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
)

// The quick way from a Find to JSON, the other way round of quick.go: the members and where they are
// are read once from the structs. What it writes is what the JSON library writes, byte for byte;
// where a find holds JSON of its own, or text that is no UTF-8, it gives up and the library is asked.

// Append appends the find as compact JSON in schema order, as Marshal writes it.
func Append(b []byte, f *Find) ([]byte, error) {
	w := quickWriter{text: b}
	if w.value(findPlan(), unsafe.Pointer(f)) {
		return w.text, nil
	}
	raw, err := marshal(f)
	return append(b, raw...), err
}

// Lay puts the find on a tape: the text that Append writes, and the nodes that the tape makes of that
// text; a null that is Known stands for each of the members that are known. The text of the tape is written
// over. False means that it cannot; the tape is then of no use.
func Lay(t *tape.Tape, f *Find, known Members) bool {
	w := quickWriter{text: t.Text[:0], nodes: t.Nodes[:0], taped: true}
	ok := w.object(findPlan(), unsafe.Pointer(f), known)
	t.Text, t.Nodes = w.text, w.nodes
	return ok && tape.Holds(w.text)
}

// writePlan says how a value of one shape is written.
type writePlan struct {
	sort    sort
	item    *writePlan // of pointers and lists
	size    uintptr    // of an item
	members []planMember
}

type planMember struct {
	key    string // "depth":
	name   string
	hash   uint32
	offset uintptr
	sort   sort
	plan   *writePlan
	sign   uintptr // where the word lies that tells whether the member is given, and what to look at of it
	of     uintptr
}

var findPlan = sync.OnceValue(func() *writePlan { return planOf(findShape(), map[*shape]*writePlan{}) })

func planOf(s *shape, made map[*shape]*writePlan) *writePlan {
	if p := made[s]; p != nil {
		return p
	}
	p := &writePlan{sort: s.sort}
	made[s] = p
	if s.sort == structSort && s.typ == reflect.TypeFor[Area]() {
		p.sort = unfit // its coordinates are JSON
	}
	if s.item != nil {
		p.item, p.size = planOf(s.item, made), s.item.size
	}
	for _, m := range s.fields {
		plan := planOf(m.shape, made)
		member := planMember{`"` + m.name + `":`, m.name, m.hash, m.offset, plan.sort, plan, m.sign, m.of}
		switch {
		case plan.sort == listSort || plan.sort == rawSort: // given is what has an address: an empty list is written
			member.sign = m.offset
		case m.shape.sort == structSort || m.shape.sort == unfit:
			member.of = 0
		}
		p.members = append(p.members, member)
	}
	return p
}

// quickWriter writes one value behind what is there, and its nodes if it is to.
type quickWriter struct {
	text  []byte
	nodes []tape.Node
	taped bool
}

// value writes a value that is given. False: it cannot be written this way.
func (w *quickWriter) value(p *writePlan, at unsafe.Pointer) bool {
	switch p.sort {
	case textSort:
		return w.string(*(*string)(at), tape.String)
	case numberSort:
		return w.number((*Number)(at))
	case boolSort:
		w.bool(*(*bool)(at))
		return true
	case pointerSort:
		return w.value(p.item, *(*unsafe.Pointer)(at))
	case structSort:
		return w.object(p, at, Members{})
	case listSort:
		return w.list(p, at)
	case textMapSort:
		return w.textMap(*(*map[string]string)(at))
	}
	return false
}

func (w *quickWriter) object(p *writePlan, at unsafe.Pointer, known Members) bool {
	self := w.open('{', tape.Object)
	count := uint32(0)
	for i := range p.members {
		m := &p.members[i]
		if m.of == 0 { // it cannot be written this way
			return false
		}
		if *(*uintptr)(unsafe.Add(at, m.sign))&m.of == 0 { // it is not given
			continue
		}
		field := unsafe.Add(at, m.offset)
		if m.sort == rawSort {
			if m.name != "" || len(*(*jsontext.Value)(field)) > 0 {
				return false
			}
			continue
		}
		if count++; count > 1 {
			w.text = append(w.text, ',')
		}
		if w.taped {
			first := uint32(len(w.text) + 1)
			w.nodes = append(w.nodes, tape.Node{Start: first, End: first + uint32(len(m.name)), Next: uint32(len(w.nodes) + 1), Count: m.hash, Kind: tape.Name, Plain: true})
		}
		w.text = append(w.text, m.key...)
		if known.Has(i & 127) {
			start := uint32(len(w.text))
			w.text = append(w.text, "null"...)
			w.node(tape.Node{Start: start, End: start + 4, Kind: tape.Null, Known: true})
			continue
		}
		if m.sort == textSort {
			if !w.string(*(*string)(field), tape.String) {
				return false
			}
		} else if !w.value(m.plan, field) {
			return false
		}
	}
	w.close('}', self, count)
	return true
}

func (w *quickWriter) list(p *writePlan, at unsafe.Pointer) bool {
	self := w.open('[', tape.Array)
	list := *(*[]byte)(at)
	first := unsafe.Pointer(unsafe.SliceData(list))
	for i := range len(list) {
		if i > 0 {
			w.text = append(w.text, ',')
		}
		if !w.value(p.item, unsafe.Add(first, uintptr(i)*p.size)) {
			return false
		}
	}
	w.close(']', self, uint32(len(list)))
	return true
}

func (w *quickWriter) textMap(m map[string]string) bool {
	self := w.open('{', tape.Object)
	var room [16]string
	names := room[:0]
	for name := range m {
		names = append(names, name)
	}
	if len(names) > tape.MostMembers {
		return false
	}
	slices.Sort(names)
	for i, name := range names {
		if i > 0 {
			w.text = append(w.text, ',')
		}
		if !w.string(name, tape.Name) {
			return false
		}
		w.text = append(w.text, ':')
		if !w.string(m[name], tape.String) {
			return false
		}
	}
	w.close('}', self, uint32(len(names)))
	return true
}

func (w *quickWriter) open(c byte, k tape.Kind) (self int) {
	self = len(w.nodes)
	if w.taped {
		w.nodes = append(w.nodes, tape.Node{Start: uint32(len(w.text)), Kind: k})
	}
	w.text = append(w.text, c)
	return self
}

func (w *quickWriter) close(c byte, self int, count uint32) {
	w.text = append(w.text, c)
	if w.taped {
		n := &w.nodes[self]
		n.End, n.Next, n.Count = uint32(len(w.text)), uint32(len(w.nodes)), count
	}
}

func (w *quickWriter) bool(b bool) {
	start := len(w.text)
	kind := tape.False
	if b {
		kind, w.text = tape.True, append(w.text, "true"...)
	} else {
		w.text = append(w.text, "false"...)
	}
	w.node(tape.Node{Start: uint32(start), End: uint32(len(w.text)), Kind: kind})
}

func (w *quickWriter) number(n *Number) bool {
	start := len(w.text)
	w.text = n.value.Append(w.text)
	w.node(tape.Node{Start: uint32(start), End: uint32(len(w.text)), Kind: tape.Number})
	return !w.taped || len(w.text)-start <= tape.MaxDigits
}

func (w *quickWriter) node(n tape.Node) {
	if w.taped {
		n.Next = uint32(len(w.nodes) + 1)
		w.nodes = append(w.nodes, n)
	}
}

func (w *quickWriter) string(s string, k tape.Kind) bool {
	start := len(w.text) + 1
	b, plain, escaped, ok := appendQuoted(w.text, s)
	if w.text = b; !ok {
		return false
	}
	if w.taped {
		n := tape.Node{Start: uint32(start), End: uint32(len(w.text) - 1), Kind: k, Plain: plain, Escaped: escaped}
		if k == tape.Name {
			if escaped {
				return false
			}
			n.Count = tape.Hash(s)
		}
		w.node(n)
	}
	return true
}

// appendQuoted appends a text as a JSON string, as jsontext.AppendQuote does, and tells whether it is
// of ASCII and whether something in it had to be escaped. It takes no text that is not UTF-8.
func appendQuoted(b []byte, s string) (out []byte, plain, escaped, ok bool) {
	const (
		ones  = 0x0101010101010101
		highs = 0x8080808080808080
	)
	var wide, hit uint64
	i := 0
	for ; i+8 <= len(s); i += 8 {
		c := binary.LittleEndian.Uint64(unsafe.Slice(unsafe.StringData(s[i:]), 8))
		// A byte that is below 0x20, a quote or a backslash borrows into its high bit; those above it may
		// then have one too, and are looked at again below.
		hit |= ((c - ones*0x20) | (c ^ ones*'"' - ones) | (c ^ ones*'\\' - ones)) &^ c & highs
		wide |= c
	}
	for ; i < len(s); i++ {
		c := s[i]
		if c < 0x20 || c == '"' || c == '\\' {
			hit = 1
		}
		wide |= uint64(c)
	}
	plain = wide&highs == 0
	if hit == 0 {
		if !plain && !utf8.ValidString(s) {
			return b, false, false, false
		}
		b = append(b, '"')
		b = append(b, s...)
		return append(b, '"'), plain, false, true
	}
	start := len(b)
	b, err := jsontext.AppendQuote(b, s)
	return b, plain, slices.Contains(b[start:], '\\'), err == nil
}
