package find

import (
	"bufio"
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/limit"
)

// A Cutter cuts JSON values out of a stream one by one and bounds what is held in memory. It is strict: valid
// UTF-8, unique names, no lone surrogates.
type Cutter struct {
	src    *boundedReader
	dec    *jsontext.Decoder
	limits limit.Limits
}

// boundedReader fails when the decoder holds more than most bytes.
type boundedReader struct {
	r    *bufio.Reader
	dec  *jsontext.Decoder
	read int64
	over *limit.Error // what may be held
	line lineCounter
	fail error // of the reader below, which is no fault of the text
}

func (b *boundedReader) Read(p []byte) (int, error) {
	if b.dec != nil && b.read-b.dec.InputOffset() > b.over.Max {
		return 0, b.over
	}
	n, err := b.r.Read(p)
	if err != nil && err != io.EOF {
		b.fail = err
	}
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

// NewCutter returns a Cutter for r.
func NewCutter(r io.Reader, o Options) *Cutter {
	limits := o.Limits.WithDefaults()
	src := &boundedReader{r: bufio.NewReaderSize(skipBOM(r), 1<<16), over: limit.Over("record", limits.Record)}
	dec := jsontext.NewDecoder(src)
	src.dec = dec
	return &Cutter{src: src, dec: dec, limits: limits}
}

// skipBOM passes over a UTF-8 byte order mark, which RFC 8259 section 8.1 lets a reader ignore.
func skipBOM(r io.Reader) io.Reader {
	b := bufio.NewReaderSize(r, 1<<16)
	if head, _ := b.Peek(3); bytes.Equal(head, []byte("\xef\xbb\xbf")) {
		b.Discard(3)
	}
	return b
}

// MostHeader is how many bytes the report without its finds may have.
func (c *Cutter) MostHeader() int64 { return c.limits.Header }

// Token reads the next token.
func (c *Cutter) Token() (jsontext.Token, error) { return c.dec.ReadToken() }

// Peek tells what kind of token comes next.
func (c *Cutter) Peek() jsontext.Kind { return c.dec.PeekKind() }

// Line returns the line of the text that has been read so far, 0 if it cannot be told.
func (c *Cutter) Line() int { return c.src.line.at(c.dec.InputOffset()) }

// Record reads the next value, a find. It is valid until the next call.
func (c *Cutter) Record() (jsontext.Value, error) {
	v, err := c.value(limit.Over("record", c.limits.Record))
	if err == nil {
		if over := tooManyValues(v, "values", c.limits.Values); over != nil {
			return nil, over
		}
	}
	return v, err
}

// Member reads the next value, which belongs to the report without its finds. It is valid until the
// next call.
func (c *Cutter) Member() (jsontext.Value, error) {
	v, err := c.value(limit.Over("header", c.limits.Header))
	if err == nil {
		if over := tooManyValues(v, "header-values", c.limits.HeaderValues); over != nil {
			return nil, over
		}
	}
	return v, err
}

func (c *Cutter) value(over *limit.Error) (jsontext.Value, error) {
	c.src.over = over
	v, err := c.dec.ReadValue()
	if err == nil && int64(len(v)) > over.Max {
		err = over
	}
	return v, err
}

// skipList reads over a list of finds and returns where it begins and where each of them ends, in bytes.
func (c *Cutter) skipList() (places []int64, err error) {
	if _, err = c.dec.ReadToken(); err != nil {
		return nil, err
	}
	places = append(places, c.dec.InputOffset())
	for c.dec.PeekKind() != ']' {
		if _, err = c.Record(); err != nil {
			return nil, err
		}
		places = append(places, c.dec.InputOffset())
	}
	_, err = c.dec.ReadToken()
	return places, err
}

// Enter goes to the list under a member of the top object.
func (c *Cutter) Enter(member string) error {
	c.src.over = limit.Over("header", c.limits.Header)
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

// End checks that nothing follows.
func (c *Cutter) End() error {
	_, err := c.dec.ReadToken()
	switch {
	case errors.Is(err, io.EOF):
		return nil
	case err != nil:
		return err
	}
	return &ReadError{Code: "json-syntax", At: c.dec.InputOffset(), Line: c.Line(),
		Msg: "there is more after the end of the report", Help: "a file holds one report"}
}

// Explain turns what the parser says into a ReadError with a line.
func (c *Cutter) Explain(err error) error {
	var own *ReadError
	if errors.As(err, &own) {
		return own
	}
	if c.src.fail != nil {
		return c.src.fail
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
	var over *limit.Error
	if errors.As(err, &over) {
		return TooLarge("json-too-large", 0, over)
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
	case errors.Is(err, jsontext.ErrDuplicateName):
		e.Code, e.Msg, e.Help = "json-duplicate-name", "the same member stands twice in one object", "keep one of them"
	case errors.Is(err, io.ErrUnexpectedEOF):
		e.Code, e.Msg, e.Help = "json-cut-short", "the file ends in the middle", "fetch or save it again"
	case strings.Contains(text, "UTF-8"):
		e.Code, e.Msg, e.Help = "json-text-damaged", "the text is not UTF-8", "save the file as UTF-8"
	case strings.Contains(text, "surrogate"):
		e.Code, e.Msg, e.Help = "json-text-damaged", `half of a \u pair stands alone`, "write the character itself"
	case strings.Contains(text, "max nesting depth"), strings.Contains(text, "depth"):
		e.Code, e.Msg = "json-too-large", "lists and objects are nested too deep"
	default:
		e.Code, e.Msg, e.Help = "json-syntax", "the text is not JSON",
			"look at the character before this place: a comma, a quote or a bracket is missing or too many"
	}
	return e
}
