package workbook

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// token is what a scanner stands on.
type token uint8

const (
	startTag token = iota + 1
	endTag
	textRun // a piece of text; long text comes in several pieces
	endOfPart
)

const (
	bufferSize = 64 << 10
	maxTag     = 1 << 20 // the longest tag with its attributes
	maxDepth   = 256     // the deepest nesting of elements
)

var (
	errShort   = errors.New("the XML ends too early: the file is cut short or damaged")
	errDoctype = errors.New("the XML declares a document type or entities, which no spreadsheet does: the file is refused")
	errFull    = errors.New("the buffer is full")
)

// scanner cuts XML into tags and text without copying: what it hands out is valid until the next
// call of next. It knows no namespaces, only that a name may have a prefix; it checks that tags match
// and refuses document types, so there is no entity to expand but the five of XML itself.
type scanner struct {
	src io.Reader
	buf []byte
	pos int // start of what is unread
	end int // end of what is unread
	err error

	name  []byte // of a start tag: the name without its prefix
	attrs []byte // of a start tag: what follows the name
	text  []byte // of a text run: as it stands in the file
	cdata bool   // of a text run: it stands in a CDATA section, where & is itself

	names   []byte // the names of all open elements, one after another
	starts  []int  // where each begins in names
	closing bool   // the start tag just handed out was an empty element
	inCDATA bool
	rooted  bool // the root element has been seen
}

func newScanner(src io.Reader) *scanner {
	return &scanner{src: src, buf: make([]byte, bufferSize)}
}

// depth returns the number of open elements, the one just started included.
func (s *scanner) depth() int { return len(s.starts) }

