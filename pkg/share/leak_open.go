package share

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"compress/zlib"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"html"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/ulikunitz/xz"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
)

// maxDepth is how deep packed files within packed files are looked into.
const maxDepth = 4

// opening is one search, and what is left of the limits while packed files are looked into.
type opening struct {
	s      *secrets
	limits limit.Limits
	left   int64 // bytes that may still be unpacked
	depth  int
	out    []Leak
	unread []string
}

func (o *opening) cannot(part, why string) {
	if part == "" {
		part = "the file"
	}
	o.unread = append(o.unread, part+": "+why)
}

// file looks through a file that can be read anywhere: a packed one is unpacked from where it lies, and a text is
// read piece by piece.
func (o *opening) file(at io.ReaderAt, size int64, part string) error {
	head := make([]byte, min(size, headSize))
	if n, err := at.ReadAt(head, 0); err != nil && int64(n) < int64(len(head)) {
		return fmt.Errorf("looking for leaks: %w", err)
	}
	if isZip(head) {
		return o.zip(at, size, part)
	}
	return o.stream(io.NewSectionReader(at, 0, size), part)
}

// headSize is how much of a file says of what sort it is.
const headSize = 64 << 10

func isZip(head []byte) bool {
	return bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06"))
}

// stream looks through one file, and through what is packed in it.
func (o *opening) stream(r io.Reader, part string) error {
	if o.depth > maxDepth {
		o.cannot(part, fmt.Sprintf("files are packed more than %d deep", maxDepth))
		return nil
	}
	in := bufio.NewReaderSize(r, headSize)
	head, err := in.Peek(headSize)
	if err != nil && !errors.Is(err, io.EOF) {
		return o.broken(err, part)
	}
	text := picture.Extension(head) == "" && !isZip(head) && !bytes.HasPrefix(head, []byte("%PDF-")) && !opaque(head) &&
		!wide(head)
	switch {
	case text:
		return o.text(in, part)
	case bytes.HasPrefix(head, []byte("\x1f\x8b")):
		return o.gzip(in, part)
	case bytes.HasPrefix(head, []byte("\xfd7zXZ\x00")):
		return o.xz(in, part)
	}
	data, err := limit.ReadAll(in, "held", o.limits.Held)
	if err != nil {
		return o.broken(err, part)
	}
	return o.open(data, part)
}

// broken says what became of a part that could not be read to its end.
func (o *opening) broken(err error, part string) error {
	if over := limit.Of(err); over != nil {
		if part != "" {
			return fmt.Errorf("looking for leaks in %.80q: %w", part, err)
		}
		return fmt.Errorf("looking for leaks: %w", err)
	}
	o.cannot(part, "it cannot be unpacked")
	return nil
}

// pieceSize is how much of a text is looked through at once, and overlap how much of the piece before goes with it.
const (
	pieceSize = 256 << 10
	overlap   = 256
)

// text looks through a text piece by piece. A piece ends where no word, figure or coded run does.
func (o *opening) text(in *bufio.Reader, part string) error {
	var buf []byte
	sort := byte(0)
	for base := int64(0); ; {
		if err := o.s.ctx.Err(); err != nil {
			return err
		}
		from := len(buf)
		buf = slices.Grow(buf, pieceSize)[:from+pieceSize]
		n, err := io.ReadFull(in, buf[from:])
		buf = buf[:from+n]
		done := errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
		if err != nil && !done {
			return o.broken(err, part)
		}
		if sort == 0 {
			sort = sortOf(buf)
		}
		end := len(buf)
		if !done {
			if end = lastBreak(buf, sort) + 1; end == 0 {
				if int64(len(buf)) > o.limits.Held && o.limits.Held > 0 {
					return fmt.Errorf("looking for leaks: %w", limit.Over("held", o.limits.Held))
				}
				continue // one long run: a picture, mostly
			}
		}
		for _, l := range o.s.search(o, buf[:end], part, sort) {
			l.At, l.To = l.At+int(base), l.To+int(base)
			o.out = append(o.out, l)
		}
		o.out = once(o.out)
		if done {
			return nil
		}
		keep := max(0, end-overlap)
		if cut := bytes.LastIndexAny(buf[:keep], "\n>"); cut >= 0 && keep-cut < pieceSize/2 {
			keep = cut + 1
		}
		base += int64(keep)
		buf = append(buf[:0], buf[keep:]...)
	}
}

// lastBreak is where a piece can end: behind a line or a tag, in a text of one line at a blank.
func lastBreak(buf []byte, sort byte) int {
	half := len(buf) / 2
	signs := "\n"
	if sort == '<' {
		signs = ">"
	}
	if at := bytes.LastIndexAny(buf[half:], signs); at >= 0 {
		return half + at
	}
	if at := bytes.LastIndexAny(buf[half:], "\n>, "); at >= 0 {
		return half + at
	}
	return -1
}

