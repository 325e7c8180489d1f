package workbook

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// The numbers of chapters are those of OpenDocument 1.3 part 3 (ISO/IEC 26300), from memory.

// document is an open OpenDocument spreadsheet.
type document struct {
	archive *archive
	limits  grid.Limits
	sheets  []grid.Sheet
	styles  odsStyles
}

const content = "content.xml"

// odsMost bounds how much XML is read in all when each of many sheets is looked for in one part.
const odsMost = 4 << 30

// OpenODS reads the list of sheets and the formats of the spreadsheet of the given size in bytes. The reader must
// stay open as long as the book is used.
func OpenODS(r io.ReaderAt, size int64, limits grid.Limits) (*grid.Book, error) {
	limits = limits.WithDefaults()
	a, err := openArchive(r, size, limits)
	if err != nil {
		return nil, err
	}
	d := &document{archive: a, limits: limits, styles: odsStyles{hidden: map[string]bool{}, struck: map[string]bool{}}}
	if !a.has(content) {
		return nil, kindOfArchive(a.parts)
	}
	if err := d.refuseProtected(); err != nil {
		return nil, err
	}
	for _, part := range []string{"styles.xml", content} {
		if a.has(part) {
			if err := a.readPart(part, d.readStart); err != nil {
				return nil, err
			}
		}
	}
	if len(d.sheets) == 0 {
		return nil, errors.New("the file has no table: a sheet with cells is expected")
	}
	if n := int64(a.parts[content].UncompressedSize64) * int64(len(d.sheets)); n > odsMost {
		return nil, &grid.LimitError{Limit: "expanded", Value: n, Max: odsMost}
	}
	return &grid.Book{Format: "ods", Epoch: 1900, Sheets: grid.NewSheets(d.sheets, 1900, d.readSheet)}, nil
}

// refuseProtected looks for parts that are encrypted, chapter 3.16 of part 2.
func (d *document) refuseProtected() error {
	const manifest = "META-INF/manifest.xml"
	if !d.archive.has(manifest) {
		return nil
	}
	return d.archive.readPart(manifest, func(s *scanner) error {
		for {
			t, err := s.next()
			if err != nil || t == endOfPart {
				return err
			}
			if t == startTag && string(s.name) == "encryption-data" {
				return errProtected
			}
			if t == endTag && s.depth() == 0 {
				return nil
			}
		}
	})
}

// readStart reads the formats, and the names of the sheets.
func (d *document) readStart(s *scanner) error {
	for {
		t, err := s.next()
		if err != nil || t == endOfPart || t == endTag && s.depth() == 0 {
			return err
		}
		if t != startTag {
			continue
		}
		switch string(s.name) {
		case "number-style", "currency-style", "percentage-style", "date-style", "time-style":
			err = d.styles.readFormat(s)
		case "style":
			err = d.styles.readStyle(s)
		case "table":
			err = d.readName(s)
		}
		if err != nil {
			return err
		}
	}
}

func (d *document) readName(s *scanner) error {
	var sheet grid.Sheet
	if err := s.attributes(func(key, value string) {
		switch key {
		case "table:name":
			sheet.Name = value
		case "table:style-name":
			sheet.Hidden = d.styles.hidden[value]
		}
	}); err != nil {
		return err
	}
	if int64(len(d.sheets)) >= d.limits.Entries {
		return &grid.LimitError{Limit: "entries", Value: d.limits.Entries + 1, Max: d.limits.Entries}
	}
	d.sheets = append(d.sheets, sheet)
	return s.skip()
}

// readSheet reads the sheet with the given number.
func (d *document) readSheet(index int, yield func(grid.Row) bool) (grid.Layout, error) {
	r := &odsReader{document: d, yield: yield}
	err := d.archive.readPart(content, func(s *scanner) error {
		r.scanner = s
		for at := 0; ; {
			t, err := s.next()
			if err != nil || t == endOfPart || t == endTag && s.depth() == 0 {
				return err
			}
			if t != startTag || string(s.name) != "table" {
				continue
			}
			if at < index {
				err = s.skip()
			} else if err = r.readTable(); err == nil && index < len(d.sheets)-1 {
				err = errSheetEnds
			}
			if err != nil {
				return err
			}
			at++
		}
	})
	if errors.Is(err, errSheetEnds) {
		err = nil
	}
	if err != nil && !errors.Is(err, grid.ErrStopped) {
		err = fmt.Errorf("sheet %.40q: %w", d.sheets[index].Name, err)
	} else if err != nil {
		err = grid.ErrStopped
	}
	return r.layout, err
}

// errSheetEnds ends the reading behind the sheet that was wanted.
var errSheetEnds = errors.New("the sheet ends")

// odsReader reads one sheet.
type odsReader struct {
	*scanner
	document *document
	yield    func(grid.Row) bool
	layout   grid.Layout
	row      int // rows that have ended
	column   int // columns that have been described
	told     int64
	folded   int  // depth of the group of rows that is folded away; 0: none
	plain    bool // something in the row is not struck through
}

