package table

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"github.com/findslip/findslip/pkg/text"
)

// marks are the byte order marks and the encodings they stand for.
var marks = []struct{ mark, name string }{
	{"\xEF\xBB\xBF", "utf-8"},
	{"\xFF\xFE", "utf-16le"},
	{"\xFE\xFF", "utf-16be"},
}

// decode finds out the encoding and returns the text in UTF-8, without its byte order mark.
func (t *Table) decode(source io.Reader, head []byte, asked string, known func(string) bool) (io.Reader, error) {
	if err := notText(head); err != nil {
		return nil, err
	}
	name := ""
	if asked != "" && isDOS(asked) {
		name = "ibm850"
	} else if asked != "" {
		encoding, err := encodingNamed(asked)
		if err != nil {
			return nil, fmt.Errorf("the encoding %.40q is not known: a name such as utf-8, windows-1252, iso-8859-15 or "+
				"utf-16le is expected", asked)
		}
		if name, err = nameOf(encoding); err != nil {
			return nil, fmt.Errorf("the encoding %.40q cannot be read", asked)
		}
		if name == "replacement" || name == "x-user-defined" {
			return nil, fmt.Errorf("the encoding %.40q cannot be read: save the file as UTF-8", asked)
		}
	}
	for _, m := range marks {
		if !bytes.HasPrefix(head, []byte(m.mark)) {
			continue
		}
		if name != "" && name != m.name {
			t.notes = append(t.notes, Note{Text: fmt.Sprintf("the file says itself that it is %s, so it was not read as %s",
				m.name, name)})
		} else {
			t.notes = append(t.notes, Note{Text: "the file says itself that it is " + m.name})
		}
		t.encoding = m.name
		if _, err := io.ReadFull(source, make([]byte, len(m.mark))); err != nil {
			return nil, err
		}
		return t.reader(source)
	}
	switch {
	case name != "":
		t.encoding = name
	case validStart(head):
		t.encoding = "utf-8"
		t.notes = append(t.notes, Note{Text: "the encoding was taken for utf-8"})
	default:
		t.guess = guessEncoding(head, known)
		t.encoding = t.guess.name
		t.notes = append(t.notes, Note{Text: "the text is no valid utf-8, so its encoding was taken for " + t.encoding +
			"; look at the letters beyond a to z, and name the encoding if they are wrong"})
	}
	return t.reader(source)
}

// isDOS reports whether a name is one of the western code page of old systems, which the Encoding Standard does
// not have.
func isDOS(name string) bool {
	switch strings.ToLower(name) {
	case "ibm850", "cp850", "850", "dos":
		return true
	}
	return false
}

// reader returns the source in UTF-8.
func (t *Table) reader(source io.Reader) (io.Reader, error) {
	switch t.encoding {
	case "utf-8":
		return &validReader{r: source, line: 1}, nil
	case "windows-1252":
		return charmap.Windows1252.NewDecoder().Reader(source), nil
	case "utf-16le":
		return unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder().Reader(source), nil
	case "utf-16be":
		return unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewDecoder().Reader(source), nil
	}
	for _, g := range guessed {
		if g.name == t.encoding {
			return g.page.NewDecoder().Reader(source), nil
		}
	}
	encoding, err := encodingNamed(t.encoding)
	if err != nil {
		return nil, err
	}
	return encoding.NewDecoder().Reader(source), nil
}

// notText refuses files that are workbooks or pictures of pages whatever their name.
func notText(head []byte) error {
	for _, kind := range []struct{ mark, words string }{
		{"PK\x03\x04", "is a workbook or another packed file, not a text table: read it as .xlsx"},
		{"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1",
			"is an old .xls or a file with a password, not a text table: save it as .xlsx or CSV"},
		{"%PDF-", "is a PDF, not a text table: save the table as CSV"},
	} {
		if bytes.HasPrefix(head, []byte(kind.mark)) {
			return errors.New(kind.words)
		}
	}
	return nil
}