// more reads on. It moves what is unread to the front of the buffer, which it enlarges only if grow
// is set, and returns errShort at the end of the input and errFull when there is no room.
func (s *scanner) more(grow bool) error {
	if s.err != nil {
		return s.err
	}
	if s.pos > 0 {
		s.end = copy(s.buf, s.buf[s.pos:s.end])
		s.pos = 0
	}
	if s.end == len(s.buf) {
		if !grow {
			return errFull
		}
		if len(s.buf) >= maxTag {
			return fmt.Errorf("a tag is longer than %d bytes", maxTag)
		}
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	for range 100 {
		n, err := s.src.Read(s.buf[s.end:])
		s.end += n
		if err != nil {
			s.err = err
			if err == io.EOF {
				s.err = errShort
			}
		}
		if n > 0 {
			return nil
		}
		if err != nil {
			return s.err
		}
	}
	s.err = io.ErrNoProgress
	return s.err
}

// next goes to the next tag or text. Comments, processing instructions and text outside the root are
// passed over.
func (s *scanner) next() (token, error) {
	if s.closing {
		s.closing = false
		s.pop()
		return endTag, nil
	}
	for {
		if s.inCDATA {
			found, err := s.cdataRun()
			if err != nil {
				return 0, err
			}
			if found {
				return textRun, nil
			}
			continue
		}
		if s.pos == s.end {
			err := s.more(false)
			if err == errShort && s.rooted && s.depth() == 0 {
				return endOfPart, nil
			}
			if err != nil {
				return 0, err
			}
		}
		if s.buf[s.pos] != '<' {
			found, err := s.textRun()
			if err != nil {
				return 0, err
			}
			if found {
				return textRun, nil
			}
			continue
		}
		if err := s.need(2); err != nil {
			return 0, err
		}
		switch s.buf[s.pos+1] {
		case '/':
			return endTag, s.endTag()
		case '!':
			if err := s.declaration(); err != nil {
				return 0, err
			}
		case '?':
			if err := s.pass(2, "?>"); err != nil {
				return 0, err
			}
		default:
			return startTag, s.startTag()
		}
	}
}

// need makes sure of n unread bytes.
func (s *scanner) need(n int) error {
	for s.end-s.pos < n {
		if err := s.more(true); err != nil {
			return err
		}
	}
	return nil
}

// textRun takes the text up to the next tag, or as much of it as the buffer holds.
func (s *scanner) textRun() (bool, error) {
	from := 0
	for {
		unread := s.buf[s.pos:s.end]
		if i := bytes.IndexByte(unread[from:], '<'); i >= 0 {
			return s.take(from+i, false)
		}
		from = len(unread)
		err := s.more(false)
		if err == errShort && s.rooted && s.depth() == 0 {
			return s.take(from, false)
		}
		if err == errFull {
			return s.take(whole(unread), false)
		}
		if err != nil {
			return false, err
		}
	}
}

// take hands out n bytes as text, unless they are outside the root.
func (s *scanner) take(n int, cdata bool) (bool, error) {
	s.text, s.cdata = s.buf[s.pos:s.pos+n], cdata
	s.pos += n
	if s.depth() > 0 {
		return n > 0, nil
	}
	if len(bytes.TrimSpace(s.text)) > 0 {
		return false, errors.New("there is text outside the XML: the file is damaged")
	}
	return false, nil
}

// whole returns how much of a text can be handed out without cutting a reference, a line end or a
// character in two.
func whole(text []byte) int {
	n := len(text)
	const longest = 16 // more than any reference that is accepted
	if i := bytes.LastIndexByte(text[n-longest:], '&'); i >= 0 && bytes.IndexByte(text[n-longest+i:], ';') < 0 {
		n += i - longest
	}
	for back := 1; back <= utf8.UTFMax && back < n; back++ {
		if utf8.RuneStart(text[n-back]) {
			if !utf8.FullRune(text[n-back : n]) {
				n -= back
			}
			break
		}
	}
	if text[n-1] == '\r' || text[n-1] == ']' {
		n--
		if text[n-1] == ']' {
			n--
		}
	}
	return n
}

// cdataRun takes a piece of a CDATA section.
func (s *scanner) cdataRun() (bool, error) {
	for {
		unread := s.buf[s.pos:s.end]
		if i := bytes.Index(unread, []byte("]]>")); i >= 0 {
			found, err := s.take(i, true)
			s.pos += 3
			s.inCDATA = false
			return found, err
		}
		err := s.more(false)
		if err == errFull {
			return s.take(whole(unread), true)
		}
		if err != nil {
			return false, err
		}
	}
}

// declaration passes over a comment, enters a CDATA section and refuses everything else that begins
// with <!.
func (s *scanner) declaration() error {
	if err := s.need(4); err != nil {
		return err
	}
	if string(s.buf[s.pos:s.pos+4]) == "<!--" {
		return s.pass(4, "-->")
	}
	const cdata = "<![CDATA["
	if string(s.buf[s.pos:s.pos+4]) == cdata[:4] {
		if err := s.need(len(cdata)); err != nil {
			return err
		}
		if string(s.buf[s.pos:s.pos+len(cdata)]) == cdata && s.depth() > 0 {
			s.pos += len(cdata)
			s.inCDATA = true
			return nil
		}
	}
	return errDoctype
}

// pass skips n bytes and everything up to and with the mark.
func (s *scanner) pass(n int, mark string) error {
	if err := s.need(n); err != nil {
		return err
	}
	s.pos += n
	for {
		if i := bytes.Index(s.buf[s.pos:s.end], []byte(mark)); i >= 0 {
			s.pos += i + len(mark)
			return nil
		}
		s.pos = max(s.pos, s.end-len(mark)+1)
		if err := s.more(true); err != nil {
			return err
		}
	}
}

// startTag reads a start tag or an empty element.
func (s *scanner) startTag() error {
	var quote byte
	at := 1
	for {
		tag := s.buf[s.pos:s.end]
		for ; at < len(tag); at++ {
			c := tag[at]
			switch {
			case quote != 0:
				if c == quote {
					quote = 0
				}
			case c == '>':
				s.pos += at + 1
				return s.open(tag[1:at])
			case c == '"' || c == '\'':
				quote = c
			case c == '<':
				return errors.New("a tag begins inside a tag: the file is damaged")
			}
		}
		if err := s.more(true); err != nil {
			return err
		}
	}
}

// open takes the inside of a start tag apart.
func (s *scanner) open(tag []byte) error {
	if n := len(tag); n > 0 && tag[n-1] == '/' {
		tag = tag[:n-1]
		s.closing = true
	}
	end, local := 0, 0
	for ; end < len(tag) && !isBlank(tag[end]); end++ {
		if tag[end] == ':' && end > 0 { // an empty prefix is none: Namespaces in XML 1.0, production 8
			local = end + 1
		}
	}
	if local == end {
		return errors.New("a tag has no name: the file is damaged")
	}
	if s.depth() == 0 {
		if s.rooted {
			return errors.New("the XML has a second root: the file is damaged")
		}
		s.rooted = true
	}
	if s.depth() >= maxDepth {
		return fmt.Errorf("the XML is nested more than %d deep", maxDepth)
	}
	s.starts = append(s.starts, len(s.names))
	s.names = append(s.names, tag[:end]...)
	s.name, s.attrs = tag[local:end], tag[end:]
	return nil
}

// endTag reads an end tag and checks that it belongs to the innermost open element.
func (s *scanner) endTag() error {
	from := 2
	for {
		i := bytes.IndexByte(s.buf[s.pos+from:s.end], '>')
		if i >= 0 {
			tag := s.buf[s.pos+2 : s.pos+from+i]
			s.pos += from + i + 1
			for len(tag) > 0 && isBlank(tag[len(tag)-1]) {
				tag = tag[:len(tag)-1]
			}
			depth := s.depth()
			if depth == 0 || !bytes.Equal(tag, s.names[s.starts[depth-1]:]) {
				return errors.New("the tags of the XML do not match: the file is damaged")
			}
			s.pop()
			return nil
		}
		from = s.end - s.pos
		if err := s.more(true); err != nil {
			return err
		}
	}
}

func (s *scanner) pop() {
	last := len(s.starts) - 1
	s.names = s.names[:s.starts[last]]
	s.starts = s.starts[:last]
}

// skip goes to the end of the element just started.
func (s *scanner) skip() error {
	for depth := s.depth(); ; {
		t, err := s.next()
		if err != nil {
			return err
		}
		if t == endTag && s.depth() < depth {
			return nil
		}
	}
}

// finish reads to the end of the part, where the archive compares its checksum.
func (s *scanner) finish() error {
	for {
		t, err := s.next()
		if err != nil || t == endOfPart {
			return err
		}
	}
}

// root goes to the root element, which has to bear one of the names.
func (s *scanner) root(names ...string) error {
	if t, err := s.next(); err != nil {
		return err
	} else if t != startTag {
		return errShort
	}
	for _, name := range names {
		if string(s.name) == name {
			return nil
		}
	}
	return fmt.Errorf("the XML is a <%.40s>, expected <%s>", s.name, names[0])
}

// child goes to the next child of the element that was open at the given depth, passing over text.
// It returns false when that element ends.
func (s *scanner) child(depth int) (bool, error) {
	for {
		t, err := s.next()
		if err != nil {
			return false, err
		}
		switch {
		case t == startTag && s.depth() == depth+1:
			return true, nil
		case t == endTag && s.depth() < depth, t == endOfPart:
			return false, nil
		}
	}
}

// attributes takes the attributes of the start tag that are left, with their text.
func (s *scanner) attributes(take func(name, value string)) error {
	for {
		name, raw, err := s.attr()
		if err != nil || name == nil {
			return err
		}
		value, err := attrText(raw)
		if err != nil {
			return err
		}
		take(string(name), value)
	}
}

// attr takes the next attribute of the start tag: its name with any prefix, and its value as it
// stands in the file. The name is nil when there is none left.
func (s *scanner) attr() (name, value []byte, err error) {
	a := s.attrs
	i := 0
	for i < len(a) && isBlank(a[i]) {
		i++
	}
	if i == len(a) {
		s.attrs = nil
		return nil, nil, nil
	}
	start := i
	for i < len(a) && a[i] != '=' && !isBlank(a[i]) {
		i++
	}
	name = a[start:i]
	for i < len(a) && isBlank(a[i]) {
		i++
	}
	if i == len(a) || a[i] != '=' || len(name) == 0 {
		return nil, nil, errAttribute
	}
	i++
	for i < len(a) && isBlank(a[i]) {
		i++
	}
	if i == len(a) || a[i] != '"' && a[i] != '\'' {
		return nil, nil, errAttribute
	}
	end := bytes.IndexByte(a[i+1:], a[i])
	if end < 0 {
		return nil, nil, errAttribute
	}
	value = a[i+1 : i+1+end]
	s.attrs = a[i+end+2:]
	return name, value, nil
}

var errAttribute = errors.New("an attribute of the XML has no name or no value: the file is damaged")

func isBlank(c byte) bool { return c == ' ' || c == '\n' || c == '\r' || c == '\t' }
