package find

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
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
	o.Limits = o.Limits.WithDefaults()
	d := &lineDecoder{o: o, in: in}
	s := &Stream{File: o.File, Format: "jsonl"}
	first, err := d.next()
	for err == nil && len(bytes.TrimSpace(first)) == 0 {
		first, err = d.next()
	}
	if errors.Is(err, io.EOF) {
		return nil, &ReadError{Code: "json-empty", Msg: "the file is empty"}
	}
	if err != nil {
		return nil, lineError(err, d.at)
	}
	l, lerr := parseLine(first)
	switch {
	case lerr != nil:
		return nil, lineError(lerr, d.at)
	case l.Type == "report":
		if err = CheckHeader(l.Raw, o.Limits); err == nil {
			s.Report, err = DecodeHeader(l.Raw)
		}
		if err != nil {
			return nil, lineError(err, d.at)
		}
		s.Raw = l.Raw
	default:
		s.Report = &Report{Findslip: Version}
		n := notice.New(&kinds.JsonlReportLine, "", "the file has no report line; its finds are read without one")
		n.Location.File, n.Location.Line = o.File, d.at
		s.Notices.Add(n)
		d.pending = first
	}
	s.SetEntries(d.run)
	return s, nil
}

// lineDecoder reads the lines behind the first.
type lineDecoder struct {
	o       Options
	in      *bufio.Reader
	at      int    // lines read
	pending []byte // a first line that is a find
	finds   int
	ended   bool
}

func (d *lineDecoder) next() ([]byte, error) {
	d.at++
	return readLine(d.in, d.o.maxHeader())
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
				yield(nil, lineError(err, d.at))
				return
			}
		}
		e := d.entry(text)
		if e == nil {
			continue
		}
		if e.Index = d.finds; e.Find != nil {
			d.finds++
		}
		if !yield(e, nil) {
			return
		}
	}
	if !d.ended {
		e := d.say(&kinds.JsonlEndMissing, "the file has no end line: it may be cut short")
		e.Index = d.finds
		yield(e, nil)
	}
}

// entry makes an entry of one line, nil where nothing is to be said of it.
func (d *lineDecoder) entry(text []byte) *Entry {
	if len(bytes.TrimSpace(text)) == 0 {
		return nil
	}
	unreadable := func(why string) *Entry { return d.say(&kinds.JsonlLineUnreadable, why) }
	if int64(len(text)) > d.o.Limits.Record {
		return unreadable(limit.Over("record", d.o.Limits.Record).Error())
	}
	if over := tooManyValues(text, "values", d.o.Limits.Values); over != nil {
		return unreadable(over.Error())
	}
	if e := d.quickEntry(text); e != nil {
		return e
	}
	l, err := parseLine(text)
	if err != nil {
		return unreadable("the line cannot be read: " + err.Error())
	}
	switch l.Type {
	case "find":
		e := &Entry{Find: new(Find), Origin: Origin{File: d.o.File, Line: d.at}}
		if d.o.KeepSource {
			e.Raw = l.Raw
		}
		if err := DecodeFind(l.Raw, e.Find); err != nil {
			return unreadable("the line cannot be read: " + err.Error())
		}
		return e
	case "report":
		return d.say(&kinds.JsonlReportLine, "a second report begins here")
	case "end":
		d.ended = true
		if !l.Finds.Known() || l.Finds.Int() == d.finds {
			return nil
		}
		return d.say(&kinds.JsonlEndMissing, fmt.Sprintf("the end line counts %s finds, the file has %d", l.Finds, d.finds))
	}
	return unreadable("the line has no type that is report, find or end")
}

// quickEntry reads a line that is {"type":"find","find":{...}} in either order, with a find that can be
// read quickly; nil where it is anything else.
func (d *lineDecoder) quickEntry(text []byte) *Entry {
	t := tapes.Get().(*tape.Tape)
	if !t.Parse(text) || t.Nodes[0].Kind != tape.Object || t.Nodes[0].Count != 2 {
		return nil
	}
	find, kind := uint32(0), false
	for i := uint32(1); int(i) < len(t.Nodes); i = t.Nodes[i+1].Next {
		switch value := i + 1; {
		case string(t.Bytes(i)) == "find" && t.Nodes[value].Kind == tape.Object:
			find = value
		case string(t.Bytes(i)) == "type" && t.Nodes[value].Kind == tape.String && string(t.Bytes(value)) == "find":
			kind = true
		}
	}
	if find == 0 || !kind {
		return nil
	}
	e := &Entry{Find: new(Find), Origin: Origin{File: d.o.File, Line: d.at}, tape: t, at: find}
	readObject(t, find, e.Find)
	if d.o.KeepSource {
		e.Raw = t.Text[t.Nodes[find].Start:t.Nodes[find].End]
	}
	return e
}

func (d *lineDecoder) say(k *notice.Kind, message string) *Entry {
	return &Entry{Origin: Origin{File: d.o.File, Line: d.at}, Notices: notice.List{notice.New(k, "", message)}}
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
			return l, &ReadError{Code: "jsonl-line", Msg: fmt.Sprintf("a line of type %s has no member %q that is an object",
				l.Type, l.Type)}
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
