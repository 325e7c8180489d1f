package find

import (
	"bytes"
	"slices"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/quantity"
)

// DecodeFind reads one find from JSON into f, which is empty. A member that does not have the shape of the schema
// is kept as it is in Unknown and comes out again unchanged; validation says what is wrong with it. What is no
// JSON object, or is cut off in its middle, is an error.
func DecodeFind(raw jsontext.Value, f *Find) error { return decodeObject(raw, f) }

// decodeObject reads an object, which is empty, from its JSON text.
func decodeObject(raw []byte, o object) error {
	if bytes.Equal(raw, []byte("null")) {
		return nil // as the standard library has it
	}
	t := tapes.Get().(*tape.Tape)
	defer tapes.Put(t)
	if !t.Parse(raw) {
		if err := t.ParseStrict(raw); err != nil {
			return explained(err)
		}
	}
	if t.Nodes[0].Kind != tape.Object {
		return &ReadError{Code: "json-syntax", Msg: "the text is not a JSON object"}
	}
	readObject(t, 0, o)
	t.Text = nil
	return nil
}

var tapes = sync.Pool{New: func() any { return new(tape.Tape) }}

// readObject reads the object at a node of a tape.
func readObject(t *tape.Tape, i uint32, o object) {
	n := &t.Nodes[i]
	r := reader{tape: t, text: string(t.Text[n.Start:n.End]), from: n.Start}
	r.members(i, o)
}

// readWhole reads the only object of a tape and reports whether all of it fits.
func readWhole(t *tape.Tape, o object) bool {
	r := reader{tape: t, text: string(t.Text)}
	return r.object(0, o)
}

// reader reads one record. Its texts are pieces of a single copy of what the record says.
type reader struct {
	tape *tape.Tape
	text string
	from uint32 // where the record begins in the text of the tape
}

// members reads the members of a record. Those that do not fit go behind the ones that are not known.
func (r *reader) members(i uint32, o object) {
	var misfits []byte
	s, last := o.shape(), -1
	end := r.tape.Nodes[i].Next
	for at := i + 1; at < end; at = r.tape.Nodes[at+1].Next {
		k := r.number(s, at, last)
		if k < 0 {
			r.keep(o.unknown(), at)
			continue
		}
		last = k
		if !r.value(&s.members[k], o, k, at+1) {
			misfits = r.appendMember(misfits, at)
			empty(&s.members[k], o, k)
		}
	}
	if len(misfits) > 0 {
		*o.unknown() = joinMembers(*o.unknown(), misfits)
	}
}

// number returns the number of the member whose name is at a node.
func (r *reader) number(s *shape, at uint32, last int) int {
	n := &r.tape.Nodes[at]
	if n.Escaped {
		return s.number(string(r.tape.AppendString(nil, at)), last)
	}
	return s.number(r.text[n.Start-r.from:n.End-r.from], last)
}

// keep adds a member that is not known to those of its object.
func (r *reader) keep(unknown *jsontext.Value, at uint32) {
	*unknown = joinMembers(*unknown, r.appendMember(nil, at))
}

// appendMember appends a name and its value as they stand in the text, behind a comma if there is one before.
func (r *reader) appendMember(b []byte, at uint32) []byte {
	if len(b) > 0 {
		b = append(b, ',')
	}
	name := &r.tape.Nodes[at]
	if name.Escaped {
		b, _ = jsontext.AppendQuote(b, string(r.tape.AppendString(nil, at)))
	} else {
		b = append(append(append(b, '"'), r.tape.Bytes(at)...), '"')
	}
	return append(append(b, ':'), r.tape.Value(at+1)...)
}

// joinMembers adds members to a JSON object.
func joinMembers(object jsontext.Value, members []byte) jsontext.Value {
	if len(object) <= len("{}") {
		return append(append(jsontext.Value("{"), members...), '}')
	}
	object[len(object)-1] = ','
	return append(append(object, members...), '}')
}

// empty takes away what was read of a member before it proved not to fit.
func empty(m *member, o object, i int) {
	switch m.kind {
	case objectKind:
		o.drop(i)
	case listKind:
		o.list(i).clear()
	case textsKind:
		*o.leaf(i).(*[]string) = nil
	case textMapKind:
		*o.leaf(i).(*map[string]string) = nil
	}
}

