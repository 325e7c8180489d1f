// Package markup reads and writes the XML of map files the way all of them here share: one record
// at a time, no document type, no entities but those of XML, bounded memory, and texts that are
// safe to put into XML.
//
// The reader goes down by Children: visit is called for each child of an element and takes it with
// Decode, Skip or Children. What visit leaves alone is passed over.
package markup

import (
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	fold "github.com/findslip/findslip/pkg/text"
)

// Stop ends the reading without an error when a visit returns it.
var Stop = errors.New("stop")

// A Reader reads one XML file, element by element.
type Reader struct {
	format string // prefix of the codes of errors
	limits limit.Limits
	dec    *xml.Decoder
	src    *bounded
	taken  bool  // the element given to visit has been consumed
	began  int64 // where it began
}

// bounded fails when an element has more bytes than it may have.
type bounded struct {
	r    *bufio.Reader
	read int64
	most int64        // offset that must not be passed, 0: none
	over *limit.Error // what is said when it is
	deep depth
	err  error // of the source, but for its end
}

func (b *bounded) ReadByte() (byte, error) {
	if b.most > 0 && b.read >= b.most {
		return 0, b.over
	}
	c, err := b.r.ReadByte()
	switch {
	case err == nil:
		b.read++
		if b.deep.tooDeep(c) {
			return 0, limit.Over("nesting", b.deep.most)
		}
	case !errors.Is(err, io.EOF):
		b.err = err
	}
	return c, err
}

// Read satisfies io.Reader; the XML decoder reads byte by byte.
func (b *bounded) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c, err := b.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = c
	return 1, nil
}

// Read goes to the start of a file, proves that its root has the name given, and visits the
// children of the root. The format is the prefix of the codes of errors and the name that they
// call the format by. Of the limits Record, Header and Nesting are looked at.
func Read(r io.ReadSeeker, format string, limits limit.Limits, visit func(*Reader, xml.StartElement) error) error {
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return err
	}
	limits = limits.WithDefaults()
	src := &bounded{r: bufio.NewReaderSize(r, 1<<16), deep: depth{most: limits.Nesting}}
	x := &Reader{format: format, limits: limits, src: src, dec: xml.NewDecoder(src)}
	if head, _ := src.r.Peek(3); string(head) == "\xef\xbb\xbf" {
		src.r.Discard(3)
	}
	err := x.file(visit)
	if errors.Is(err, Stop) {
		return nil
	}
	if err != nil {
		return x.explain(err)
	}
	return nil
}

func (x *Reader) file(visit func(*Reader, xml.StartElement) error) error {
	root := false
	for {
		x.bound("header", x.limits.Header)
		tok, err := x.dec.Token()
		if errors.Is(err, io.EOF) && root {
			return nil
		}
		if err != nil {
			return err
		}
		switch t := tok.(type) {
		case xml.Directive:
			return x.doctype()
		case xml.StartElement:
			switch {
			case root:
				return x.Fail("syntax", "there is more after the end of the file's one element",
					"save it again with the program that made it")
			case t.Name.Local != x.format:
				return &find.ReadError{Code: "not-" + x.format, Line: x.Line(), Msg: "the file is XML but not " +
					strings.ToUpper(x.format) + ": its outermost element is not " + x.format}
			}
			root = true
			if err := x.Children(visit); err != nil {
				return err
			}
		}
	}
}

// Children visits each child of the element that is being read.
func (x *Reader) Children(visit func(*Reader, xml.StartElement) error) error {
	x.taken = true
	for {
		x.bound("header", x.limits.Header)
		tok, err := x.dec.Token()
		if err != nil {
			return err
		}
		switch t := tok.(type) {
		case xml.Directive:
			return x.doctype()
		case xml.EndElement:
			x.taken = true
			return nil
		case xml.StartElement:
			x.taken, x.began = false, x.src.read
			if err := visit(x, t); err != nil {
				return err
			}
			if !x.taken {
				if err := x.Skip(); err != nil {
					return err
				}
			}
		}
	}
}

// Decode reads the element into v, as xml.Unmarshal does.
func (x *Reader) Decode(start *xml.StartElement, v any) error {
	x.taken = true
	return x.dec.DecodeElement(v, start)
}

// Skip passes over the element.
func (x *Reader) Skip() error {
	x.taken = true
	x.src.most = 0 // nothing of it is held
	return x.dec.Skip()
}

// Record says that the element that is being read is a find, whose bytes are bounded.
func (x *Reader) Record() { x.bound("record", x.limits.Record) }

// Taken returns the bytes of the element that was given to visit, as far as it has been read.
func (x *Reader) Taken() int64 { return x.src.read - x.began }

func (x *Reader) bound(name string, most int64) {
	x.src.over = limit.Over(name, most)
	if x.src.most = x.src.read + most; x.src.most < 0 { // lifted
		x.src.most = 0
	}
}

// Line returns the line that has been read to, from 1.
func (x *Reader) Line() int {
	line, _ := x.dec.InputPos()
	return line
}

// Fail returns an error at the present line. The code is put behind the name of the format.
func (x *Reader) Fail(code, message, help string) error {
	return &find.ReadError{Code: x.format + "-" + code, Line: x.Line(), Msg: message, Help: help}
}

func (x *Reader) doctype() error {
	return x.Fail("doctype", "the file has a document type declaration", "remove the line that begins with <!DOCTYPE")
}

