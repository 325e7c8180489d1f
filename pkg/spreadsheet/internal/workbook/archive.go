package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// archive is the zip archive around the parts of a workbook.
type archive struct {
	limits grid.Limits
	size   int64
	parts  map[string]*zip.File // by the name that partName gives

	expanded map[string]int64 // by part: the most that was unpacked of it
	total    int64            // the sum of expanded
}

func openArchive(r io.ReaderAt, size int64, limits grid.Limits) (*archive, error) {
	if size > limits.Bytes {
		return nil, &grid.LimitError{Limit: "bytes", Value: size, Max: limits.Bytes}
	}
	if err := signature(r, size); err != nil {
		return nil, err
	}
	// The directory of an archive may be as long as the archive; it is read with a budget, so that
	// the list of files cannot take more memory than the number of files allowed would.
	budget := &budgetReader{r: r, left: 1 << 20}
	if limits.Entries < 1<<40 {
		budget.left += limits.Entries * 1024
	} else {
		budget.left = limits.Entries
	}
	z, err := zip.NewReader(budget, size)
	switch {
	case errors.Is(err, errBudget):
		return nil, &grid.LimitError{Limit: "entries", Value: limits.Entries + 1, Max: limits.Entries}
	case errors.Is(err, zip.ErrInsecurePath):
		// Nothing is written to disk, so a name with dots leads nowhere.
	case errors.Is(err, zip.ErrFormat), errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return nil, errArchive
	case err != nil:
		return nil, fmt.Errorf("reading the archive: %w", err)
	}
	budget.off = true
	if n := int64(len(z.File)); n > limits.Entries {
		return nil, &grid.LimitError{Limit: "entries", Value: n, Max: limits.Entries}
	}
	a := &archive{limits: limits, size: size, parts: make(map[string]*zip.File), expanded: make(map[string]int64)}
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		name := partName(f.Name)
		if _, twice := a.parts[name]; twice {
			return nil, fmt.Errorf("the workbook holds two parts of the name %.80q: the file is refused", f.Name)
		}
		a.parts[name] = f
	}
	return a, nil
}

