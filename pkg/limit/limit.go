// Package limit is the one home of the limits that readers keep to, so that a file which a stranger
// made, or which is broken, can cost no more than so much memory, disk and time.
//
//	var l limit.Limits // the defaults
//	err := l.Set("rows", "2000000")
//
// # Terms
//
// A limit has a name, by which the command and the messages call it, and a default. Whoever trusts
// a file may raise a limit or lift it.
//
// This package is unstable: it may change between any two versions.
package limit

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// Limits bound what readers take in. A member that is 0 has its default, a negative one is lifted;
// All names each with its default and what it bounds.
type Limits struct {
	Bytes         int64 // of one input file
	Spool         int64 // bytes of an input that can be read once only
	Side          int64 // bytes of a file beside the input
	Held          int64 // bytes of a report, or of a file, that a step holds whole
	Record        int64 // bytes of one find
	Header        int64 // bytes of the report without its finds
	Values        int64 // of one find
	HeaderValues  int64 // of the report without its finds
	Nesting       int64 // objects and lists, or elements, within each other
	Finds         int64 // of one input
	Rows          int64 // highest row number
	Columns       int64 // highest column number
	CellLength    int64 // bytes of the text of one cell
	RowLength     int64 // bytes of all texts of one row
	SharedStrings int64 // texts in the shared list of a workbook
	Entries       int64 // files packed in a workbook
	Expanded      int64 // bytes that a workbook unpacks to
	Ratio         int64 // times its packed size that a packed file may unpack to
	Marked        int64 // bytes that a workbook to be marked unpacks to
	Areas         int64 // in a file of protected areas
	AreaPoints    int64 // of all outlines in a file of protected areas
	BagFiles      int64 // files of a hand-over, and names in one of its lists
	BagList       int64 // bytes of one list of a hand-over
	BagBytes      int64 // bytes that a hand-over unpacks to
	Picture       int64 // bytes of one picture
	Pixels        int64 // of one picture that is copied
}

// A Limit is one of the Limits as people see it.
type Limit struct {
	Name    string // as in --limit NAME=N
	Default int64
	Bytes   bool   // counted in bytes
	Bounds  string // what is bounded, in words
	over    string // what is said when it is reached; one %s for the figure
	member  func(*Limits) *int64
}

const (
	kib = 1 << 10
	mib = 1 << 20
	gib = 1 << 30
)

var all = []Limit{
	{"bytes", 8 * gib, true, "one input file", "the file has more than %s", func(l *Limits) *int64 { return &l.Bytes }},
	{"spool", 1 * gib, true, "standard input or a pipe, which is kept in a temporary file", "there are more than %s",
		func(l *Limits) *int64 { return &l.Spool }},
	{"side", 64 * mib, true, "a file beside the input: a column map, proposals, protected areas, a policy, an earlier " +
		"report of notices, a log of exports", "the file has more than %s", func(l *Limits) *int64 { return &l.Side }},
	{"held", 20 * mib, true, "the finds of a report that is held whole, as share does, or a file looked through for leaks",
		"what must be held whole has more than %s", func(l *Limits) *int64 { return &l.Held }},
	{"record", 1 * mib, true, "one find: its JSON, feature, waypoint or placemark", "one find has more than %s",
		func(l *Limits) *int64 { return &l.Record }},
	{"header", 16 * mib, true, "the report without its finds", "the report without its finds has more than %s",
		func(l *Limits) *int64 { return &l.Header }},
	{"values", 20_000, false, "values of one find in JSON: members of objects and items of lists",
		"one find has more than %s values", func(l *Limits) *int64 { return &l.Values }},
	{"header-values", 200_000, false, "values of the report without its finds",
		"the report without its finds has more than %s values", func(l *Limits) *int64 { return &l.HeaderValues }},
	{"nesting", 64, false, "objects and lists, or elements, within each other",
		"objects, lists or elements stand more than %s deep in each other", func(l *Limits) *int64 { return &l.Nesting }},
	{"finds", 5_000_000, false, "finds of one input", "there are more than %s finds",
		func(l *Limits) *int64 { return &l.Finds }},
	{"rows", 1 << 20, false, "rows of a table", "there is a row beyond row %s", func(l *Limits) *int64 { return &l.Rows }},
	{"columns", 1 << 14, false, "columns of a table", "there is a column beyond column %s",
		func(l *Limits) *int64 { return &l.Columns }},
	{"cell", 1 * mib, true, "the text of one cell", "the text of one cell has more than %s",
		func(l *Limits) *int64 { return &l.CellLength }},
	{"row", 8 * mib, true, "the texts of one row together", "the texts of one row have more than %s",
		func(l *Limits) *int64 { return &l.RowLength }},
	{"texts", 5_000_000, false, "texts in the shared list of a workbook", "the workbook lists more than %s shared texts",
		func(l *Limits) *int64 { return &l.SharedStrings }},
	{"entries", 10_000, false, "files packed in a workbook", "the workbook is made of more than %s files",
		func(l *Limits) *int64 { return &l.Entries }},
	{"expanded", 512 * mib, true, "all parts of a workbook, unpacked; also the texts of all its cells, each as often as " +
		"it is shown", "the workbook unpacks to more than %s", func(l *Limits) *int64 { return &l.Expanded }},
	{"ratio", 200, false, "times its packed size that a packed file may unpack to; not asked of the first 4 MiB",
		"a packed file unpacks to more than %s times its packed size, as no program that keeps finds would write it",
		func(l *Limits) *int64 { return &l.Ratio }},
	{"marked", 64 * mib, true, "a workbook to be marked, unpacked", "the workbook unpacks to more than %s",
		func(l *Limits) *int64 { return &l.Marked }},
	{"areas", 200_000, false, "areas in a file of protected areas", "there are more than %s protected areas",
		func(l *Limits) *int64 { return &l.Areas }},
	{"area-points", 2_000_000, false, "points of all outlines in a file of protected areas",
		"the outlines of the protected areas have more than %s points", func(l *Limits) *int64 { return &l.AreaPoints }},
	{"bag-files", 100_000, false, "files of a hand-over, and names in one of its lists",
		"the hand-over has more than %s files", func(l *Limits) *int64 { return &l.BagFiles }},
	{"bag-list", 32 * mib, true, "one list of a hand-over, such as its sums", "a list of the hand-over has more than %s",
		func(l *Limits) *int64 { return &l.BagList }},
	{"bag-bytes", 8 * gib, true, "all files of a hand-over, unpacked", "the hand-over unpacks to more than %s",
		func(l *Limits) *int64 { return &l.BagBytes }},
	{"picture", 64 * mib, true, "one picture", "the picture has more than %s",
		func(l *Limits) *int64 { return &l.Picture }},
	{"pixels", 25_000_000, false, "pixels of a picture that is copied", "the picture has more than %s pixels",
		func(l *Limits) *int64 { return &l.Pixels }},
}