// validStart reports whether the beginning of a file is valid UTF-8; its last character may be cut.
func validStart(head []byte) bool {
	if len(head) == sample {
		head = head[:len(head)-cut(head)]
	}
	return utf8.Valid(head)
}

// cut returns the number of bytes at the end that begin a character and do not complete it.
func cut(b []byte) int {
	for n := 1; n < utf8.UTFMax && n <= len(b); n++ {
		if tail := b[len(b)-n:]; utf8.RuneStart(tail[0]) {
			if utf8.FullRune(tail) {
				return 0
			}
			return n
		}
	}
	return 0
}

// encodingError says that a text is not in the encoding it was taken for.
type encodingError struct {
	line int
	byte byte
}

func (e *encodingError) Error() string {
	return fmt.Sprintf("line %d: the byte 0x%02X is no valid utf-8, though the text before it is: name the encoding, "+
		"such as windows-1252, or save the file as UTF-8", e.line, e.byte)
}

// validReader hands on UTF-8 as long as it is valid. It keeps back the beginning of a character until
// the rest has come.
type validReader struct {
	r     io.Reader
	buf   [16 << 10]byte
	ready []byte // valid text in buf that is still to be handed on
	end   int    // end of what is in buf; behind ready it is the beginning of a character
	line  int    // the line that the text counted so far ends on
	last  byte   // the last byte counted
	err   error
}

func (v *validReader) Read(p []byte) (int, error) {
	for len(v.ready) == 0 {
		if v.err != nil {
			return 0, v.err
		}
		kept := copy(v.buf[:], v.buf[v.end-v.keep():v.end])
		n, err := v.r.Read(v.buf[kept:])
		v.end, v.err = kept+n, err
		text := v.buf[:v.end]
		if err == nil {
			text = text[:len(text)-cut(text)]
		}
		if good := validLength(text); good < len(text) {
			v.count(text[:good])
			v.err = &encodingError{line: v.line, byte: text[good]}
			v.end, text = good, text[:good]
		} else {
			v.count(text)
		}
		v.ready = text
		if n == 0 && err == nil {
			return 0, nil
		}
	}
	n := copy(p, v.ready)
	v.ready = v.ready[n:]
	return n, nil
}

// keep returns the number of bytes at the end of buf that begin a character.
func (v *validReader) keep() int { return cut(v.buf[:v.end]) }

// validLength returns how many bytes at the start are valid UTF-8.
func validLength(text []byte) int {
	if utf8.Valid(text) {
		return len(text)
	}
	good := 0
	for good < len(text) {
		r, size := utf8.DecodeRune(text[good:])
		if r == utf8.RuneError && size <= 1 {
			break
		}
		good += size
	}
	return good
}

// count counts line ends: LF, CR and CR LF.
func (v *validReader) count(text []byte) {
	if len(text) == 0 {
		return
	}
	v.line += bytes.Count(text, []byte("\n"))
	if bytes.IndexByte(text, '\r') >= 0 || v.last == '\r' {
		v.line += bytes.Count(text, []byte("\r")) - bytes.Count(text, []byte("\r\n"))
		if v.last == '\r' && text[0] == '\n' {
			v.line--
		}
	}
	v.last = text[len(text)-1]
}

// isComma reports whether a character can separate fields.
func isComma(r rune) bool {
	switch {
	case r == '\t':
		return true
	case r < 0x20, r >= 0x7F, r == '"', r >= '0' && r <= '9', r >= 'A' && r <= 'Z', r >= 'a' && r <= 'z':
		return false
	}
	return true
}

// commaName returns the word for a separator.
func commaName(c byte) string {
	switch c {
	case ',':
		return "the comma"
	case ';':
		return "the semicolon"
	case '\t':
		return "the tab"
	case '|':
		return "the bar"
	}
	return strings.TrimSpace(fmt.Sprintf("%q", c))
}

// encodingNamed returns the encoding with a name of the Encoding Standard of the WHATWG.
func encodingNamed(name string) (encoding.Encoding, error) { return htmlindex.Get(name) }

