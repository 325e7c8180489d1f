package find

import (
	"context"
	"iter"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/notice"
)

// A Stream is a report on its way: its header, and its finds one at a time, ranged over once with Entries.
type Stream struct {
	Report  *Report // the header; its Finds are empty
	Raw     jsontext.Value
	Notices notice.List // said of the report by the codec
	File    string      // name of the source, for notices
	Format  string      // "findslip", "jsonl", "csv", ...
	// Language is the one by whose words a table was read, where the report states none.
	Language string
	// Origins are the places of people, permissions and outings that stood in a table, by pointer:
	// /permissions/0. The pointers of their layouts are relative to the record.
	Origins map[string]Origin
	Count   int // finds that were counted before they are read, to say how far the work is; 0: not known

	flow flow // how the entries come about
}

// NewStream returns a stream of a report's header with the entries.
func NewStream(header *Report, entries iter.Seq2[*Entry, error]) *Stream {
	s := &Stream{Report: header}
	s.SetEntries(entries)
	return s
}

// Entries is the sequence of the finds: for e, err := range s.Entries. An error ends it; the entries before it
// stand.
func (s *Stream) Entries(yield func(*Entry, error) bool) {
	if s.flow.entries != nil {
		s.flow.entries(yield)
	}
}

// SetEntries gives the stream other entries. The steps that were added to it are forgotten.
func (s *Stream) SetEntries(entries iter.Seq2[*Entry, error]) {
	s.flow = flow{entries: entries, source: entries}
}

// An Entry is a find on its way through the pipeline, with its origin and its notices. It belongs
// to whoever received it.
type Entry struct {
	Find    *Find          // nil when the row or line could not be read: Notices then say why
	Index   int            // position among the finds, from 0
	Raw     jsontext.Value // the JSON as read, nil for other formats
	Origin  Origin
	Size    int         // bytes that it had in a format other than JSON, about; 0: not known
	Notices notice.List // pointers are relative to the find
	Carry   any         // what a step hands on to a later one; ignored elsewhere

	tape *tape.Tape // the find as it was read, until its steps are done
	at   uint32
}

// Tape returns the JSON of the find on a tape and where on it, for as long as its step takes; nil where there is none.
func (e *Entry) Tape() (*tape.Tape, uint32) { return e.tape, e.at }

// Origin is the way back to the place a record came from.
type Origin struct {
	File   string
	Row    int     // the sheet's own number, from 1
	Line   int     // line of a text file, from 1
	Layout *Layout // columns of the sheet; nil for other formats
	Unseen string  // how its source does not show it, or shows it as void: "hidden"; empty: it is shown
}

// UnseenColumn is the heading under which a find keeps Origin.Unseen when it goes into another file, so that whoever
// shares that is asked as well.
const UnseenColumn = "Row of the sheet"

// Layout says in which column of a sheet a field stood, and what the headings, the column map and
// the workbook say about the cells below. One layout serves all rows.
type Layout struct {
	Sheet   string
	Columns []LayoutColumn
	Hints   Hints // for the whole sheet
	Epoch   int   // date system of the workbook: 1900, 1904, or 0 for none
}

// LayoutColumn is one column and the pointers it feeds.
type LayoutColumn struct {
	Column   int // from 1
	Heading  string
	Pointers []string
	Hints    Hints // stated in the heading or proven by the column
	Unseen   bool  // the sheet does not show it
}

// Hints are what stands outside a cell but is needed to read it. Empty: nothing is known.
type Hints struct {
	Unit   string // code of the unit of a bare number: in, cm, g
	Order  string // dmy, mdy or ymd
	System string // such as EPSG:27700, for bare eastings and northings
	Pivot  int    // first year of the century meant by two digits: 1950 is 1950 to 2049
}

// HintsAt returns the hints for a pointer: those of its column where they say something, else
// those of the sheet.
func (l *Layout) HintsAt(pointer string) Hints {
	if l == nil {
		return Hints{}
	}
	h := l.Hints
	if c, ok := l.Column(pointer); ok {
		if c.Hints.Unit != "" {
			h.Unit = c.Hints.Unit
		}
		if c.Hints.Order != "" {
			h.Order = c.Hints.Order
		}
		if c.Hints.System != "" {
			h.System = c.Hints.System
		}
		if c.Hints.Pivot != 0 {
			h.Pivot = c.Hints.Pivot
		}
	}
	return h
}