// sortOf tells XML, JSON and other texts apart.
func sortOf(text []byte) byte {
	trimmed := bytes.TrimSpace(bytes.TrimPrefix(text, []byte("\ufeff")))
	if len(trimmed) > 0 && strings.IndexByte("<{[", trimmed[0]) >= 0 {
		return trimmed[0]
	}
	return 't'
}

// open looks through a file that is held whole.
func (o *opening) open(data []byte, part string) error {
	if o.depth > maxDepth {
		o.cannot(part, fmt.Sprintf("files are packed more than %d deep", maxDepth))
		return nil
	}
	switch {
	case picture.Extension(data) != "":
		o.out = append(o.out, carried(data, part)...)
	case isZip(data):
		return o.zip(bytes.NewReader(data), int64(len(data)), part)
	case bytes.HasPrefix(data, []byte("\x1f\x8b")):
		return o.gzip(bytes.NewReader(data), part)
	case bytes.HasPrefix(data, []byte("\xfd7zXZ\x00")):
		return o.xz(bytes.NewReader(data), part)
	case bytes.HasPrefix(data, []byte("%PDF-")):
		return o.pdf(data, part)
	case opaque(data):
		o.out = append(o.out, o.s.search(o, latin(data), part, 't')...) // what stands in it in the open
		o.cannot(part, "its sort is not known, so that only what stands in it in plain letters was looked through")
	default:
		o.out = append(o.out, o.s.search(o, data, part, sortOf(data))...)
	}
	return nil
}

// wide reports whether a text says that it is in UTF-16.
func wide(data []byte) bool {
	return len(data) >= 2 && (data[0] == 0xff && data[1] == 0xfe || data[0] == 0xfe && data[1] == 0xff)
}

// opaque reports whether bytes are no text.
func opaque(data []byte) bool {
	return !wide(data) && bytes.IndexByte(data[:min(len(data), headSize)], 0) >= 0
}

func latin(data []byte) []byte {
	if utf8.Valid(data) {
		return data
	}
	return bytes.Map(func(r rune) rune {
		if r == utf8.RuneError || r == 0 {
			return ' '
		}
		return r
	}, data)
}