// nameOf returns the name by which the standard calls an encoding.
func nameOf(e encoding.Encoding) (string, error) { return htmlindex.Name(e) }

// lineReader hands on the lines of a text as cut makes them; of a line that is too long for one piece the first.
type lineReader struct {
	src    *bufio.Reader
	cut    func(line []byte) []byte
	within bool // a line that was too long for one piece
	left   []byte
	err    error
}

// withoutMark is a line of a mail without the marks before those that are quoted.
func withoutMark(line []byte) []byte { return line[len(quoteMark().Find(line)):] }

var quoteMark = text.Pattern(`^(?:> ?)+`)

// isQuoted reports whether three lines or more stand quoted below each other, the first of which has no figure, as
// those of a column of values would.
func isQuoted(head []byte) bool {
	run, first := 0, ""
	for line := range bytes.SplitSeq(head, []byte("\n")) {
		mark := quoteMark().Find(line)
		if mark == nil {
			run, first = 0, ""
			continue
		}
		if first == "" {
			first = string(bytes.TrimSpace(line[len(mark):]))
		}
		if run++; run >= 3 && first != "" && !bytes.ContainsAny([]byte(first), "0123456789") {
			return true
		}
	}
	return false
}

// Read implements io.Reader.
func (r *lineReader) Read(p []byte) (int, error) {
	for len(r.left) == 0 && r.err == nil {
		line, err := r.src.ReadSlice('\n')
		if !r.within {
			line = r.cut(line)
		}
		if r.within = err == bufio.ErrBufferFull; !r.within {
			r.err = err
		}
		r.left = append(r.left[:0], line...)
	}
	if len(r.left) == 0 {
		return 0, r.err
	}
	n := copy(p, r.left)
	r.left = r.left[n:]
	return n, nil
}

// aligned returns at which letters the columns of a text begin that are parted by two blanks or more, at the same
// places of every line of the table; nil where the lines have a separator.
func aligned(head []byte, whole bool) (starts []int) {
	lines := bytes.Split(head, []byte("\n"))
	if !whole {
		lines = lines[:len(lines)-1]
	}
	var busy []bool
	filled, parted, table := 0, 0, 0
	for _, line := range lines {
		if line = bytes.TrimRight(line, " \r"); len(line) == 0 {
			continue
		}
		if filled++; bytes.IndexByte(line, '\t') >= 0 || !utf8.Valid(line) {
			return nil
		}
		if len(runsOfBlanks().FindAll(bytes.TrimSpace(line), 3)) < 2 {
			continue
		}
		if table++; cutBySigns().Match(line) {
			parted++
		}
		for i, r := range []rune(string(line)) {
			if i >= len(busy) {
				busy = append(busy, false)
			}
			busy[i] = busy[i] || r != ' '
		}
	}
	if table < 3 || table*2 < filled || parted*2 > table {
		return nil
	}
	for i, is := range busy {
		if is && (len(starts) == 0 || !busy[i-1] && !busy[i-2]) {
			starts = append(starts, i*min(1, len(starts))) // the first from the margin on
		}
	}
	return starts
}

var (
	runsOfBlanks = text.Pattern(`  +`)
	cutBySigns   = text.Pattern(`[;|].*[;|]|[^\s0-9],.*[^\s0-9],`)
)

// withTabs returns a line of a table that is aligned by blanks with a tab before each column. A line of words without
// two blanks together is none of it.
func withTabs(line []byte, starts []int) (out []byte) {
	body := bytes.TrimRight(line, "\r\n")
	if !runsOfBlanks().Match(bytes.TrimSpace(body)) {
		return line
	}
	text := []rune(string(body))
	for i, from := range starts {
		to := len(text)
		if i+1 < len(starts) {
			to = min(to, starts[i+1])
		}
		if i > 0 {
			out = append(out, '\t')
		}
		if from < to {
			cell := strings.TrimSpace(string(text[from:to]))
			if strings.Contains(cell, `"`) {
				cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
			}
			out = append(out, cell...)
		}
	}
	return append(bytes.TrimRight(out, "\t"), line[len(body):]...)
}