// readTable reads the table just started, with the groups that its rows and columns may stand in.
func (r *odsReader) readTable() error {
	for depth := r.depth(); ; {
		t, err := r.next()
		if err != nil {
			return err
		}
		if t == endTag && r.depth() < depth {
			return nil
		}
		if t == endTag && r.depth() < r.folded {
			r.folded = 0
		}
		if t != startTag {
			continue
		}
		switch string(r.name) {
		case "table-row":
			err = r.readRow()
		case "table-row-group":
			err = r.attributes(func(key, value string) {
				if key == "table:display" && value == "false" && r.folded == 0 {
					r.folded = r.depth()
				}
			})
		case "table-column":
			err = r.readColumn()
		case "shapes":
			err = r.readShape("")
		case "forms", "named-expressions", "conditional-formats", "table-source":
			err = r.skip()
		}
		if err != nil {
			return err
		}
	}
}

func (r *odsReader) readColumn() error {
	hidden, times := false, 1
	err := r.attributes(func(key, value string) {
		switch key {
		case "table:visibility":
			hidden = value != "visible"
		case "table:number-columns-repeated":
			times = count(value, grid.MaxColumns)
		}
	})
	for range times {
		if r.column++; hidden && r.column <= grid.MaxColumns {
			r.layout.HiddenColumns = append(r.layout.HiddenColumns, r.column)
		}
	}
	return err
}

// readRow reads a row, which may stand for many that are alike.
func (r *odsReader) readRow() error {
	hidden, times := r.folded > 0, 1
	r.plain = false
	if err := r.attributes(func(key, value string) {
		switch key {
		case "table:visibility":
			hidden = hidden || value != "visible"
		case "table:number-rows-repeated":
			times = max(1, count(value, grid.MaxRows))
		}
	}); err != nil {
		return err
	}
	var cells []grid.Cell
	column := 0
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		if name := string(r.name); name == "table-cell" || name == "covered-table-cell" {
			if cells, column, err = r.readCell(cells, column); err != nil {
				return fmt.Errorf("cell %s: %w", grid.Cell{Column: column + 1}.Ref(r.row+1), err)
			}
		}
	}
	if len(cells) == 0 {
		r.row += times
		return nil
	}
	size := int64(0)
	for _, c := range cells {
		size += int64(len(c.Text)) + 16
	}
	for range times {
		if r.row++; int64(r.row) > r.document.limits.Rows {
			return &grid.LimitError{Limit: "rows", Value: int64(r.row), Max: r.document.limits.Rows}
		}
		if r.told += size; r.told > r.document.limits.Expanded {
			return &grid.LimitError{Limit: "expanded", Value: r.told, Max: r.document.limits.Expanded}
		}
		if !r.yield(grid.Row{Number: r.row, Hidden: hidden, Struck: !r.plain, Cells: cells}) {
			return grid.ErrStopped
		}
	}
	return nil
}

// readCell reads a cell, which may stand for many that are alike, and returns the column of the last of them.
func (r *odsReader) readCell(cells []grid.Cell, column int) ([]grid.Cell, int, error) {
	c := odsCell{times: 1, columns: 1, rows: 1}
	if err := r.attributes(c.attribute); err != nil {
		return cells, column, err
	}
	if err := r.readContents(&c, grid.Cell{Column: column + 1}.Ref(r.row+1)); err != nil {
		return cells, column, err
	}
	cell := c.cell(&r.document.styles)
	if c.columns > 1 || c.rows > 1 {
		r.layout.Merge(grid.Range{FirstColumn: column + 1, FirstRow: r.row + 1,
			LastColumn: min(grid.MaxColumns, column+c.columns), LastRow: min(grid.MaxRows, r.row+c.rows)})
	}
	if cell.Kind == grid.Empty && cell.More == nil {
		return cells, column + c.times, nil
	}
	r.plain = r.plain || !r.document.styles.struck[c.style]
	for range c.times {
		if column++; int64(column) > r.document.limits.Columns || column > grid.MaxColumns {
			most := min(r.document.limits.Columns, grid.MaxColumns)
			return cells, column, &grid.LimitError{Limit: "columns", Value: int64(column), Max: most}
		}
		cell.Column = column
		cells = append(cells, cell)
	}
	return cells, column, nil
}

// readContents reads what stands in a cell: its paragraphs, a note, and what is drawn on it.
func (r *odsReader) readContents(c *odsCell, ref string) error {
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if !ok || err != nil {
			return err
		}
		switch string(r.name) {
		case "p", "h":
			if c.paragraphs++; c.paragraphs > 1 {
				c.text = append(c.text, '\n')
			}
			c.text, err = r.appendParagraph(c.text, c)
		case "list":
			err = r.readList(c)
		case "annotation":
			err = r.readNote(c)
		default:
			err = r.readDrawn(c, ref)
		}
		if n := int64(len(c.text)); n > r.document.limits.CellLength {
			return &grid.LimitError{Limit: "cell", Value: n, Max: r.document.limits.CellLength}
		}
		if err != nil {
			return err
		}
	}
}