// Column returns the column that feeds the pointer, else the one that feeds the nearest pointer
// above it, else one below it.
func (l *Layout) Column(pointer string) (LayoutColumn, bool) {
	if l == nil {
		return LayoutColumn{}, false
	}
	for p := pointer; p != ""; p = p[:strings.LastIndexByte(p, '/')] {
		for _, c := range l.Columns {
			if slices.Contains(c.Pointers, p) {
				return c, true
			}
		}
	}
	for _, c := range l.Columns {
		for _, p := range c.Pointers {
			if pointer != "" && strings.HasPrefix(p, pointer+"/") {
				return c, true
			}
		}
	}
	return LayoutColumn{}, false
}

// Locate fills in where a notice of this entry belongs: its file, row, column and cell, and the
// pointer from the top of the report.
func (e *Entry) Locate(n *notice.Notice) {
	e.Origin.locate(n, n.Pointer)
	if e.Find != nil && e.Origin.Line == 0 {
		n.Pointer = "/finds/" + strconv.Itoa(e.Index) + n.Pointer
	}
	if n.Find == "" {
		n.Find = e.Label()
	}
}

// locate fills in the cell of a member of the record.
func (o *Origin) locate(n *notice.Notice, member string) {
	n.File = o.File
	if c, ok := o.Layout.Column(member); ok && n.Column == 0 {
		n.Column, n.Heading = c.Column, c.Heading
	}
	n.Row, n.Line = o.Row, o.Line
	if o.Layout != nil {
		n.Sheet = o.Layout.Sheet
	}
	if n.Column > 0 && n.Row > 0 && n.Cell == "" {
		n.Cell = ColumnLetters(n.Column) + strconv.Itoa(n.Row)
	}
}

// LocateRecord fills in the cell of a notice on a person, a permission or an outing that stood in a
// table, and the name of the file. The pointer is from the top of the report.
func (s *Stream) LocateRecord(n *notice.Notice) {
	record, member := CutRecord(n.Pointer)
	if o, ok := s.Origins[record]; ok && n.Row == 0 {
		o.locate(n, member)
		return
	}
	if n.File == "" {
		n.File = s.File
	}
}

// CutRecord cuts a pointer such as /permissions/0/validFrom behind the record. The record is empty
// where the pointer leads to none of the lists of a report.
func CutRecord(pointer string) (record, member string) {
	list, rest, ok := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	if !ok || !isRecordList(list) {
		return "", pointer
	}
	index, _, _ := strings.Cut(rest, "/")
	record = "/" + list + "/" + index
	return record, strings.TrimPrefix(pointer, record)
}

// Label names the find as its finder would: the number on the bag, else the id.
func (e *Entry) Label() string {
	if e.Find == nil {
		return ""
	}
	if e.Find.Number != "" {
		return e.Find.Number
	}
	return e.Find.ID
}

// ColumnLetters writes a column number as a spreadsheet does: 1 is A, 27 is AA.
func ColumnLetters(n int) string {
	var b [8]byte
	i := len(b)
	for n > 0 && i > 0 {
		n--
		i--
		b[i] = byte('A' + n%26)
		n /= 26
	}
	return string(b[i:])
}

// Collect reads a whole stream into one report. Entries without a find are passed over; their
// notices are in the returned list, located.
func Collect(s *Stream) (*Report, notice.List, error) {
	r := *s.Report
	r.Finds = nil
	list := slices.Clone(s.Notices)
	for e, err := range s.Entries {
		if err != nil {
			return nil, list, err
		}
		for _, n := range e.Notices {
			e.Locate(&n)
			list.Add(n)
		}
		if e.Find != nil {
			r.Finds = append(r.Finds, e.Find)
		}
	}
	return &r, list, nil
}

// StreamOf makes a stream of a report held in memory.
func StreamOf(r *Report) *Stream {
	head := *r
	head.Finds = nil
	s := NewStream(&head, func(yield func(*Entry, error) bool) {
		for i, f := range r.Finds {
			if !yield(&Entry{Find: f, Index: i}, nil) {
				return
			}
		}
	})
	s.Format = "findslip"
	return s
}

// Until returns the stream so that it ends with the error of the context once that is cancelled. Steps
// that are to be done for several finds at the same time are added before: Until is the last.
func (s *Stream) Until(ctx context.Context) *Stream {
	out := *s
	out.SetEntries(func(yield func(*Entry, error) bool) {
		if err := ctx.Err(); err != nil {
			yield(nil, err)
			return
		}
		for e, err := range s.Entries {
			if !yield(e, err) || err != nil {
				return
			}
			if err := ctx.Err(); err != nil {
				yield(nil, err)
				return
			}
		}
	})
	return &out
}
