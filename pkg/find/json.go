package find

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// Options of the readers in this package. The zero value is ready for use.
type Options struct {
	File       string // name for messages
	MaxRecord  int64  // bytes of one find; 0: 1 MiB
	MaxHeader  int64  // bytes of the report without its finds; 0: 64 MiB
	KeepSource bool   // keep the JSON of each find in Entry.Raw
}

const (
	defaultMaxRecord = 1 << 20
	defaultMaxHeader = 64 << 20
)

func (o Options) maxRecord() int64 { return orDefault(o.MaxRecord, defaultMaxRecord) }
func (o Options) maxHeader() int64 { return orDefault(o.MaxHeader, defaultMaxHeader) }

func orDefault(v, d int64) int64 {
	if v > 0 {
		return v
	}
	return d
}

// A ReadError says why a file could not be read and where. It never quotes what the file says.
type ReadError struct {
	Code string // kebab-case, such as json-duplicate-name
	Line int    // from 1; 0 if not known
	At   int64  // byte offset
	Path string // JSON Pointer, if known
	Msg  string
	Help string
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
// proves that the whole file is well-formed JSON, and once for the finds, one at a time.
func DecodeJSON(r io.ReadSeeker, o Options) (*Stream, error) {
	raw, finds, err := readHeader(r, o)
	if err != nil {
		return nil, err
	}
	head, err := decodeHeader(raw)
	if err != nil {
		return nil, err
	}
	s := &Stream{Report: head, Raw: raw, File: o.File, Format: "findslip"}
	s.Entries = func(yield func(*Entry, error) bool) {
		if !finds {
			return
		}
		if _, err := r.Seek(0, io.SeekStart); err != nil {
			yield(nil, err)
			return
		}
		cut := newCutter(r, o)
		if err := cut.enter("finds"); err != nil {
			yield(nil, cut.explain(err))
			return
		}
		for i := 0; cut.dec.PeekKind() != ']'; i++ {
			v, err := cut.value(o.maxRecord())
			if err != nil {
				yield(nil, cut.explain(err))
				return
			}
			e := &Entry{Index: i, Find: new(Find), Origin: Origin{File: o.File}}
			if o.KeepSource {
				e.Raw = v.Clone()
			}
			DecodeFind(v, e.Find)
			if !yield(e, nil) {
				return
			}
		}
	}
	return s, nil
}

// readHeader reads all members of the report but its finds.
func readHeader(r io.ReadSeeker, o Options) (raw jsontext.Value, finds bool, err error) {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, false, err
	}
	cut := newCutter(r, o)
	head := []byte{'{'}
	fail := func(err error) (jsontext.Value, bool, error) { return nil, false, cut.explain(err) }
	tok, err := cut.dec.ReadToken()
	if errors.Is(err, io.EOF) {
		return fail(&ReadError{Code: "json-empty", Msg: "the file is empty"})
	}
	if err != nil {
		return fail(err)
	}
	if tok.Kind() != '{' {
		return fail(&ReadError{Code: "not-a-report", Msg: "the file is JSON but not a find report: it does not start with {"})
	}
	for cut.dec.PeekKind() != '}' {
		name, err := cut.dec.ReadToken()
		if err != nil {
			return fail(err)
		}
		key := name.String()
		if key == "finds" && cut.dec.PeekKind() == '[' {
			finds = true
			if err := cut.skipList(o.maxRecord()); err != nil {
				return fail(err)
			}
			continue
		}
		v, err := cut.value(o.maxHeader())
		if err != nil {
			return fail(err)
		}
		if key == "finds" {
			return fail(&ReadError{Code: "not-a-report", Line: cut.src.line.at(cut.dec.InputOffset()), Msg: `"finds" is not a list`,
				Help: "finds is a list of find records between [ and ]"})
		}
		if int64(len(head)+len(v)) > o.maxHeader() {
			return fail(&ReadError{Code: "json-too-large", Msg: fmt.Sprintf("the report without its finds is larger than %d bytes", o.maxHeader())})
		}
		if len(head) > 1 {
			head = append(head, ',')
		}
		if head, err = jsontext.AppendQuote(head, key); err != nil {
			return fail(err)
		}
		head = append(append(head, ':'), v...)
	}
	if _, err := cut.dec.ReadToken(); err != nil {
		return fail(err)
	}
	if err := cut.end(); err != nil {
		return fail(err)
	}
	return append(head, '}'), finds, nil
}

