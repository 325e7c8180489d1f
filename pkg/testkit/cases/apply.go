package cases

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Apply returns a document with a JSON Patch (RFC 6902) applied, of which add, remove and replace are known.
func Apply(document, change []byte) ([]byte, error) {
	var ops []struct {
		Op, Path string
		Value    any
	}
	var top any
	for raw, to := range map[*[]byte]any{&document: &top, &change: &ops} {
		dec := json.NewDecoder(bytes.NewReader(*raw))
		dec.UseNumber()
		if err := dec.Decode(to); err != nil {
			return nil, err
		}
	}
	for _, o := range ops {
		steps := strings.Split(strings.TrimPrefix(o.Path, "/"), "/")
		var err error
		if top, err = change1(top, steps, o.Op, o.Value); err != nil {
			return nil, fmt.Errorf("%s %s: %w", o.Op, o.Path, err)
		}
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(top)
	return b.Bytes(), err
}

// change1 does one operation below a value and returns what the value is then.
func change1(v any, steps []string, op string, value any) (any, error) {
	name := strings.NewReplacer("~1", "/", "~0", "~").Replace(steps[0])
	last := len(steps) == 1
	switch v := v.(type) {
	case map[string]any:
		inner, there := v[name]
		switch {
		case !there && !(last && op == "add"):
			return nil, fmt.Errorf("there is no member %s", name)
		case last && op == "remove":
			delete(v, name)
		case last:
			v[name] = value
		default:
			var err error
			v[name], err = change1(inner, steps[1:], op, value)
			return v, err
		}
		return v, nil
	case []any:
		if name == "-" && last && op == "add" {
			return append(v, value), nil
		}
		i, err := strconv.Atoi(name)
		switch {
		case err != nil || i < 0 || i >= len(v):
			return nil, fmt.Errorf("there is no entry %s", name)
		case !last:
			v[i], err = change1(v[i], steps[1:], op, value)
			return v, err
		case op == "remove":
			return slices.Delete(v, i, i+1), nil
		case op == "add":
			return slices.Insert(v, i, value), nil
		}
		v[i] = value
		return v, nil
	}
	return nil, fmt.Errorf("%s leads below a value", name)
}