func (r *odsReader) readList(c *odsCell) error {
	for depth := r.depth(); ; {
		t, err := r.next()
		if err != nil || t == endTag && r.depth() < depth {
			return err
		}
		if t == startTag && string(r.name) == "p" {
			if c.paragraphs++; c.paragraphs > 1 {
				c.text = append(c.text, '\n')
			}
			if c.text, err = r.appendParagraph(c.text, c); err != nil {
				return err
			}
		}
	}
}

// appendParagraph appends the text of the paragraph just started, chapter 6.1: blanks are one blank but for
// those that stand as elements.
func (r *odsReader) appendParagraph(dst []byte, c *odsCell) ([]byte, error) {
	start := len(dst)
	for depth := r.depth(); ; {
		t, err := r.next()
		if err != nil {
			return dst, err
		}
		switch {
		case t == endTag && r.depth() < depth:
			return dst, nil
		case t == textRun:
			var text []byte
			if text, err = appendText(nil, r.text, r.cdata); err == nil {
				dst = appendFolded(dst, text, start)
			}
		case t == startTag:
			switch string(r.name) {
			case "s":
				n := 1
				err = r.attributes(func(key, value string) {
					if key == "text:c" {
						n = max(1, count(value, 1000))
					}
				})
				dst = append(dst, strings.Repeat(" ", n)...)
			case "tab":
				dst = append(dst, '\t')
			case "line-break":
				dst = append(dst, '\n')
			case "a":
				err = r.attributes(func(key, value string) {
					if key == "xlink:href" && c != nil {
						c.more.Links = append(c.more.Links, value)
					}
				})
			case "annotation", "ruby-text":
				err = r.skip()
			}
		}
		if err != nil {
			return dst, err
		}
	}
}

// appendFolded appends a text in which blanks and line ends in a row are one blank.
func appendFolded(dst, text []byte, start int) []byte {
	for _, b := range text {
		if isBlank(b) {
			if b = ' '; len(dst) == start || dst[len(dst)-1] == ' ' {
				continue
			}
		}
		dst = append(dst, b)
	}
	return dst
}

// readNote reads the note on a cell, chapter 14.1.
func (r *odsReader) readNote(c *odsCell) error {
	var note grid.Comment
	var text []byte
	for depth := r.depth(); ; {
		ok, err := r.child(depth)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		switch string(r.name) {
		case "creator":
			var name []byte
			name, err = r.appendParagraph(nil, nil)
			note.Author = strings.TrimSpace(string(name))
		case "p":
			if len(text) > 0 {
				text = append(text, '\n')
			}
			text, err = r.appendParagraph(text, nil)
		}
		if err != nil {
			return err
		}
	}
	if note.Text = strings.TrimSpace(string(text)); note.Text != "" {
		c.more.Comments = append(c.more.Comments, note)
	}
	return nil
}

// readDrawn reads what is drawn on a cell: pictures and boxes with text.
func (r *odsReader) readDrawn(c *odsCell, ref string) error {
	before := len(r.layout.Pictures)
	err := r.readShape(ref)
	for _, p := range r.layout.Pictures[before:] {
		c.more.Pictures = append(c.more.Pictures, p.Name)
	}
	return err
}

// readShape reads the element just started, and all in it, as something drawn.
func (r *odsReader) readShape(ref string) error {
	var text []byte
	for depth := r.depth(); ; {
		var err error
		switch string(r.name) {
		case "image":
			err = r.attributes(func(key, value string) {
				if key == "xlink:href" {
					r.layout.Pictures = append(r.layout.Pictures,
						grid.Picture{Cell: ref, Name: value[strings.LastIndexByte(value, '/')+1:]})
				}
			})
		case "p":
			if len(text) > 0 {
				text = append(text, '\n')
			}
			text, err = r.appendParagraph(text, nil)
		}
		if err != nil {
			return err
		}
		for {
			t, err := r.next()
			if err != nil {
				return err
			}
			if t == endTag && r.depth() < depth {
				if words := strings.TrimSpace(string(text)); words != "" {
					r.layout.Texts = append(r.layout.Texts, grid.FreeText{Cell: ref, Text: words})
				}
				return nil
			}
			if t == startTag {
				break
			}
		}
	}
}

// IsODS reports whether an archive is an OpenDocument file: its kind stands at its beginning, unpacked (chapter
// 3.3 of part 2).
func IsODS(r io.ReaderAt, size int64) bool {
	head := make([]byte, min(size, 256))
	n, _ := r.ReadAt(head, 0)
	return strings.Contains(string(head[:n]), "mimetypeapplication/vnd.oasis.opendocument")
}