// partName folds the ways in which programs write the name of one part: upper and lower case are the
// same (ISO/IEC 29500-2 clause 6.2.2), and some write backslashes or a slash in front.
func partName(name string) string {
	name = strings.ToLower(strings.ReplaceAll(name, `\`, "/"))
	return strings.TrimPrefix(path.Clean("/"+name), "/")
}

// has reports whether there is such a part.
func (a *archive) has(name string) bool {
	_, ok := a.parts[partName(name)]
	return ok
}

// open returns the XML of a part in UTF-8, with the limits watched while it unpacks.
func (a *archive) open(name string) (io.ReadCloser, error) {
	key := partName(name)
	f, ok := a.parts[key]
	if !ok {
		return nil, fmt.Errorf("the workbook has no part %.80q, which another part names: the file is damaged", name)
	}
	if f.Flags&1 != 0 {
		return nil, errProtected
	}
	packed := int64(min(f.CompressedSize64, uint64(a.size)))
	rc, err := f.Open()
	if errors.Is(err, zip.ErrAlgorithm) {
		return nil, fmt.Errorf("part %.80q is packed by a method (%d) that is not read: save the workbook again", name,
			f.Method)
	}
	if err != nil {
		return nil, damaged(name, err)
	}
	p := &part{rc: rc, archive: a, name: key, packed: packed}
	r, err := toUTF8(p)
	if err != nil {
		rc.Close()
		return nil, damaged(name, err)
	}
	return readCloser{r, rc}, nil
}

type readCloser struct {
	io.Reader
	io.Closer
}

// damaged puts the name of the part in front of an error, and says in words what the archive says in
// its own.
func damaged(name string, err error) error {
	var limit *grid.LimitError
	switch {
	case errors.As(err, &limit), errors.Is(err, errProtected):
		return err
	case errors.Is(err, zip.ErrChecksum):
		return fmt.Errorf("part %.80q does not match its checksum: the file is damaged: %w", name, err)
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, zip.ErrFormat), errors.Is(err, io.EOF):
		return fmt.Errorf("part %.80q is cut short: the file is damaged: %w", name, err)
	}
	return fmt.Errorf("part %.80q: %w", name, err)
}

// part counts what is unpacked of one part.
type part struct {
	rc      io.Reader
	archive *archive
	name    string
	packed  int64
	read    int64
}

// freely is how much of a part is unpacked before the ratio is asked.
const freely = 4 << 20

func (p *part) Read(b []byte) (int, error) {
	n, err := p.rc.Read(b)
	p.read += int64(n)
	if limitErr := p.archive.charge(p); limitErr != nil {
		return 0, limitErr
	}
	return n, err
}

// charge adds what a part has unpacked to the account of the workbook; reading a part again costs
// nothing.
func (a *archive) charge(p *part) error {
	if p.read > freely {
		if ratio := p.read / max(1, p.packed); ratio > a.limits.Ratio {
			return &grid.LimitError{Limit: "ratio", Value: ratio, Max: a.limits.Ratio}
		}
	}
	if more := p.read - a.expanded[p.name]; more > 0 {
		a.expanded[p.name] += more
		a.total += more
	}
	if a.total > a.limits.Expanded {
		return &grid.LimitError{Limit: "expanded", Value: a.total, Max: a.limits.Expanded}
	}
	return nil
}

// toUTF8 turns UTF-16, the other encoding that parts may have (ISO/IEC 29500-2 clause 8.2.5), into
// UTF-8, takes a byte order mark off, and refuses any other encoding that the XML names.
func toUTF8(r io.Reader) (io.Reader, error) {
	head := make([]byte, 256)
	n, err := io.ReadFull(r, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	head = head[:n]
	all := io.MultiReader(bytes.NewReader(head), r)
	has := func(prefix string) bool { return bytes.HasPrefix(head, []byte(prefix)) }
	switch {
	case has("\xEF\xBB\xBF"):
		return io.MultiReader(bytes.NewReader(head[3:]), r), nil
	case has("\xFF\xFE"), has("<\x00"):
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(all), nil
	case has("\xFE\xFF"), has("\x00<"):
		return unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().Reader(all), nil
	}
	if name := declared(head); name != "" && !strings.EqualFold(name, "UTF-8") && !strings.EqualFold(name, "US-ASCII") {
		return nil, fmt.Errorf("the XML is in the encoding %.40q, and a workbook has UTF-8 or UTF-16", name)
	}
	return all, nil
}

// declared returns the encoding that the XML declaration names, if there is one.
func declared(head []byte) string {
	declaration, _, ok := bytes.Cut(head, []byte("?>"))
	if !ok || !bytes.HasPrefix(declaration, []byte("<?xml")) {
		return ""
	}
	_, value, ok := bytes.Cut(declaration, []byte("encoding"))
	if !ok {
		return ""
	}
	value = bytes.TrimLeft(value, "= \t\r\n")
	if len(value) == 0 {
		return ""
	}
	name, _, _ := bytes.Cut(value[1:], value[:1])
	return string(name)
}

var errBudget = errors.New("the directory of the archive is too long")

// budgetReader stops after a number of bytes, until it is switched off.
type budgetReader struct {
	r    io.ReaderAt
	left int64
	off  bool
}

func (b *budgetReader) ReadAt(p []byte, at int64) (int, error) {
	if !b.off {
		if b.left -= int64(len(p)); b.left < 0 {
			return 0, errBudget
		}
	}
	return b.r.ReadAt(p, at)
}

// A file that is no XLSX workbook is told by its first bytes, because the name often says otherwise.
var (
	errProtected = errors.New("is protected by a password or an old .xls: save it as .xlsx without a password")
	errOldXLS    = errors.New("is an old .xls: save it as .xlsx")
	errODS       = errors.New("is an OpenDocument spreadsheet (.ods): save it as .xlsx")
	errBinary    = errors.New("is a binary workbook (.xlsb): save it as .xlsx")
	errXML2003   = errors.New("is an XML spreadsheet of 2003: save it as .xlsx")
	errHTML      = errors.New("is a web page with the name of a workbook: open it in a spreadsheet and save it as .xlsx")
	errEmpty     = errors.New("is empty: the file has no bytes")
	errText      = errors.New("is a text file, not a workbook: read it as CSV")
	errOther     = errors.New("is not an XLSX workbook: save it as .xlsx")
	errArchive   = errors.New("is not a whole workbook: the file is cut short or damaged; save it or fetch it again")
)

// signature looks at the first bytes and returns the reason why the file cannot be a workbook, or
// nil when it is a zip archive.
func signature(r io.ReaderAt, size int64) error {
	head := make([]byte, min(max(size, 0), 1024))
	n, err := r.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return err
	}
	head = head[:n]
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF")), " \t\r\n"))
	has := func(prefix string) bool { return bytes.HasPrefix(head, []byte(prefix)) }
	switch {
	case len(head) == 0:
		return errEmpty
	case has("PK\x03\x04"), has("PK\x05\x06"), has("PK\x07\x08"):
		return nil
	case has("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"):
		return errProtected
	case has("\x09\x00\x04\x00"), has("\x09\x02\x06\x00"), has("\x09\x04\x06\x00"), has("\x09\x08"):
		return errOldXLS
	case bytes.HasPrefix(text, []byte("<html")), bytes.HasPrefix(text, []byte("<!doctype html")),
		bytes.HasPrefix(text, []byte("<table")):
		return errHTML
	case bytes.HasPrefix(text, []byte("<?xml")) && bytes.Contains(text,
		[]byte("urn:schemas-microsoft-com:office:spreadsheet")):
		return errXML2003
	case !bytes.ContainsRune(head, 0) && utf8.Valid(head[:max(0, len(head)-utf8.UTFMax)]) && !has("%PDF"):
		return errText
	}
	return errOther
}

// kindOfArchive returns the reason why a zip archive without a workbook part is no workbook.
func kindOfArchive(parts map[string]*zip.File) error {
	for name := range parts {
		switch {
		case name == "mimetype" || name == "content.xml":
			return errODS
		case strings.HasSuffix(name, "xl/workbook.bin"):
			return errBinary
		}
	}
	return errOther
}
