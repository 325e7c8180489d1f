package upgrade

import (
	"bytes"
	"errors"
	"io"

	"github.com/go-json-experiment/json/jsontext"
)

var errTrailing = errors.New("something follows the end of the report")

// object is a JSON object whose members keep their order and, where they are not touched, their
// bytes.
type object struct {
	members []member
}

type member struct {
	name  string
	value jsontext.Value
}

// parse reads an object. Text that is no I-JSON, with a name that stands twice for example, is an
// error.
func parse(text []byte) (*object, error) {
	dec := jsontext.NewDecoder(bytes.NewReader(text))
	if dec.PeekKind() != '{' {
		if _, err := dec.ReadValue(); err != nil {
			return nil, err
		}
		return &object{}, nil // JSON, and nothing in it that could be asked for
	}
	if _, err := dec.ReadToken(); err != nil {
		return nil, err
	}
	o := new(object)
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return nil, err
		}
		m := member{name: name.String()}
		v, err := dec.ReadValue()
		if err != nil {
			return nil, err
		}
		m.value = v.Clone()
		o.members = append(o.members, m)
	}
	if _, err := dec.ReadToken(); err != nil {
		return nil, err
	}
	// Nothing but blanks may follow.
	if _, err := dec.ReadToken(); !errors.Is(err, io.EOF) {
		if err == nil {
			err = errTrailing
		}
		return nil, err
	}
	return o, nil
}

func (o *object) index(name string) int {
	for i := range o.members {
		if o.members[i].name == name {
			return i
		}
	}
	return -1
}

func (o *object) get(name string) (jsontext.Value, bool) {
	if i := o.index(name); i >= 0 {
		return o.members[i].value, true
	}
	return nil, false
}

// text returns a member that is text.
func (o *object) text(name string) (string, bool) {
	v, ok := o.get(name)
	if !ok || v.Kind() != '"' {
		return "", false
	}
	b, err := jsontext.AppendUnquote(nil, v)
	return string(b), err == nil
}

// set puts a value in the place of another, or behind the last.
func (o *object) set(name string, v jsontext.Value) {
	if i := o.index(name); i >= 0 {
		o.members[i].value = v
		return
	}
	o.members = append(o.members, member{name, v})
}

func (o *object) rename(from, to string) {
	if i := o.index(from); i >= 0 {
		o.members[i].name = to
	}
}

func (o *object) remove(name string) {
	if i := o.index(name); i >= 0 {
		o.members = append(o.members[:i], o.members[i+1:]...)
	}
}

func (o *object) value() jsontext.Value {
	out := []byte{'{'}
	for i, m := range o.members {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(append(append(out, quote(m.name)...), ':'), m.value...)
	}
	return append(out, '}')
}

// quote writes a text as JSON. What is no UTF-8 cannot come here: it has been read as JSON.
func quote(s string) string {
	b, err := jsontext.AppendQuote(nil, s)
	if err != nil {
		return `""`
	}
	return string(b)
}