// All returns every limit, in the order of the specification.
func All() []Limit { return append([]Limit(nil), all...) }

// Figure writes a value of the limit with its unit: 64 MiB, 5000000.
func (l Limit) Figure(n int64) string {
	switch {
	case n == math.MaxInt64:
		return "none"
	case !l.Bytes:
		return strconv.FormatInt(n, 10)
	case n >= gib && n%gib == 0:
		return strconv.FormatInt(n/gib, 10) + " GiB"
	case n >= mib && n%mib == 0:
		return strconv.FormatInt(n/mib, 10) + " MiB"
	case n >= kib && n%kib == 0:
		return strconv.FormatInt(n/kib, 10) + " KiB"
	}
	return strconv.FormatInt(n, 10) + " bytes"
}

// WithDefaults returns the limits with every 0 replaced by its default and every negative member by the
// largest number.
func (l Limits) WithDefaults() Limits {
	for i := range all {
		switch m := all[i].member(&l); {
		case *m == 0:
			*m = all[i].Default
		case *m < 0:
			*m = math.MaxInt64
		}
	}
	return l
}

// Set changes a limit by its name. The value is a whole number above 0, which may have the ending
// KiB, MiB or GiB where bytes are counted, or "none", which lifts the limit.
func (l *Limits) Set(name, value string) error {
	for i := range all {
		if all[i].Name != name {
			continue
		}
		n, err := all[i].parse(value)
		if err != nil {
			return err
		}
		*all[i].member(l) = n
		return nil
	}
	names := make([]string, len(all))
	for i := range all {
		names[i] = all[i].Name
	}
	return fmt.Errorf("limit %.40q is not one of %s", name, strings.Join(names, ", "))
}

func (l Limit) parse(value string) (int64, error) {
	text, factor := value, int64(1)
	if value == "none" {
		return -1, nil
	}
	for ending, f := range map[string]int64{"KiB": kib, "MiB": mib, "GiB": gib} {
		if before, ok := strings.CutSuffix(text, ending); ok && l.Bytes {
			text, factor = strings.TrimSpace(before), f
			break
		}
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n <= 0 || n > math.MaxInt64/factor {
		what := "a whole number above 0"
		if l.Bytes {
			what += " such as 1000000 or 64MiB"
		}
		return 0, fmt.Errorf("%s=%.40q: the limit is %s, or none", l.Name, value, what)
	}
	return n * factor, nil
}

// Error says that an input went over one of the Limits.
type Error struct {
	Limit string // name, as in --limit
	Value int64  // what was found; reading stops early, so it can be less than the whole
	Max   int64  // what was allowed
}

// Over returns the error of a limit that one more than it goes over.
func Over(name string, most int64) *Error { return &Error{Limit: name, Value: most + 1, Max: most} }

// Error names the limit in words, and how it is raised.
func (e *Error) Error() string { return e.What() + "; " + e.Help() }

// What says which limit was reached.
func (e *Error) What() string {
	for i := range all {
		if all[i].Name == e.Limit {
			return fmt.Sprintf(all[i].over, all[i].Figure(e.Max))
		}
	}
	return fmt.Sprintf("the limit %s of %d is reached", e.Limit, e.Max)
}

// Help says how the limit is raised.
func (e *Error) Help() string {
	return "if you trust the file, raise this limit with --limit " + e.Limit + "=N"
}

// ReadAll reads to the end, or returns the error of the limit when there are more than most bytes.
func ReadAll(r io.Reader, name string, most int64) ([]byte, error) {
	b, err := io.ReadAll(Reader(r, name, most))
	if err != nil {
		return nil, err
	}
	return b, nil
}

// Reader returns a reader that passes on at most most bytes of r and then the error of the limit.
func Reader(r io.Reader, name string, most int64) io.Reader {
	return &reader{r, most, Over(name, most)}
}

type reader struct {
	r    io.Reader
	left int64
	over *Error
}

func (r *reader) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	if r.left == 0 { // one byte more tells the end from too much
		var one [1]byte
		for range 100 {
			n, err := r.r.Read(one[:])
			if n > 0 {
				return 0, r.over
			}
			if err != nil {
				return 0, err
			}
		}
		return 0, io.ErrNoProgress
	}
	if int64(len(p)) > r.left {
		p = p[:r.left]
	}
	n, err := r.r.Read(p)
	r.left -= int64(n)
	return n, err
}

// Of returns the limit that an error is of, nil if it is of none.
func Of(err error) *Error {
	var over *Error
	if errors.As(err, &over) {
		return over
	}
	return nil
}
