package find

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// Kinds of notice that the reader of JSON Lines gives.
var (
	LineUnreadable = &notice.Kind{
		Code: "jsonl-line-unreadable", Severity: notice.Error, Group: "conversion", Spec: "8.3",
		Title:  "line is not a JSON object with a type",
		Why:    "a find on a broken line is lost to every reader",
		Help:   `Each line holds one whole JSON object: {"type":"find","find":{...}}, with type report first and end last.`,
		Source: "common practice, no source",
		Before: `{"type":"find","find":{"number":"7"}`, After: `{"type":"find","find":{"number":"7"}}`,
	}
	ReportTwice = &notice.Kind{
		Code: "jsonl-report-twice", Severity: notice.Error, Group: "conversion", Spec: "8.3",
		Title:  "a second report line",
		Why:    "finds after it would belong to two reports",
		Help:   "Cut the file in two at this line.",
		Source: "common practice, no source",
		Before: "two lines of type report", After: "one line of type report, the first",
	}
	ReportMissing = &notice.Kind{
		Code: "jsonl-report-missing", Severity: notice.Error, Group: "conversion", Spec: "8.3",
		Title:  "the first line is not the report line",
		Why:    "without it nobody knows who found the things and by whose leave",
		Help:   `Begin the file with a line of type report.`,
		Source: "common practice, no source",
		Before: `{"type":"find","find":{...}} as the first line`, After: `{"type":"report","report":{"findslip":"1.0", ...}} as the first line`,
	}
	EndMissing = &notice.Kind{
		Code: "jsonl-end-missing", Severity: notice.Warning, Group: "conversion", Spec: "8.3",
		Title:  "the end line is missing or counts differently",
		Why:    "the file may have been cut short on its way",
		Help:   "Ask the sender for the file again and compare the number of finds.",
		Source: "common practice, no source",
		Before: "last line is a find", After: `last line is {"type":"end","finds":12}`,
	}
)

// line is one line of JSON Lines: {"type":"report","report":{...}}, {"type":"find","find":{...}} or
// {"type":"end","finds":12}.
type line struct {
	Type  string
	Finds Number
	Raw   jsontext.Value // the report or the find
}

// DecodeJSONL reads JSON Lines: one line of type report, then one of type find for each find, then
// one of type end with their number. A line that cannot be read is a notice at its line and never
// drops the others.
func DecodeJSONL(r io.Reader, o Options) (*Stream, error) {
	in := bufio.NewReaderSize(skipBOM(r), 1<<16)
	at := 0
	next := func() ([]byte, error) {
		at++
		return readLine(in, o.maxHeader())
	}
	s := &Stream{File: o.File, Format: "jsonl"}
	var pending []byte
	first, err := next()
	for err == nil && len(bytes.TrimSpace(first)) == 0 {
		first, err = next()
	}
	if errors.Is(err, io.EOF) {
		return nil, &ReadError{Code: "json-empty", Msg: "the file is empty"}
	}
	if err != nil {
		return nil, lineError(err, at)
	}
	l, lerr := parseLine(first)
	switch {
	case lerr != nil:
		return nil, lineError(lerr, at)
	case l.Type == "report":
		if s.Report, err = DecodeHeader(l.Raw); err != nil {
			return nil, lineError(err, at)
		}
		s.Raw = l.Raw
	default:
		s.Report = &Report{Findslip: Version}
		n := notice.New(ReportMissing, "", "the file has no report line; its finds are read without one")
		n.Location.File, n.Location.Line = o.File, at
		s.Notices.Add(n)
		pending = first
	}
	s.Entries = func(yield func(*Entry, error) bool) {
		d := &lineDecoder{o: o, next: next, at: &at, pending: pending}
		d.run(yield)
	}
	return s, nil
}

type lineDecoder struct {
	o       Options
	next    func() ([]byte, error)
	at      *int
	pending []byte
	finds   int
	ended   bool
}

func (d *lineDecoder) run(yield func(*Entry, error) bool) {
	for {
		text := d.pending
		d.pending = nil
		if text == nil {
			var err error
			if text, err = d.next(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				yield(nil, lineError(err, *d.at))
				return
			}
		}
		if len(bytes.TrimSpace(text)) == 0 {
			continue
		}
		e, ok := d.entry(text)
		if ok && !yield(e, nil) {
			return
		}
	}
	if !d.ended {
		yield(d.say(EndMissing, "the file has no end line: it may be cut short"), nil)
	}
}