func decodeHeader(raw jsontext.Value) (*Report, error) {
	head := new(Report)
	decodeLenient(raw, head, &head.Unknown)
	head.Finds = nil
	if head.Findslip == "" {
		return nil, &ReadError{Code: "not-a-report", Msg: `the file is JSON but not a find report: it has no member "findslip"`,
			Help: `a report begins with {"findslip": "1.0"`}
	}
	if !strings.HasPrefix(head.Findslip, "1.") {
		return nil, &ReadError{Code: "version-unknown",
			Msg:  "the report is of a version of the format that this program does not know",
			Help: "it reads every 1.x; get a newer program for this file"}
	}
	return head, nil
}

// DecodeFind reads one find from JSON. A member that does not have the shape of the schema is kept
// as it is in Unknown and comes out again unchanged; validation says what is wrong with it.
func DecodeFind(raw jsontext.Value, f *Find) {
	decodeLenient(raw, f, &f.Unknown)
}

// decodeLenient decodes the object into out; when that fails, member by member, leaving what does
// not fit in unknown.
func decodeLenient[T any](raw jsontext.Value, out *T, unknown *jsontext.Value) {
	if json.Unmarshal(raw, out) == nil {
		return
	}
	*out = *new(T)
	kept := []byte{'{'}
	dec := jsontext.NewDecoder(bytes.NewReader(raw))
	if tok, err := dec.ReadToken(); err != nil || tok.Kind() != '{' {
		return
	}
	for dec.PeekKind() != '}' {
		name, err := dec.ReadToken()
		if err != nil {
			return
		}
		key := name.String()
		v, err := dec.ReadValue()
		if err != nil {
			return
		}
		member, err := jsontext.AppendQuote(nil, key)
		if err != nil {
			return
		}
		member = append(append(member, ':'), v...)
		one := append(append([]byte{'{'}, member...), '}')
		trial := *new(T)
		if json.Unmarshal(one, &trial) == nil && json.Unmarshal(one, out) == nil {
			// Unknown members gather in out.Unknown by themselves only one at a time.
			continue
		}
		if len(kept) > 1 {
			kept = append(kept, ',')
		}
		kept = append(kept, member...)
	}
	if len(kept) > 1 {
		*unknown = mergeObjects(*unknown, append(kept, '}'))
	}
}

// mergeObjects joins the members of two JSON objects.
func mergeObjects(a, b jsontext.Value) jsontext.Value {
	a, b = bytes.TrimSpace(a), bytes.TrimSpace(b)
	if len(a) <= 2 {
		return b
	}
	if len(b) <= 2 {
		return a
	}
	return append(append(append(jsontext.Value{}, a[:len(a)-1]...), ','), b[1:]...)
}

// cutter cuts JSON values out of a stream and bounds what is held in memory.
type cutter struct {
	src *boundedReader
	dec *jsontext.Decoder
	r   io.Reader
}

// boundedReader fails when the decoder holds more than most bytes.
type boundedReader struct {
	r    *bufio.Reader
	dec  *jsontext.Decoder
	read int64
	most int64
	line lineCounter
}

var errTooLarge = errors.New("value too large")

func (b *boundedReader) Read(p []byte) (int, error) {
	if b.dec != nil && b.read-b.dec.InputOffset() > b.most {
		return 0, errTooLarge
	}
	n, err := b.r.Read(p)
	b.read += int64(n)
	b.line.add(p[:n])
	return n, err
}

// lineCounter remembers where lines begin, near the end of what was read.
type lineCounter struct {
	lines  int // line feeds seen
	offset int64
	recent []int64 // offsets of the latest line feeds
}

const recentLines = 1 << 16

func (l *lineCounter) add(p []byte) {
	base := l.offset
	l.offset += int64(len(p))
	for i := 0; ; {
		j := bytes.IndexByte(p[i:], '\n')
		if j < 0 {
			return
		}
		i += j + 1
		l.lines++
		if len(l.recent) == recentLines {
			l.recent = append(l.recent[:0], l.recent[recentLines/2:]...)
		}
		l.recent = append(l.recent, base+int64(i-1))
	}
}

// at returns the line of a byte offset, 0 if it is too far back to tell.
func (l *lineCounter) at(offset int64) int {
	line := l.lines + 1
	for i := len(l.recent) - 1; i >= 0 && l.recent[i] >= offset; i-- {
		line--
		if i == 0 && len(l.recent) < l.lines {
			return 0
		}
	}
	return line
}

func newCutter(r io.Reader, o Options) *cutter {
	src := &boundedReader{r: bufio.NewReaderSize(skipBOM(r), 1<<16), most: o.maxRecord()}
	dec := jsontext.NewDecoder(src)
	src.dec = dec
	return &cutter{src: src, dec: dec}
}