func (x *Reader) explain(err error) error {
	var own *find.ReadError
	var syntax *xml.SyntaxError
	var over *limit.Error
	switch {
	case errors.As(err, &own):
		return own
	case errors.As(err, &over) && over.Limit == "nesting":
		return find.TooLarge(x.format+"-too-deep", x.Line(), over)
	case errors.As(err, &over):
		return find.TooLarge(x.format+"-too-large", x.Line(), over)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF), errors.As(err, &syntax) &&
		strings.Contains(syntax.Msg, "unexpected EOF"):
		return x.Fail("cut-short", "the file ends in the middle", "fetch or save it again")
	case strings.Contains(err.Error(), "xml: encoding"), errors.As(err, &syntax) && strings.Contains(syntax.Msg, "UTF-8"):
		return x.Fail("encoding", "the file is not in UTF-8", "save it again as UTF-8")
	case errors.As(err, &syntax), errors.As(err, new(xml.UnmarshalError)), errors.Is(err, io.ErrNoProgress):
		return x.Fail("syntax", "the file is not well-formed XML", "save it again with the program that made it")
	}
	return x.from()
}

// from tells an error of the source, which stays as it is, from what else the XML decoder says.
func (x *Reader) from() error {
	if x.src.err != nil {
		return x.src.err
	}
	return x.Fail("syntax", "the file is not well-formed XML", "save it again with the program that made it")
}

// Escape makes text safe as the text or an attribute of an element. Control characters and direction marks are
// made visible; other characters that XML 1.0 cannot hold become U+FFFD.
func Escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(fold.Visible(s))) // a strings.Builder never fails
	return b.String()
}

// JSON makes a JSON text one that XML 1.0 can hold and that shows all that is in it: the characters that JSON may
// leave as they are and XML may not, and those that show nothing, are escaped; they stand in strings only. So nothing
// of it is lost.
func JSON(raw string) string {
	if !fold.HasHidden(raw) && !strings.ContainsAny(raw, "\ufffe\uffff") {
		return raw
	}
	var b strings.Builder
	for _, r := range raw {
		if fold.IsHidden(r) || r == 0xFFFE || r == 0xFFFF {
			fmt.Fprintf(&b, `\u%04x`, r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Holds reports whether every character of a text comes through: XML 1.0 section 2.2 leaves out most control
// characters, and those and direction marks are made visible.
func Holds(s string) bool {
	for i, r := range s {
		switch {
		case r == '\t', r == '\n', r == '\r':
		case fold.IsHidden(r), r == 0xFFFE, r == 0xFFFF:
			return false
		case r == utf8.RuneError:
			if _, size := utf8.DecodeRuneInString(s[i:]); size == 1 {
				return false
			}
		}
	}
	return true
}

// Element writes an element that holds a text, on a line of its own. Errors stay in the writer.
func Element(out *bufio.Writer, indent, name, text string) {
	out.WriteString(indent)
	out.WriteByte('<')
	out.WriteString(name)
	out.WriteByte('>')
	out.WriteString(Escape(text))
	out.WriteString("</")
	end := strings.IndexByte(name, ' ') // attributes stand in the start tag only
	if end < 0 {
		end = len(name)
	}
	out.WriteString(name[:end])
	out.WriteString(">\n")
}

// depth counts how deep elements stand in each other, byte by byte and before the XML decoder sees
// them: the decoder keeps a record of every element that is open, and takes as many as come.
type depth struct {
	open  int64
	empty bool // the byte ended an element without content, which stood in those that are open
	most  int64
	where place
	until string  // what ends the comment, section or instruction
	tail  [3]byte // the latest bytes of it
	seen  string  // the first bytes of the tag
	mark  byte    // the quotation mark that is open within a tag, 0: none
	last  byte
}

type place byte

const (
	inText place = iota
	inTag
	inOther // a comment, a CDATA section, an instruction or a declaration
)

// add takes the next byte and returns how many elements are open.
func (d *depth) add(c byte) int64 {
	d.empty = false
	switch d.where {
	case inText:
		if c == '<' {
			d.where, d.seen, d.mark, d.last = inTag, "", 0, 0
		}
	case inOther:
		d.tail = [3]byte{d.tail[1], d.tail[2], c}
		if c == '>' && strings.HasSuffix(string(d.tail[:]), d.until) {
			d.where = inText
		}
	case inTag:
		d.inTag(c)
	}
	return d.open
}

// tooDeep takes the next byte and reports whether more elements stand in each other than may.
func (d *depth) tooDeep(c byte) bool {
	open := d.add(c)
	return open > d.most || d.empty && open == d.most
}

func (d *depth) inTag(c byte) {
	if c != '>' && (d.seen == "" || d.seen[0] == '!' && len(d.seen) < len("![CDATA[")) {
		d.seen += string(rune(c))
		if other, ok := d.isOther(); ok {
			d.where, d.until, d.tail = inOther, other, [3]byte{}
			return
		}
	}
	switch {
	case d.mark != 0:
		if c == d.mark {
			d.mark = 0
		}
	case c == '"' || c == '\'':
		d.mark = c
	case c == '>':
		d.where = inText
		switch {
		case strings.HasPrefix(d.seen, "/"):
			d.open = max(d.open-1, 0)
		case d.last != '/':
			d.open++
		default:
			d.empty = true
		}
	}
	d.last = c
}

// isOther reports whether the tag has turned out to be no element, and what ends it then (XML 1.0
// sections 2.5 to 2.8).
func (d *depth) isOther() (end string, ok bool) {
	switch {
	case d.seen == "?":
		return "?>", true
	case d.seen == "!--":
		return "-->", true
	case d.seen == "![CDATA[":
		return "]]>", true
	case d.seen[0] == '!' && !strings.HasPrefix("!--", d.seen) && !strings.HasPrefix("![CDATA[", d.seen):
		return ">", true
	}
	return "", false
}