// entry makes an entry of one line; ok is false when there is nothing to pass on.
func (d *lineDecoder) entry(text []byte) (e *Entry, ok bool) {
	if int64(len(text)) > d.o.maxRecord() {
		return d.say(LineUnreadable, limit.Over("record", d.o.maxRecord()).Error()), true
	}
	l, err := parseLine(text)
	if err != nil {
		return d.say(LineUnreadable, "the line cannot be read: "+err.Error()), true
	}
	switch l.Type {
	case "find":
		e := &Entry{Find: new(Find), Index: d.finds, Origin: Origin{File: d.o.File, Line: *d.at}}
		d.finds++
		if d.o.KeepSource {
			e.Raw = l.Raw
		}
		DecodeFind(l.Raw, e.Find)
		return e, true
	case "report":
		return d.say(ReportTwice, "a second report begins here"), true
	case "end":
		d.ended = true
		if l.Finds.Known() && l.Finds.Int() != d.finds {
			return d.say(EndMissing, fmt.Sprintf("the end line counts %s finds, the file has %d", l.Finds, d.finds)), true
		}
		return nil, false
	}
	return d.say(LineUnreadable, "the line has no type that is report, find or end"), true
}

func (d *lineDecoder) say(k *notice.Kind, message string) *Entry {
	return &Entry{Index: d.finds, Origin: Origin{File: d.o.File, Line: *d.at}, Notices: notice.List{notice.New(k, "", message)}}
}

func lineError(err error, at int) error {
	var own *ReadError
	if errors.As(err, &own) {
		e := *own
		e.Line = at
		return &e
	}
	if e := ExplainJSON(err); e != nil {
		e.Line = at
		return e
	}
	return err
}

// readLine reads one line without its end.
func readLine(in *bufio.Reader, most int64) ([]byte, error) {
	var long []byte
	for {
		part, err := in.ReadSlice('\n')
		if err == nil || errors.Is(err, io.EOF) && len(long)+len(part) > 0 {
			long = append(long, part...)
			return bytes.TrimRight(long, "\r\n"), nil
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return nil, err
		}
		if long = append(long, part...); int64(len(long)) > most {
			return nil, limit.Over("header", most)
		}
	}
}

// parseLine reads one line. What it carries stands under the name of its type, so that no member of
// a record can be taken for the type of the line.
func parseLine(text []byte) (line, error) {
	var l line
	dec := jsontext.NewDecoder(bytes.NewReader(text))
	if tok, err := dec.ReadToken(); err != nil {
		return l, explained(err)
	} else if tok.Kind() != '{' {
		return l, &ReadError{Code: "json-syntax", Msg: "the line is not a JSON object"}
	}
	carried := map[string]jsontext.Value{}
	for dec.PeekKind() != '}' {
		name, err := dec.ReadToken()
		if err != nil {
			return l, explained(err)
		}
		key := name.String()
		v, err := dec.ReadValue()
		if err != nil {
			return l, explained(err)
		}
		switch key {
		case "type":
			_ = json.Unmarshal(v, &l.Type)
		case "finds":
			_ = json.Unmarshal(v, &l.Finds)
		case "report", "find":
			carried[key] = v.Clone()
		}
	}
	if _, err := dec.ReadToken(); err != nil {
		return l, explained(err)
	}
	if _, err := dec.ReadToken(); !errors.Is(err, io.EOF) {
		return l, &ReadError{Code: "json-syntax", Msg: "there is more after the end of the object"}
	}
	if l.Type == "report" || l.Type == "find" {
		if l.Raw = carried[l.Type]; l.Raw.Kind() != '{' {
			return l, &ReadError{Code: "jsonl-line", Msg: fmt.Sprintf("a line of type %s has no member %q that is an object", l.Type, l.Type)}
		}
	}
	return l, nil
}

func explained(err error) error {
	if e := ExplainJSON(err); e != nil {
		return e
	}
	return err
}

// EncodeJSONL writes JSON Lines.
func EncodeJSONL(w io.Writer, s *Stream) error {
	out := bufio.NewWriterSize(w, 1<<16)
	head, err := CanonicalHeader(s.Report)
	if err != nil {
		return err
	}
	writeLine(out, "report", head)
	n := 0
	for e, err := range s.Entries {
		if err != nil {
			return err
		}
		if e.Find == nil {
			continue
		}
		raw, err := Marshal(e.Find)
		if err != nil {
			return err
		}
		writeLine(out, "find", raw)
		n++
	}
	fmt.Fprintf(out, "{\"type\":\"end\",\"finds\":%d}\n", n)
	return out.Flush()
}

func writeLine(out *bufio.Writer, kind string, object jsontext.Value) {
	out.WriteString(`{"type":"` + kind + `","` + kind + `":`)
	out.Write(object)
	out.WriteString("}\n")
}