func (o *opening) zip(at io.ReaderAt, size int64, part string) error {
	r, err := zip.NewReader(at, size)
	if err != nil {
		o.cannot(part, "it begins as a zip file and is none")
		return nil
	}
	if int64(len(r.File)) > o.limits.Entries {
		return fmt.Errorf("looking for leaks: %w", limit.Over("entries", o.limits.Entries))
	}
	o.out = append(o.out, o.s.look(r.Comment, "the comment of the packed file")...)
	for i, file := range r.File {
		if err := o.s.ctx.Err(); err != nil {
			return err
		}
		name := file.Name
		if leaks := o.s.look(name+"\n"+file.Comment+"\n"+string(file.Extra),
			fmt.Sprintf("the name of part %d", i+1)); len(leaks) > 0 {
			o.out = append(o.out, leaks...)
			name = fmt.Sprintf("part %d", i+1) // the name is not to be quoted
		}
		if part != "" {
			name = part + ": " + name
		}
		if file.Flags&1 != 0 {
			o.cannot(name, "it is encrypted")
			continue
		}
		f, err := file.Open()
		if err != nil {
			o.cannot(name, "it cannot be unpacked")
			continue
		}
		err = o.inner(f, name)
		f.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// inner looks through a packed part.
func (o *opening) inner(r io.Reader, name string) error {
	o.depth++
	defer func() { o.depth-- }()
	counted := &counting{r: r, left: &o.left, most: o.limits.Expanded}
	return o.stream(counted, name)
}

// counting takes what is unpacked off what may still be.
type counting struct {
	r    io.Reader
	left *int64
	most int64
}

func (c *counting) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	if *c.left -= int64(n); *c.left < 0 && c.most > 0 {
		return 0, limit.Over("expanded", c.most)
	}
	return n, err
}

func (o *opening) gzip(in io.Reader, part string) error {
	r, err := gzip.NewReader(in)
	if err != nil {
		o.cannot(part, "it begins as a gzip file and is none")
		return nil
	}
	o.out = append(o.out, o.s.look(r.Name+"\n"+r.Comment, "the name within the packed file")...)
	return o.inner(r, inPart(part))
}

func (o *opening) xz(in io.Reader, part string) error {
	r, err := xz.NewReader(in)
	if err != nil {
		o.cannot(part, "it begins as an xz file and is none")
		return nil
	}
	return o.inner(r, inPart(part))
}

func inPart(part string) string {
	if part == "" {
		return "what is packed in it"
	}
	return part + ": what is packed in it"
}

// The parts of a PDF file (ISO 32000-1, 7.3.8 streams, 7.3.4 strings).
var (
	pdfStream = later(`(?s)<<(.{0,4000}?)>>\s*stream\r?\n`)
	pdfText   = later(`\((?:[^()\\]|\\.)*\)|<[0-9A-Fa-f\s]{2,}>`)
	pdfShown  = later(`T[jJ*]|'`)
)

// pdf looks through the texts of a PDF file. What is encrypted, packed in a way that is not known, or shown
// in glyphs whose letters are not said cannot be looked into.
func (o *opening) pdf(data []byte, part string) error {
	if bytes.Contains(data, []byte("/Encrypt")) {
		o.cannot(part, "the PDF file is encrypted")
	}
	var text strings.Builder
	pdfStrings(&text, data)
	glyphs := bytes.Contains(data, []byte("/Identity-H"))
	for _, m := range pdfStream().FindAllSubmatchIndex(data, -1) {
		dict := string(data[m[2]:m[3]])
		rest := data[m[1]:]
		end := bytes.Index(rest, []byte("endstream"))
		if end < 0 {
			o.cannot(part, "a part of the PDF file has no end")
			break
		}
		raw := rest[:end]
		switch {
		case strings.Contains(dict, "/DCTDecode"), strings.Contains(dict, "/JPXDecode"):
			o.out = append(o.out, carried(bytes.TrimRight(raw, "\r\n"), part)...)
			continue
		case strings.Contains(dict, "/FlateDecode") && strings.Count(dict, "Decode") == strings.Count(dict, "/FlateDecode")+
			strings.Count(dict, "/DecodeParms"):
			z, err := zlib.NewReader(bytes.NewReader(raw))
			if err != nil {
				o.cannot(part, "a part of the PDF file cannot be unpacked")
				continue
			}
			if raw, err = limit.ReadAll(z, "held", min(o.limits.Held, max(o.left, 1))); limit.Of(err) != nil {
				return fmt.Errorf("looking for leaks: %w", err)
			}
			if o.left -= int64(len(raw)); o.left < 0 {
				return fmt.Errorf("looking for leaks: %w", limit.Over("expanded", o.limits.Expanded))
			}
		case strings.Contains(dict, "Decode"):
			o.cannot(part, "a part of the PDF file is packed in a way that is not known here")
			continue
		}
		if bytes.Contains(raw, []byte("/Identity-H")) {
			glyphs = true
		}
		if strings.Contains(dict, "/Image") || strings.Contains(dict, "/FontFile") || strings.Contains(dict, "/Length1") {
			continue
		}
		text.WriteByte('\n')
		pdfStrings(&text, raw)
		if !pdfShown().Match(raw) { // a dictionary of objects, XMP, a form
			text.Write(latin(raw))
		}
	}
	if glyphs {
		o.cannot(part, "the PDF file shows its text in glyphs whose letters cannot be told")
	}
	o.out = append(o.out, once(o.s.look(text.String(), part))...)
	return nil
}

// pdfStrings writes out the strings of PDF objects, those of one line joined as they are shown.
func pdfStrings(out *strings.Builder, data []byte) {
	for _, m := range pdfText().FindAll(data, -1) {
		if m[0] == '<' {
			raw, err := hex.DecodeString(strings.Join(strings.Fields(string(m[1:len(m)-1])), ""))
			if err != nil {
				continue
			}
			m = raw
		} else {
			m = pdfEscape().ReplaceAllFunc(m[1:len(m)-1], func(e []byte) []byte {
				if e[1] >= '0' && e[1] <= '7' {
					v := 0
					for _, c := range e[1:] {
						v = v*8 + int(c-'0')
					}
					return []byte(string(rune(v)))
				}
				if i := strings.IndexByte("nrtbf", e[1]); i >= 0 {
					return []byte(" ")
				}
				return e[1:]
			})
		}
		out.WriteString(plain(m))
		if len(m) > 12 {
			out.WriteByte(' ')
		}
	}
}

var pdfEscape = later(`\\(?:[0-7]{1,3}|.)`)

var (
	// dataAddress is a file within a page, whose signs may be written as marks of HTML: &#43; for +.
	dataAddress = later(`data:[a-z]+/[a-z0-9.+-]+;base64,(?:[A-Za-z0-9+/=]|&#(?:43|47|61|x2[bBfF]|x3[dD]);)*`)
	// coded is a long run of base64.
	coded = later(`[A-Za-z0-9+/_-]{48,}={0,2}`)
	// percent is a sign in the coding of addresses, or of letters.
	percent = later(`[%=][0-9A-Fa-f]{2}`)
	// cellEnd is a tag of XML or HTML behind which another value begins.
	cellEnd = later(`</(?:c|td|th|tr|row|si|value|name|Placemark|wpt)>`)
	// markup is a tag of XML or HTML.
	markup = later(`<[^<>]*>`)
	// attribute is a value within a tag, and what it is called.
	attribute = later(`([\w:]+)="([^"]*)"`)
	// ofWorkbook is what the parts of a workbook (ECMA-376) hold for themselves and nobody wrote: names of cells,
	// counts, colours, the addresses of the standard.
	ofWorkbook = later(`^(?:\$?[A-Z]{0,3}\$?\d{1,7}(?::\$?[A-Z]{0,3}\$?\d{1,7})?|-?\d{1,7}(?:\.\d{1,3})?|[0-9A-F]{6,8}|` +
		`true|false|rId\d+|https?://(?:schemas|purl)\.[\w./-]+|[\w/]*sheet\d+\.xml)$`)
)

// attributes are the values of a workbook's tags in which somebody may have written something, each where it stood. A
// field called B12 or Field 3 would otherwise be met in the name of a cell, and no copy of it could ever be made.
func attributes(text string) string {
	out := bytes.Repeat([]byte{' '}, len(text))
	for _, m := range attribute().FindAllStringSubmatchIndex(text, -1) {
		value, called := text[m[4]:m[5]], text[m[2]:m[3]]
		if value == "Report" || value == "Style" {
			continue // what our own sheets and styles are called
		}
		if called == "name" || called != "mc:Ignorable" && !ofWorkbook().MatchString(value) {
			out[m[4]-1], out[m[5]] = '"', '"'
			copy(out[m[4]:], value)
		}
	}
	return string(out)
}

// search looks through one text, as it stands in a file, in every form in which a reader would show it:
// escapes undone, tags taken out, so that words split by them are whole, and what is coded in it decoded.
func (s *secrets) search(o *opening, raw []byte, part string, sort byte) (out []Leak) {
	text := plain(raw)
	decode := func(re *regexp.Regexp, cut string) {
		text = re.ReplaceAllStringFunc(text, func(run string) string {
			_, code, ok := strings.Cut(run, cut)
			if !ok {
				code = run
			}
			data := fromBase64(html.UnescapeString(code))
			if data == nil || o == nil {
				return run
			}
			if picture.Extension(data) == "" && opaque(data) && !bytes.HasPrefix(data, []byte("PK")) && !bytes.HasPrefix(data,
				[]byte("\x1f\x8b")) {
				return run // a sum, or letters that only look coded
			}
			o.depth++
			_ = o.open(data, part)
			o.depth--
			return strings.Repeat(" ", len(run)) // letters that mean nothing
		})
	}
	decode(dataAddress(), "base64,")
	for range runs(text, 48, "+/_-") { // there may be something
		decode(coded(), "\x00")
		break
	}
	if strings.ContainsAny(text, "%=") { // addresses of the web (RFC 3986), and letters (RFC 2045)
		if open := percent().ReplaceAllStringFunc(text, func(code string) string {
			data, err := hex.DecodeString(code[1:])
			if err != nil {
				return code
			}
			return string(data)
		}); open != text {
			out = append(out, s.look(open, part)...)
		}
	}
	switch sort {
	case '<':
		words := html.UnescapeString(markup().ReplaceAllString(cellEnd().ReplaceAllString(text, "\t"), " "))
		if strings.Contains(part, "xl/") {
			text = attributes(text)
		}
		text = html.UnescapeString(text)
		out = append(out, s.look(text, part)...)
		out = append(out, s.look(words, part)...)
		if strings.Contains(text, `\`) { // JSON within XML
			out = append(out, s.look(unescaped(text), part)...)
		}
	case '{', '[':
		out = append(out, s.look(unescaped(text), part)...)
	default:
		out = append(out, s.look(strings.ReplaceAll(text, `""`, `"`), part)...) // as a table of text doubles them
	}
	return once(out)
}

// fromBase64 decodes a run, nil where it is none, or where what it holds is no text and no file.
func fromBase64(code string) []byte {
	code = strings.TrimRight(code, "=")
	for _, enc := range []*base64.Encoding{base64.RawStdEncoding, base64.RawURLEncoding} {
		if data, err := enc.DecodeString(code); err == nil &&
			(utf8.Valid(data) || picture.Extension(data) != "" || bytes.HasPrefix(data, []byte("PK\x03\x04")) ||
				bytes.HasPrefix(data, []byte("\x1f\x8b")) || bytes.HasPrefix(data, []byte("%PDF-"))) {
			return data
		}
	}
	return nil
}
