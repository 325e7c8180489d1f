package find

import (
	"bufio"
	"bytes"
	"io"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
)

// EncodeJSON writes a report in canonical JSON: members in schema order, shortest decimals
// without exponent, two blanks of indent, line feeds, and one line feed at the end.
func EncodeJSON(w io.Writer, s *Stream) error {
	out := bufio.NewWriterSize(w, 1<<16)
	before, after, err := splitHeader(s.Report)
	if err != nil {
		return err
	}
	out.WriteString("{")
	first := true
	comma := func() {
		if !first {
			out.WriteByte(',')
		}
		first = false
	}
	for _, m := range before {
		comma()
		if err := writeMember(out, m); err != nil {
			return err
		}
	}
	comma()
	out.WriteString("\n  \"finds\": [")
	n := 0
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find == nil {
			continue
		}
		raw, err := indentedFind(e.Find)
		if err != nil {
			return err
		}
		if n++; n > 1 {
			out.WriteByte(',')
		}
		out.WriteString("\n    ")
		out.Write(raw)
	}
	if n > 0 {
		out.WriteString("\n  ")
	}
	out.WriteString("]")
	for _, m := range after {
		comma()
		if err := writeMember(out, m); err != nil {
			return err
		}
	}
	out.WriteString("\n}\n")
	return out.Flush()
}

// indentedFind writes a find as it stands in a report.
func indentedFind(f *Find) (jsontext.Value, error) {
	raw, err := Marshal(f)
	if err != nil {
		return nil, err
	}
	return indented(raw, "    ")
}

// A headerMember is a member of the report as it is written: its name with quotes, and its value.
type headerMember struct{ name, value jsontext.Value }

// splitHeader cuts the header into the members before and after the finds.
func splitHeader(r *Report) (before, after []headerMember, err error) {
	head := *r
	head.Finds = []*Find{{ID: "-"}} // marks the place
	if head.Findslip == "" {
		head.Findslip = Version
	}
	raw, err := Marshal(&head)
	if err != nil {
		return nil, nil, err
	}
	var t tape.Tape
	if err := t.ParseStrict(raw); err != nil {
		return nil, nil, err
	}
	seen := false
	for at := uint32(1); int(at) < len(t.Nodes); at = t.Nodes[at+1].Next {
		m := headerMember{raw[t.Nodes[at].Start-1 : t.Nodes[at].End+1], t.Value(at + 1)}
		switch {
		case string(m.name) == `"finds"`:
			seen = true
		case seen:
			after = append(after, m)
		default:
			before = append(before, m)
		}
	}
	return before, after, nil
}

func writeMember(out *bufio.Writer, m headerMember) error {
	out.WriteString("\n  ")
	out.Write(m.name)
	out.WriteString(": ")
	return writeIndented(out, m.value, "  ")
}

func writeIndented(out *bufio.Writer, v jsontext.Value, prefix string) error {
	v, err := indented(v.Clone(), prefix)
	if err != nil {
		return err
	}
	_, err = out.Write(v)
	return err
}

// indented indents a value in place.
func indented(v jsontext.Value, prefix string) (jsontext.Value, error) {
	if err := v.Indent(jsontext.WithIndent("  "), jsontext.WithIndentPrefix(prefix)); err != nil {
		return nil, err
	}
	return bytes.TrimPrefix(v, []byte(prefix)), nil
}

// CanonicalHeader returns the header of a report as compact JSON without its finds.
func CanonicalHeader(r *Report) (jsontext.Value, error) {
	head := *r
	head.Finds = nil
	if head.Findslip == "" {
		head.Findslip = Version
	}
	return Marshal(&head)
}
