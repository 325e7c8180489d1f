package find

import (
	"errors"
	"slices"
	"strconv"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// Marshal writes a find, a report, or anything that stands in one, as compact JSON with its members in the order
// of the schema. Other values, which may hold such, are left to the JSON library.
func Marshal(v any) (jsontext.Value, error) {
	if o, ok := v.(object); ok {
		return appendObject(nil, o)
	}
	return json.Marshal(v, json.Deterministic(true))
}

// Append appends the find as Marshal writes it.
func Append(b []byte, f *Find) ([]byte, error) { return appendObject(b, f) }

// Laid is a find written as JSON, as Append writes it, and where in the text the values of its members stand.
type Laid struct {
	Text    []byte
	Members []LaidMember
}

// LaidMember is one member of it.
type LaidMember struct {
	Name       string
	Start, End int
}

// Lay writes a find in the place of the one before. False means that it holds something that this version does not
// know, or that cannot be written.
func (l *Laid) Lay(f *Find) bool {
	var w writer
	members := f.shape().members
	b := append(l.Text[:0], '{')
	l.Members = l.Members[:0]
	for i := f.next(0); i >= 0; i = f.next(i + 1) {
		start := len(b) + len(members[i].key)
		b = w.member(b, f, i)
		l.Members = append(l.Members, LaidMember{members[i].name, start, len(b)})
		b = append(b, ',')
	}
	l.Text = end(b, '}')
	return w.err == nil && !w.foreign && len(f.Unknown) <= len("{}")
}

// appendObject appends an object as JSON. A text that is not UTF-8, or a member given twice, is an error.
func appendObject(b []byte, o object) ([]byte, error) {
	var w writer
	out := w.object(b, o)
	if w.err != nil || !w.foreign {
		return out, w.err
	}
	// JSON of somebody else is in it: check it, and bring it to the one form.
	whole := jsontext.Value(out[len(b):])
	if err := whole.Format(); err != nil {
		return b, err
	}
	return append(out[:len(b)], whole...), nil
}

// writer appends JSON. Its methods take the text so far and return it with theirs.
type writer struct {
	foreign bool // it holds JSON that was taken over as it was
	err     error
}

func (w *writer) object(b []byte, o object) []byte {
	b = append(b, '{')
	for i := o.next(0); i >= 0; i = o.next(i + 1) {
		b = append(w.member(b, o, i), ',')
	}
	if u := *o.unknown(); len(u) > len("{}") {
		b = w.unknown(b, u)
	}
	return end(b, '}')
}

// member writes a member with its name.
func (w *writer) member(b []byte, o object, i int) []byte {
	m := &o.shape().members[i]
	b = append(b, m.key...)
	switch m.kind {
	case textKind:
		return w.text(b, *o.leaf(i).(*string))
	case objectKind:
		return w.object(b, o.child(i, false))
	case listKind:
		return w.list(b, o.list(i))
	}
	return w.leaf(b, m.kind, o.leaf(i))
}

// end closes an object or a list behind its last comma.
func end(b []byte, c byte) []byte {
	if last := len(b) - 1; b[last] == ',' {
		b[last] = c
		return b
	}
	return append(b, c)
}

func (w *writer) unknown(b []byte, u jsontext.Value) []byte {
	members := slices.Clone(u)
	if members.Format() != nil || members.Kind() != '{' {
		w.err = errors.New("members that are not known are no JSON object")
		return b
	}
	w.foreign = true
	if len(members) > len("{}") {
		b = append(append(b, members[1:len(members)-1]...), ',')
	}
	return b
}

func (w *writer) list(b []byte, l list) []byte {
	b = append(b, '[')
	for i := range l.length() {
		b = append(w.object(b, l.item(i)), ',')
	}
	return end(b, ']')
}

// leaf writes the value of a member that is neither object nor list.
func (w *writer) leaf(b []byte, k kind, leaf any) []byte {
	switch k {
	case textKind:
		return w.text(b, *leaf.(*string))
	case numberKind:
		return leaf.(*Number).value.Append(b)
	case flagKind:
		return strconv.AppendBool(b, *leaf.(*bool))
	case choiceKind:
		return strconv.AppendBool(b, **leaf.(**bool))
	case textsKind:
		b = append(b, '[')
		for _, s := range *leaf.(*[]string) {
			b = append(w.text(b, s), ',')
		}
		return end(b, ']')
	case textMapKind:
		return w.textMap(b, *leaf.(*map[string]string))
	case jsonKind:
		w.foreign = true
		if raw := *leaf.(*jsontext.Value); len(raw) > 0 {
			return append(b, raw...)
		}
		return append(b, "null"...)
	}
	return b
}

func (w *writer) textMap(b []byte, m map[string]string) []byte {
	b = append(b, '{')
	var few [16]string // most have no more, and then need no memory
	for _, name := range SortedKeys(few[:0], m) {
		b = append(w.text(append(w.text(b, name), ':'), m[name]), ',')
	}
	return end(b, '}')
}

// text writes a JSON string.
func (w *writer) text(b []byte, s string) []byte {
	out, err := jsontext.AppendQuote(b, s)
	if err != nil && w.err == nil {
		w.err = err
	}
	return out
}
