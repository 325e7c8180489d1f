package repair

import (
	"bytes"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/notice"
)

// A PatchOperation is one operation of a JSON Patch (RFC 6902). Its path leads into the canonical
// JSON of the report: /finds/3/depth/verbatim.
type PatchOperation struct {
	Op    string         `json:"op"` // test, replace, add, remove
	Path  string         `json:"path"`
	Value jsontext.Value `json:"value,omitzero"`
}

// WritePatch writes operations as the document of a JSON Patch, whose media type is
// application/json-patch+json.
func WritePatch(w io.Writer, operations []PatchOperation) error {
	if operations == nil {
		operations = []PatchOperation{}
	}
	b, err := json.Marshal(operations, jsontext.WithIndent("  "))
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// patch is what turns a record from before into after, for a report in which it stands at this
// pointer. Its first operation proves that it is this record; each value that is replaced or removed is
// proved before.
func patch(at string, before, after jsontext.Value) ([]PatchOperation, error) {
	old, err := members(before)
	if err != nil {
		return nil, err
	}
	id, _ := old.get("id")
	out := []PatchOperation{{Op: "test", Path: at + "/id", Value: id}}
	changes, err := difference(at, old, after)
	if err != nil || len(changes) == 0 {
		return nil, err
	}
	return append(out, changes...), nil
}

// difference lists what turns one object into another. Objects are looked into, lists are replaced
// as a whole.
func difference(at string, old fields, now jsontext.Value) ([]PatchOperation, error) {
	wanted, err := members(now)
	if err != nil {
		return nil, err
	}
	var out []PatchOperation
	for _, m := range old {
		path := at + "/" + notice.Escape(m.name)
		v, there := wanted.get(m.name)
		switch {
		case !there:
			out = append(out, PatchOperation{Op: "test", Path: path, Value: m.value}, PatchOperation{Op: "remove", Path: path})
		case bytes.Equal(v, m.value):
		case v.Kind() == '{' && m.value.Kind() == '{':
			inner, err := members(m.value)
			if err != nil {
				return nil, err
			}
			changes, err := difference(path, inner, v)
			if err != nil {
				return nil, err
			}
			out = append(out, changes...)
		default:
			out = append(out, PatchOperation{Op: "test", Path: path, Value: m.value},
				PatchOperation{Op: "replace", Path: path, Value: v})
		}
	}
	for _, m := range wanted {
		if _, there := old.get(m.name); !there {
			out = append(out, PatchOperation{Op: "add", Path: at + "/" + notice.Escape(m.name), Value: m.value})
		}
	}
	return out, nil
}

// fields are the members of an object in order.
type fields []struct {
	name  string
	value jsontext.Value
}

func (f fields) get(name string) (jsontext.Value, bool) {
	for _, m := range f {
		if m.name == name {
			return m.value, true
		}
	}
	return nil, false
}

// members reads an object that this program has written.
func members(object jsontext.Value) (fields, error) {
	dec := jsontext.NewDecoder(bytes.NewReader(object))
	if _, err := dec.ReadToken(); err != nil {
		return nil, err
	}
	var out fields
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return nil, err
		}
		key := name.String()
		v, err := dec.ReadValue()
		if err != nil {
			return nil, err
		}
		out = append(out, struct {
			name  string
			value jsontext.Value
		}{key, v.Clone()})
	}
	return out, nil
}
