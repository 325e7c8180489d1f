package spreadsheet

import (
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/door"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// source is the sheet of a book that holds the finds.
type source struct {
	book  *grid.Book
	index int
	most  int64 // bytes that the sheets beside the finds may hold
	file  string
}

// open opens a file of rows, whatever its name says that it is.
func open(r io.ReaderAt, size int64, o Options) (*source, notice.List, error) {
	book, err := door.Open(r, size, door.Options{Name: o.File, Encoding: o.Encoding, Limits: o.Limits, Known: isKnown})
	return newSource(book, o, err)
}

// openTable opens what may be read from any place, but only by going there first.
func openTable(r io.ReadSeeker, o Options) (*source, notice.List, error) {
	size, err := r.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, nil, err
	}
	at, ok := r.(io.ReaderAt)
	if !ok {
		at = seeker{r}
	}
	return open(at, size, o)
}

type seeker struct{ io.ReadSeeker }

func (s seeker) ReadAt(p []byte, at int64) (int, error) {
	if _, err := s.Seek(at, io.SeekStart); err != nil {
		return 0, err
	}
	n, err := io.ReadFull(s, p)
	if err == io.ErrUnexpectedEOF {
		err = io.EOF
	}
	return n, err
}

func newSource(book *grid.Book, o Options, err error) (*source, notice.List, error) {
	if err != nil {
		return nil, nil, err
	}
	b := &source{book: book, most: o.Limits.WithDefaults().Header, file: o.File}
	var list notice.List
	for _, n := range book.Notes {
		kind := tableNote
		if n.Code == grid.NoteActive {
			kind = workbookParts
		}
		list.Add(notice.New(kind, "", n.Text))
	}
	if len(book.Sheets) == 1 && book.Sheets[0].Name == "" {
		return b, list, nil
	}
	if err := b.choose(o); err != nil {
		return nil, nil, err
	}
	for i, s := range book.Sheets {
		if s.Hidden && i != b.index && !strings.HasPrefix(s.Name, "findslip") {
			n := notice.New(sheetHidden, "", "the workbook has a hidden sheet")
			n.Sheet = s.Name
			list.Add(n)
		}
	}
	return b, list, nil
}

// choose picks the sheet with the finds: the one asked for, the one called Finds, else the only one
// with headings that are understood, else the first of those.
func (b *source) choose(o Options) error {
	wanted := o.Sheet
	if wanted == "" && o.Map != nil {
		wanted = o.Map.Sheet
	}
	var names []string
	for i, s := range b.book.Sheets {
		if wanted != "" && (s.Name == wanted || find.FoldName(s.Name) == find.FoldName(wanted)) {
			b.index = i
			return nil
		}
		names = append(names, fmt.Sprintf("%q", s.Name))
	}
	if wanted != "" {
		return fmt.Errorf("there is no sheet %q; the workbook has %s", wanted, strings.Join(names, ", "))
	}
	var likely, roled []int
	for i, s := range b.book.Sheets {
		part, _ := sheetRole(s.Name)
		switch {
		case part == "finds":
			b.index = i
			return nil
		case s.Hidden || part == "report":
		case !b.likeFinds(i, o):
		case part == "":
			likely = append(likely, i)
		default: // a log may be called after the land that it is of
			roled = append(roled, i)
		}
	}
	if likely = append(likely, roled...); len(likely) == 0 {
		return fmt.Errorf("no sheet has headings that are understood (sheets: %s); see findslip columns, or name the sheet with --sheet", strings.Join(names, ", "))
	}
	b.index = likely[0]
	return nil
}

// likeFinds tells whether a sheet has the headings of a log.
func (b *source) likeFinds(i int, o Options) bool {
	at := b.index
	defer func() { b.index = at }()
	b.index = i
	d := &decoder{src: b, o: o}
	return d.locate() == nil
}

func (b *source) name() string { return b.book.Sheets[b.index].Name }

func (b *source) epoch() int { return b.book.Epoch }

