package table

import (
	"bufio"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/net/html"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/text"
)

// charset finds the encoding that a page names.
var charset = text.Pattern(`(?i)<meta[^>]{1,200}charset=["' ]*([-_a-z0-9]{1,40})`)

// OpenPage returns the tables of a web page, which some programs write under the name of a workbook, as a book
// with a sheet for each. Tables within a table count as its text.
func OpenPage(r io.Reader, o Options) (*grid.Book, error) {
	limits := o.Limits.WithDefaults()
	source := bufio.NewReaderSize(&countingReader{r: r, max: min(limits.Bytes, limits.Held)}, sample)
	head, err := source.Peek(sample)
	if err != nil && err != io.EOF {
		return nil, err
	}
	if m := charset().FindSubmatch(head); m != nil && o.Encoding == "" {
		if _, err := encodingNamed(string(m[1])); err == nil {
			o.Encoding = string(m[1])
		}
	}
	var t Table
	text, err := t.decode(source, head, o.Encoding, o.Known)
	if err != nil {
		return nil, err
	}
	p := pageReader{limits: limits, tokens: html.NewTokenizer(text)}
	if err := p.read(); err != nil {
		return nil, err
	}
	if len(p.tables) == 0 {
		return nil, errors.New("the web page has no table with a row in it: save the log as .xlsx or .csv")
	}
	b := &grid.Book{Format: "html", Notes: []grid.Note{{Code: grid.NoteForm,
		Text: "the file is a web page; its tables were read"}}}
	b.Sheets = grid.NewSheets(p.names(), 0, func(i int, yield func(grid.Row) bool) (grid.Layout, error) {
		for _, row := range p.tables[i].rows {
			if !yield(row) {
				return p.tables[i].layout, grid.ErrStopped
			}
		}
		return p.tables[i].layout, nil
	})
	return b, nil
}

// pageTable is one table of a page.
type pageTable struct {
	name   string
	rows   []grid.Row
	layout grid.Layout
}

// pageReader gathers the tables of a page.
type pageReader struct {
	limits grid.Limits
	tokens *html.Tokenizer
	tables []pageTable
	depth  int // of tables within each other
	row    *grid.Row
	cell   *grid.Cell
	spans  map[int]int // columns that a cell above reaches down to, with the last row of it
	wide   int         // columns of the cell being read
	number int
	column int
	text   strings.Builder
	link   string
	note   string          // on the cell being read
	aside  string          // its text before the note
	mute   string          // an element whose text is none
	beside strings.Builder // text that stands in no cell

	unseenTable, unseenGroup bool // what the row stands in is not shown
	struck                   int  // elements around the text that strike through
	plain                    bool // something in the row is not struck through
}

// names returns a sheet for each table; a page with one has a sheet without a name.
func (p *pageReader) names() []grid.Sheet {
	sheets := make([]grid.Sheet, len(p.tables))
	if len(sheets) > 1 {
		for i := range sheets {
			if sheets[i].Name = p.tables[i].name; sheets[i].Name == "" {
				sheets[i].Name = "table " + strconv.Itoa(i+1)
			}
		}
	}
	return sheets
}

func (p *pageReader) read() error {
	for {
		switch p.tokens.Next() {
		case html.ErrorToken:
			p.endRow()
			if err := p.tokens.Err(); err != io.EOF {
				return err
			}
			if len(p.tables) > 0 {
				p.number++ // a row apart from the table
				p.endBeside()
			}
			kept := p.tables[:0]
			for _, t := range p.tables {
				if len(t.rows) > 0 {
					kept = append(kept, t)
				}
			}
			p.tables = kept
			return nil
		case html.TextToken:
			switch {
			case p.mute != "":
			case p.cell != nil:
				text := string(p.tokens.Text())
				p.plain = p.plain || p.struck == 0 && strings.TrimSpace(text) != ""
				p.text.WriteString(text)
			case p.row == nil:
				p.beside.WriteString(string(p.tokens.Text()))
			}
		case html.StartTagToken, html.SelfClosingTagToken:
			if err := p.start(p.tokens.Token()); err != nil {
				return err
			}
		case html.EndTagToken:
			name, _ := p.tokens.TagName()
			p.end(string(name))
		}
	}
}

