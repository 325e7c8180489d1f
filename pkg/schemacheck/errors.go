package schemacheck

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// fault is one innermost cause, with its places taken apart.
type fault struct {
	instance []string     // pointerTokens of the place in the text
	pointer  string       // the same as a JSON Pointer
	document string       // identifier of the schema
	keyword  string       // of JSON Schema
	path     string       // JSON Pointer of the keyword in the document
	owner    *schema.Node // the schema that has the keyword; never nil
	name     bool         // the fault is in the name of a member, the last token of instance
}

// explain turns the error tree of the engine into errors in the one order in which they are reported.
func (e *engine) explain(failed *jsonschema.ValidationError, value any) []SchemaError {
	var faults []fault
	e.collect(failed, &faults)
	var out []SchemaError
	for _, f := range faults {
		out = append(out, e.tell(f, value)...)
	}
	slices.SortFunc(out, func(a, b SchemaError) int {
		if c := notice.ComparePointers(a.Pointer, b.Pointer); c != 0 {
			return c
		}
		if c := strings.Compare(a.Pointer, b.Pointer); c != 0 {
			return c
		}
		if c := strings.Compare(a.Keyword, b.Keyword); c != 0 {
			return c
		}
		if c := strings.Compare(a.Message, b.Message); c != 0 {
			return c
		}
		return strings.Compare(a.SchemaPath, b.SchemaPath)
	})
	return slices.CompactFunc(out, func(a, b SchemaError) bool {
		return a.Pointer == b.Pointer && a.Code == b.Code && a.Message == b.Message
	})
}

// collect goes down to the innermost causes. A failed choice is reported once: what its branches say is
// left out.
func (e *engine) collect(v *jsonschema.ValidationError, out *[]fault) {
	f := e.locate(v)
	if len(v.Causes) > 0 && f.keyword != "anyOf" && f.keyword != "oneOf" {
		for _, cause := range v.Causes {
			e.collect(cause, out)
		}
		return
	}
	*out = append(*out, f)
}

// locate takes the places of an error apart. The engine percent-encodes its JSON Pointers.
func (e *engine) locate(v *jsonschema.ValidationError) fault {
	document, fragment, _ := strings.Cut(v.AbsoluteKeywordLocation, "#")
	f := fault{document: document, instance: pointerTokens(v.InstanceLocation)}
	f.pointer = joinPointer(f.instance)
	steps := pointerTokens(fragment)
	f.path = joinPointer(steps)
	f.name = slices.Contains(pointerTokens(v.KeywordLocation), "propertyNames") && slices.Contains(steps, "propertyNames")
	owner := len(steps) - 1
	if i := len(steps) - 3; i >= 0 && steps[i] == "dependentRequired" {
		owner = i
	}
	if i := len(steps) - 2; i >= 0 && steps[i] == "allOf" {
		owner = i
	}
	if root := e.all[document]; root != nil && owner >= 0 {
		f.keyword, f.owner = steps[owner], root.At(joinPointer(steps[:owner]))
	}
	if f.owner == nil {
		f.owner = &schema.Node{}
	}
	return f
}

// pointerTokens splits a JSON Pointer that was percent-encoded on top.
func pointerTokens(pointer string) []string {
	if pointer == "" {
		return nil
	}
	list := strings.Split(strings.TrimPrefix(pointer, "/"), "/")
	for i, t := range list {
		if plain, err := url.PathUnescape(t); err == nil {
			t = plain
		}
		list[i] = notice.Unescape(t)
	}
	return list
}

// joinPointer writes tokens as a JSON Pointer (RFC 6901).
func joinPointer(tokens []string) string {
	var b strings.Builder
	for _, t := range tokens {
		b.WriteString("/" + notice.Escape(t))
	}
	return b.String()
}

// lookUp returns the value at a place in a decoded text, and whether there is one.
func lookUp(value any, tokens []string) (any, bool) {
	for _, t := range tokens {
		switch v := value.(type) {
		case map[string]any:
			next, ok := v[t]
			if !ok {
				return nil, false
			}
			value = next
		case []any:
			i, err := strconv.Atoi(t)
			if err != nil || i < 0 || i >= len(v) {
				return nil, false
			}
			value = v[i]
		default:
			return nil, false
		}
	}
	return value, true
}