// object reads an object within the record and reports whether all of it fits.
func (r *reader) object(i uint32, o object) bool {
	if r.tape.Nodes[i].Kind != tape.Object {
		return r.tape.Nodes[i].Kind == tape.Null
	}
	s, last := o.shape(), -1
	end := r.tape.Nodes[i].Next
	for at := i + 1; at < end; at = r.tape.Nodes[at+1].Next {
		k := r.number(s, at, last)
		if k < 0 {
			r.keep(o.unknown(), at)
			continue
		}
		last = k
		if !r.value(&s.members[k], o, k, at+1) {
			return false
		}
	}
	return true
}

// value reads the value at a node into a member of an object and reports whether it fits. Null is nothing, but
// for a number, which it is none of.
func (r *reader) value(m *member, o object, k int, at uint32) bool {
	n := &r.tape.Nodes[at]
	switch m.kind {
	case objectKind:
		return n.Kind == tape.Null || r.object(at, o.child(k, true))
	case listKind:
		return n.Kind == tape.Null || n.Kind == tape.Array && r.list(at, o.list(k))
	}
	return r.leaf(m.kind, o.leaf(k), at)
}

func (r *reader) list(i uint32, l list) bool {
	count := int(r.tape.Nodes[i].Count)
	l.resize(count)
	at := i + 1
	for k := range count {
		if !r.object(at, l.item(k)) {
			return false
		}
		at = r.tape.Nodes[at].Next
	}
	return true
}

func (r *reader) leaf(k kind, leaf any, at uint32) bool {
	n := &r.tape.Nodes[at]
	switch k {
	case textKind:
		if n.Kind != tape.String {
			return n.Kind == tape.Null
		}
		*leaf.(*string) = r.string(at)
	case numberKind:
		return n.Kind == tape.Number && r.decimal(at, leaf.(*Number))
	case flagKind:
		*leaf.(*bool) = n.Kind == tape.True
		return n.Kind == tape.True || n.Kind == tape.False || n.Kind == tape.Null
	case choiceKind:
		if n.Kind == tape.Null {
			return true
		}
		set := n.Kind == tape.True
		if !set && n.Kind != tape.False {
			return false
		}
		*leaf.(**bool) = &set
	case textsKind:
		return n.Kind == tape.Null || n.Kind == tape.Array && r.texts(at, leaf.(*[]string))
	case textMapKind:
		return n.Kind == tape.Null || n.Kind == tape.Object && r.textMap(at, leaf.(*map[string]string))
	case jsonKind:
		*leaf.(*jsontext.Value) = slices.Clone(r.tape.Value(at))
	}
	return true
}

func (r *reader) string(i uint32) string {
	n := &r.tape.Nodes[i]
	if n.Escaped {
		return string(r.tape.AppendString(nil, i))
	}
	return r.text[n.Start-r.from : n.End-r.from]
}

// decimal reads a number of any spelling. What does not fit nine places is rounded half to even; what is too
// large does not fit.
func (r *reader) decimal(i uint32, to *Number) bool {
	n := &r.tape.Nodes[i]
	text := r.text[n.Start-r.from : n.End-r.from]
	d, err := quantity.ParseDecimal(text)
	if err != nil {
		var f float64
		if json.Unmarshal([]byte(text), &f) != nil {
			return false
		}
		*to = Float(f)
		return to.known
	}
	*to = Number{d, true}
	return true
}

func (r *reader) texts(i uint32, to *[]string) bool {
	texts := make([]string, 0, r.tape.Nodes[i].Count)
	for at := i + 1; at < r.tape.Nodes[i].Next; at = r.tape.Nodes[at].Next {
		var s string
		if !r.leaf(textKind, &s, at) {
			return false
		}
		texts = append(texts, s)
	}
	*to = texts
	return true
}

func (r *reader) textMap(i uint32, to *map[string]string) bool {
	n := &r.tape.Nodes[i]
	made := make(map[string]string, n.Count)
	for at := i + 1; at < n.Next; at = r.tape.Nodes[at+1].Next {
		var s string
		if !r.leaf(textKind, &s, at+1) {
			return false
		}
		made[r.string(at)] = s
	}
	*to = made
	return true
}
