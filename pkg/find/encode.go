package find

import (
	"bufio"
	"bytes"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// Marshal writes a value of this package as compact JSON in schema order.
func Marshal(v any) (jsontext.Value, error) {
	if f, ok := v.(*Find); ok && f != nil {
		return Append(nil, f)
	}
	return marshal(v)
}

// marshal leaves a value to the JSON library.
func marshal(v any) (jsontext.Value, error) {
	b, err := json.Marshal(v, json.Deterministic(true))
	if err != nil {
		return nil, err
	}
	return b, nil
}

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
		raw := e.Encoded
		if raw == nil {
			if raw, err = indentedFind(e.Find); err != nil {
				return err
			}
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

// AheadJSON adds a step to a stream that makes the text of each find for EncodeJSON, for several at
// the same time. No later step may change the find.
func AheadJSON(s *Stream) *Stream { return ahead(s, indentedFind) }

// AheadJSONL does so for EncodeJSONL.
func AheadJSONL(s *Stream) *Stream {
	return ahead(s, func(f *Find) (jsontext.Value, error) { return Marshal(f) })
}

func ahead(s *Stream, write func(*Find) (jsontext.Value, error)) *Stream {
	return s.Map(func(e *Entry, _ bool) bool {
		text, err := write(e.Find)
		if e.Encoded = text; err != nil {
			e.Encoded = nil // who encodes will come upon the same error
		}
		return true
	})
}

type member struct{ name, value jsontext.Value }

// splitHeader cuts the header into the members before and after the finds.
func splitHeader(r *Report) (before, after []member, err error) {
	head := *r
	head.Finds = []*Find{{ID: "-"}} // marks the place
	if head.Findslip == "" {
		head.Findslip = Version
	}
	raw, err := Marshal(&head)
	if err != nil {
		return nil, nil, err
	}
	dec := jsontext.NewDecoder(bytes.NewReader(raw))
	if _, err := dec.ReadToken(); err != nil {
		return nil, nil, err
	}
	seen := false
	for dec.PeekKind() != '}' {
		name, err := dec.ReadValue()
		if err != nil {
			return nil, nil, err
		}
		m := member{name: name.Clone()}
		v, err := dec.ReadValue()
		if err != nil {
			return nil, nil, err
		}
		m.value = v.Clone()
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

func writeMember(out *bufio.Writer, m member) error {
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