func (b *source) rows() iter.Seq2[grid.Row, error] { return b.book.Sheets[b.index].Rows() }

// header reads the sheets beside the finds into the report.
func (b *source) header(r *find.Report) (*recordBook, notice.List, error) {
	var list notice.List
	all := &recordBook{report: r, origins: map[string]find.Origin{}}
	left := b.most
	seen := map[string]bool{}
	order := make([]int, 0, len(b.book.Sheets)) // what the report says of itself goes first
	for i, s := range b.book.Sheets {
		if part, _ := sheetRole(s.Name); part == "report" {
			order = slices.Insert(order, 0, i)
		} else {
			order = append(order, i)
		}
	}
	for _, i := range order {
		s := b.book.Sheets[i]
		part, role := sheetRole(s.Name)
		if i == b.index {
			continue
		}
		if part == "" || part == "finds" || part != "people" && seen[part] {
			if !s.Hidden { // which is said already
				list.Add(b.beside(i)...)
			}
			continue
		}
		seen[part] = true
		h := &headerSheet{sheet: s.Name}
		rows := bounded(b.book.Sheets[i].Rows(), &left, b.most)
		var err error
		switch part {
		case "people":
			r.People, err = readRecords(&recordSheet[find.Person]{headerSheet: h, recordBook: all, part: part, stem: "person", role: role, file: b.file, list: r.People}, rows)
		case "permissions":
			r.Permissions, err = readRecords(&recordSheet[find.Permission]{headerSheet: h, recordBook: all, part: part, stem: "permission", file: b.file}, rows)
		case "outings":
			r.Outings, err = readRecords(&recordSheet[find.Outing]{headerSheet: h, recordBook: all, part: part, stem: "outing", file: b.file}, rows)
		case "report":
			err = h.report(rows, r)
			all.own = h.version && !h.template
		}
		if err != nil {
			return nil, nil, fmt.Errorf("sheet %q: %w", s.Name, err)
		}
		list.Add(h.notices...)
	}
	return all, list, nil
}

// beside says that a sheet is not read, as far as it holds anything.
func (b *source) beside(i int) (list notice.List) {
	name := b.book.Sheets[i].Name
	if strings.HasPrefix(name, "findslip") {
		return nil
	}
	filled := false
	for row, err := range b.book.Sheets[i].Rows() {
		if filled = err == nil && len(row.Cells) > 0; filled || err != nil {
			break
		}
	}
	if !filled {
		return nil
	}
	n := notice.New(sheetBeside, "", "the sheet is none that is known, and is not read")
	if b.likeFinds(i, Options{}) {
		n = notice.New(sheetNotRead, "", fmt.Sprintf("the sheet looks like finds as well, and is not read; the finds are those of the sheet %q", b.name()))
	}
	n.Sheet = name
	list.Add(n)
	return list
}

// layoutNotices says what the form of the sheet of finds may mean and a table loses: cells that are merged
// below the headings, whose value is that of the first alone, and hidden columns, which are read all the same.
func (b *source) layoutNotices(headingRow int) (list notice.List) {
	name := b.name()
	sheet, err := b.book.Sheets[b.index].Layout() // the whole sheet has been read by now
	if err != nil {
		return nil
	}
	n := 0
	first := ""
	for _, r := range sheet.Merged {
		if r.FirstRow > headingRow {
			if n++; first == "" {
				first = find.ColumnLetters(r.FirstColumn) + strconv.Itoa(r.FirstRow)
			}
		}
	}
	if n > 0 {
		x := notice.New(cellsMerged, "", fmt.Sprintf("merged cells below the headings: %d; the value is taken for the first row and column of each alone", n))
		x.Sheet, x.Cell = name, first
		list.Add(x)
	}
	if len(sheet.HiddenColumns) > 0 {
		x := notice.New(columnsHidden, "", fmt.Sprintf("hidden columns: %d; they were read all the same", len(sheet.HiddenColumns)))
		x.Sheet, x.Column = name, sheet.HiddenColumns[0]
		list.Add(x)
	}
	return list
}
