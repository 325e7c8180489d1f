package schemacheck

import (
	"fmt"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

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
		return notice.New(memberUnknown, u.Pointer, fmt.Sprintf("the format knows no member %s here", name))
	}
	n := notice.New(memberMisspelt, u.Pointer,
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
