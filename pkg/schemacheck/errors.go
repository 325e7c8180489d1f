package schemacheck

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/vocabulary"
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

const nearEnough = 2 // edits between a name and the one it is misspelt for

// nearestName returns the candidate that is at most two edits from s, without regard to case, or empty
// text. Of equally near ones the first wins. Very short names are near to everything: the distance
// must also be smaller than both names are long.
func nearestName(s string, candidates []string) string {
	best, least := "", nearEnough+1
	for _, c := range candidates {
		if absInt(len(c)-len(s)) > nearEnough*4 {
			continue
		}
		d := vocabulary.EditDistance(strings.ToLower(s), strings.ToLower(c))
		if d < least && d < min(len([]rune(s)), len([]rune(c))) {
			best, least = c, d
		}
	}
	return best
}

func absInt(i int) int { return max(i, -i) }

func sortUnknown(list []Unknown) {
	slices.SortFunc(list, func(a, b Unknown) int {
		if c := notice.ComparePointers(a.Pointer, b.Pointer); c != 0 {
			return c
		}
		return strings.Compare(a.Pointer, b.Pointer)
	})
}

// Unknown is a member that the schema does not know.
type Unknown struct {
	Pointer string // JSON Pointer of the member
	Nearest string // the known member that it may be misspelt for; empty if none is near
}

// Notice returns what is to be wording of the member: a warning if it looks misspelt, else for
// information.
func (u Unknown) Notice() notice.Notice {
	name := quoteText(notice.Unescape(u.Pointer[strings.LastIndexByte(u.Pointer, '/')+1:]))
	if u.Nearest == "" {
		return notice.New(&kinds.MemberUnknown, u.Pointer, fmt.Sprintf("the format knows no member %s here", name))
	}
	n := notice.New(&kinds.MemberMisspelt, u.Pointer,
		fmt.Sprintf("the format knows no member %s here, but it knows %q", name, u.Nearest))
	n.Help = fmt.Sprintf("Write %q if that is meant.", u.Nearest)
	return n
}

// UnknownMembers returns the members of a text that the schema with the short name does not
// describe, in the order of notice.ComparePointers. What stands below an unknown member is not
// looked at. Maps with names of the sender's own (columns, absent, extensions, says) have no unknown
// members, and $schema at the top is taken as known. A text that is not JSON has none.
func (s *Schemas) UnknownMembers(raw []byte, root string) []Unknown {
	e, ok := s.byName[root]
	if !ok || gate(raw, gateLimits{RecordBytes: -1}) != nil {
		return nil
	}
	var value any
	if json.Unmarshal(raw, &value) != nil {
		return nil
	}
	return e.unknownMembers(value)
}

func (e *engine) unknownMembers(value any) []Unknown {
	var out []Unknown
	if top, ok := value.(map[string]any); ok {
		delete(top, "$schema")
	}
	unknownIn(value, e.root, nil, &out)
	sortUnknown(out)
	return out
}

func unknownIn(value any, n *schema.Node, at []string, out *[]Unknown) {
	n = n.Follow()
	if n == nil {
		return
	}
	switch v := value.(type) {
	case map[string]any:
		if len(n.Properties) == 0 {
			return
		}
		for name, member := range v {
			here := append(at[:len(at):len(at)], name)
			known := n.Properties.Get(name)
			if known == nil {
				*out = append(*out, Unknown{joinPointer(here), nearestName(name, n.Properties.Names())})
				continue
			}
			unknownIn(member, known, here, out)
		}
	case []any:
		for i, entry := range v {
			token := fmt.Sprint(i)
			unknownIn(entry, n.Child(token), append(at[:len(at):len(at)], token), out)
		}
	}
}
