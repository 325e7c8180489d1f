package find

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/limit"
)

// Options of the readers in this package. The zero value is ready for use.
type Options struct {
	File       string       // name for messages
	Limits     limit.Limits // Record and Header are looked at
	KeepSource bool         // keep the JSON of each find in Entry.Raw
}

func (o Options) maxHeader() int64 { return o.Limits.WithDefaults().Header }

// A ReadError says why a file could not be read and where. It never quotes what the file says.
type ReadError struct {
	Code string // kebab-case, such as json-duplicate-name
	Line int    // from 1; 0 if not known
	At   int64  // byte offset
	Path string // JSON Pointer, if known
	Msg  string
	Help string
	Err  error // the limit that was reached, a *limit.Error; nil for everything else
}

// Unwrap returns the limit that was reached.
func (e *ReadError) Unwrap() error { return e.Err }

// TooLarge turns a limit that was reached into an error of a reader.
func TooLarge(code string, line int, over *limit.Error) *ReadError {
	return &ReadError{Code: code, Line: line, Msg: over.What(), Help: over.Help(), Err: over}
}

// Error returns one line: place, what is wrong, what to do.
func (e *ReadError) Error() string {
	var b strings.Builder
	if e.Line > 0 {
		fmt.Fprintf(&b, "line %d: ", e.Line)
	}
	if e.Path != "" {
		fmt.Fprintf(&b, "at %s: ", e.Path)
	}
	b.WriteString(e.Msg)
	if e.Help != "" {
		b.WriteString("; " + e.Help)
	}
	return b.String()
}

// DecodeJSON reads a native report. It goes over the input twice: once for the header, which also
// proves that the whole file is well-formed JSON, and once for the finds.
func DecodeJSON(r io.ReadSeeker, o Options) (*Stream, error) {
	raw, places, err := readHeader(r, o)
	if err != nil {
		return nil, err
	}
	if err := CheckHeader(raw, o.Limits); err != nil {
		return nil, err
	}
	head, err := DecodeHeader(raw)
	if err != nil {
		return nil, err
	}
	s := &Stream{Report: head, Raw: raw, File: o.File, Format: "findslip"}
	s.SetEntries(func(yield func(*Entry, error) bool) {
		readFinds(r, places, o, yield)
	})
	return s, nil
}

// errChanged says that the file is not what it was when it was read for the first time.
var errChanged = &ReadError{Code: "json-syntax", Msg: "the file was changed while it was read",
	Help: "wait until nobody writes to it, then try again"}

// changed takes an early end for a change; what else the reader says is its own.
func changed(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errChanged
	}
	return err
}

// readFinds reads the finds of a report at their places, one after the other.
func readFinds(r io.ReadSeeker, places []int64, o Options, yield func(*Entry, error) bool) {
	if len(places) == 0 {
		return
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		yield(nil, err)
		return
	}
	in := bufio.NewReaderSize(skipBOM(r), 1<<16)
	if _, err := io.CopyN(io.Discard, in, places[0]); err != nil {
		yield(nil, changed(err))
		return
	}
	for i, end := range places[1:] {
		text := make([]byte, end-places[i])
		if _, err := io.ReadFull(in, text); err != nil {
			yield(nil, changed(err))
			return
		}
		e := &Entry{Find: new(Find), Index: i, Origin: Origin{File: o.File}}
		v := jsontext.Value(bytes.TrimLeft(text, " \t\r\n,"))
		if o.KeepSource {
			e.Raw = v
		}
		// What is no object is left to the schema, which has the words.
		if t := tapes.Get().(*tape.Tape); t.Parse(v) && t.Nodes[0].Kind == tape.Object {
			readObject(t, 0, e.Find)
			e.tape = t
		} else if v.Kind() == '{' && DecodeFind(v, e.Find) != nil || !v.IsValid() {
			yield(nil, errChanged)
			return
		}
		if !yield(e, nil) {
			return
		}
	}
}

// readHeader reads all members of the report but its finds, of which it tells the places: the beginning of the list,
// and the end of each.
func readHeader(r io.ReadSeeker, o Options) (raw jsontext.Value, places []int64, err error) {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, nil, err
	}
	cut := NewCutter(r, o)
	head := []byte{'{'}
	fail := func(err error) (jsontext.Value, []int64, error) { return nil, nil, cut.Explain(err) }
	tok, err := cut.Token()
	if errors.Is(err, io.EOF) {
		return fail(&ReadError{Code: "json-empty", Msg: "the file is empty"})
	}
	if err != nil {
		return fail(err)
	}
	if tok.Kind() != '{' {
		return fail(&ReadError{Code: "not-a-report", Msg: "the file is JSON but not a find report: it does not start with {"})
	}
	for cut.Peek() != '}' {
		name, err := cut.Token()
		if err != nil {
			return fail(err)
		}
		key := name.String()
		if key == "finds" && cut.Peek() == '[' {
			if places, err = cut.skipList(); err != nil {
				return fail(err)
			}
			continue
		}
		v, err := cut.Member()
		if err != nil {
			return fail(err)
		}
		if key == "finds" {
			return fail(&ReadError{Code: "not-a-report", Line: cut.Line(), Msg: `"finds" is not a list`,
				Help: "finds is a list of find records between [ and ]"})
		}
		if int64(len(head)+len(v)) > o.maxHeader() {
			return fail(TooLarge("json-too-large", 0, limit.Over("header", o.maxHeader())))
		}
		if len(head) > 1 {
			head = append(head, ',')
		}
		if head, err = jsontext.AppendQuote(head, key); err != nil {
			return fail(err)
		}
		head = append(append(head, ':'), v...)
	}
	if _, err := cut.Token(); err != nil {
		return fail(err)
	}
	if err := cut.End(); err != nil {
		return fail(err)
	}
	return append(head, '}'), places, nil
}

// DecodeHeader reads a report from JSON without its finds. It refuses a version it does not know.
func DecodeHeader(raw jsontext.Value) (*Report, error) {
	head := new(Report)
	if err := decodeObject(raw, head); err != nil {
		return nil, err
	}
	head.Finds = nil
	if head.Findslip == "" {
		return nil, &ReadError{Code: "not-a-report",
			Msg:  `the file is JSON but not a find report: it has no member "findslip"`,
			Help: `a report begins with {"findslip": "1.0"`}
	}
	if !strings.HasPrefix(head.Findslip, "1.") {
		return nil, &ReadError{Code: "version-unknown",
			Msg:  "the report is of a version of the format that this program does not know",
			Help: "it reads every 1.x; get a newer program for this file"}
	}
	return head, nil
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