// skipBOM passes over a UTF-8 byte order mark, which RFC 8259 section 8.1 lets a reader ignore.
func skipBOM(r io.Reader) io.Reader {
	b := bufio.NewReaderSize(r, 1<<16)
	if head, _ := b.Peek(3); bytes.Equal(head, []byte("\xef\xbb\xbf")) {
		b.Discard(3)
	}
	return b
}

// value reads the next value of at most most bytes. It is valid until the next call.
func (c *cutter) value(most int64) (jsontext.Value, error) {
	c.src.most = most
	v, err := c.dec.ReadValue()
	if err == nil && int64(len(v)) > most {
		err = errTooLarge
	}
	return v, err
}

// skipList reads over a list, value by value.
func (c *cutter) skipList(most int64) error {
	if _, err := c.dec.ReadToken(); err != nil {
		return err
	}
	for c.dec.PeekKind() != ']' {
		if _, err := c.value(most); err != nil {
			return err
		}
	}
	_, err := c.dec.ReadToken()
	return err
}

// enter goes to the list under a member of the top object.
func (c *cutter) enter(member string) error {
	c.src.most = defaultMaxHeader
	if _, err := c.dec.ReadToken(); err != nil {
		return err
	}
	for c.dec.PeekKind() != '}' {
		name, err := c.dec.ReadToken()
		if err != nil {
			return err
		}
		if name.String() == member && c.dec.PeekKind() == '[' {
			_, err := c.dec.ReadToken()
			return err
		}
		if err := c.dec.SkipValue(); err != nil {
			return err
		}
	}
	return io.ErrUnexpectedEOF
}

// end checks that nothing follows.
func (c *cutter) end() error {
	_, err := c.dec.ReadToken()
	switch {
	case errors.Is(err, io.EOF):
		return nil
	case err != nil:
		return err
	}
	return &ReadError{Code: "json-syntax", At: c.dec.InputOffset(), Line: c.src.line.at(c.dec.InputOffset()),
		Msg: "there is more after the end of the report", Help: "a file holds one report"}
}

// explain turns what the parser says into a ReadError with a line.
func (c *cutter) explain(err error) error {
	var own *ReadError
	if errors.As(err, &own) {
		return own
	}
	e := ExplainJSON(err)
	if e == nil {
		return err
	}
	if e.At == 0 {
		e.At = c.dec.InputOffset()
	}
	e.Line = c.src.line.at(e.At)
	return e
}

// ExplainJSON turns an error of the JSON parser into a ReadError, or returns nil if it is none. It
// names the place by offset and pointer.
func ExplainJSON(err error) *ReadError {
	if errors.Is(err, errTooLarge) {
		return &ReadError{Code: "json-too-large", Msg: "one value is larger than the limit",
			Help: "split the file, or raise the limit if you trust it"}
	}
	var syntax *jsontext.SyntacticError
	if !errors.As(err, &syntax) {
		if errors.Is(err, io.ErrUnexpectedEOF) {
			return &ReadError{Code: "json-cut-short", Msg: "the file ends in the middle", Help: "fetch or save it again"}
		}
		return nil
	}
	e := &ReadError{At: syntax.ByteOffset, Path: string(syntax.JSONPointer)}
	text := syntax.Err.Error()
	switch {
	case errors.Is(err, errTooLarge):
		e.Code, e.Msg = "json-too-large", "one value is larger than the limit"
	case errors.Is(err, jsontext.ErrDuplicateName):
		e.Code, e.Msg, e.Help = "json-duplicate-name", "the same member stands twice in one object", "keep one of them"
	case errors.Is(err, io.ErrUnexpectedEOF):
		e.Code, e.Msg, e.Help = "json-cut-short", "the file ends in the middle", "fetch or save it again"
	case strings.Contains(text, "UTF-8"):
		e.Code, e.Msg, e.Help = "json-invalid-utf8", "the text is not UTF-8", "save the file as UTF-8"
	case strings.Contains(text, "surrogate"):
		e.Code, e.Msg, e.Help = "json-lone-surrogate", `half of a \u pair stands alone`, "write the character itself"
	case strings.Contains(text, "max nesting depth"), strings.Contains(text, "depth"):
		e.Code, e.Msg = "json-too-deep", "lists and objects are nested too deep"
	default:
		e.Code, e.Msg, e.Help = "json-syntax", "the text is not JSON", "look at the character before this place: a comma, a quote or a bracket is missing or too many"
	}
	return e
}