func (p *pageReader) start(t html.Token) error {
	switch t.Data {
	case "comment": // as LibreOffice writes a note on a cell
		p.aside = p.text.String()
		p.text.Reset()
	case "style", "script", "title":
		if t.Type == html.StartTagToken {
			p.mute = t.Data
		}
	case "table":
		if p.depth++; p.depth == 1 {
			p.tables = append(p.tables, pageTable{name: attribute(t, "id")})
			p.number, p.spans = 0, map[int]int{}
			p.unseenTable, p.unseenGroup = isUnseen(t), false
			p.endBeside()
		}
	case "thead", "tbody", "tfoot":
		if p.depth == 1 {
			p.endRow()
			p.unseenGroup = isUnseen(t)
		}
	case "del", "s", "strike":
		p.struck++
	case "tr":
		if p.depth == 1 {
			p.endRow()
			p.endBeside()
			if p.number++; int64(p.number) > p.limits.Rows {
				return &grid.LimitError{Limit: "rows", Value: int64(p.number), Max: p.limits.Rows}
			}
			p.row, p.column = &grid.Row{Number: p.number, Hidden: p.unseenTable || p.unseenGroup || isUnseen(t)}, 0
			p.plain = false
		}
	case "td", "th":
		if p.depth == 1 && p.row != nil {
			p.endCell()
			return p.startCell(t)
		}
	case "br", "p", "div", "h1", "h2", "h3", "h4", "li", "caption":
		if p.cell != nil && p.text.Len() > 0 {
			p.text.WriteByte('\n')
		} else if p.cell == nil {
			p.beside.WriteByte('\n')
		}
	case "a":
		if p.cell != nil {
			p.link = attribute(t, "href")
		}
	}
	return nil
}

func (p *pageReader) startCell(t html.Token) error {
	p.column++
	for p.spans[p.column] >= p.number {
		p.column++
	}
	p.wide = max(1, min(whole(attribute(t, "colspan")), grid.MaxColumns))
	down := max(1, min(whole(attribute(t, "rowspan")), grid.MaxRows-p.number))
	if last := int64(p.column + p.wide - 1); last > min(p.limits.Columns, grid.MaxColumns) {
		return &grid.LimitError{Limit: "columns", Value: last, Max: min(p.limits.Columns, grid.MaxColumns)}
	}
	p.cell, p.struck = &grid.Cell{Column: p.column}, 0
	if p.wide > 1 || down > 1 {
		p.tables[len(p.tables)-1].layout.Merge(grid.Range{FirstColumn: p.column, FirstRow: p.number,
			LastColumn: p.column + p.wide - 1, LastRow: p.number + down - 1})
	}
	if down > 1 {
		for i := range p.wide {
			p.spans[p.column+i] = p.number + down - 1
		}
	}
	return nil
}

func (p *pageReader) end(name string) {
	switch name {
	case p.mute:
		p.mute = ""
	case "comment":
		p.note = strings.TrimSpace(p.text.String())
		p.text.Reset()
		p.text.WriteString(p.aside)
	case "table":
		if p.depth == 1 {
			p.endRow()
		}
		p.depth = max(0, p.depth-1)
	case "tr":
		if p.depth == 1 {
			p.endRow()
		}
	case "td", "th":
		if p.depth == 1 {
			p.endCell()
		}
	case "del", "s", "strike":
		p.struck = max(0, p.struck-1)
	}
}

func (p *pageReader) endCell() {
	if p.cell == nil {
		return
	}
	lines := strings.Split(strings.ReplaceAll(p.text.String(), "\u00a0", " "), "\n")
	kept := lines[:0]
	for _, line := range lines {
		if line = strings.Join(strings.Fields(line), " "); line != "" {
			kept = append(kept, line)
		}
	}
	if text := strings.Join(kept, "\n"); text != "" {
		c := grid.NewCell(p.cell.Column, grid.Text, text, nil, 0)
		if p.link != "" || p.note != "" {
			c.More = &grid.More{}
		}
		if p.link != "" {
			c.More.Links = []string{p.link}
		}
		if p.note != "" {
			c.More.Comments = []grid.Comment{{Text: p.note}}
		}
		p.row.Cells = append(p.row.Cells, c)
	}
	p.column += p.wide - 1
	p.cell, p.link, p.note = nil, "", ""
	p.text.Reset()
}

func (p *pageReader) endRow() {
	p.endCell()
	if p.row != nil && len(p.row.Cells) > 0 {
		t := &p.tables[len(p.tables)-1]
		p.row.Struck = !p.plain
		t.rows = append(t.rows, *p.row)
	}
	p.row = nil
}

// endBeside makes a row of each line of text that stands outside the tables: above the table that has begun, or
// below the last.
func (p *pageReader) endBeside() {
	lines := strings.Split(strings.ReplaceAll(p.beside.String(), "\u00a0", " "), "\n")
	p.beside.Reset()
	t := &p.tables[len(p.tables)-1]
	for _, line := range lines {
		line = strings.Join(strings.Fields(line), " ")
		if line == "" || int64(p.number) >= p.limits.Rows {
			continue
		}
		p.number++
		t.rows = append(t.rows, grid.Row{Number: p.number, Cells: []grid.Cell{grid.NewCell(1, grid.Text, line, nil, 0)}})
	}
}

// unseenStyle is the style of an element that is not shown.
var unseenStyle = text.Pattern(`(?i)display\s*:\s*none|visibility\s*:\s*(hidden|collapse)`)

func isUnseen(t html.Token) bool {
	return unseenStyle().MatchString(attribute(t, "style")) ||
		slices.ContainsFunc(t.Attr, func(a html.Attribute) bool { return a.Key == "hidden" })
}

func attribute(t html.Token, name string) string {
	for _, a := range t.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func whole(s string) int {
	n, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil {
		return 1
	}
	return n
}
