package xlsx

import (
	"bytes"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// quickCell reads the cell that comes next and returns its column, if it is written in one of the ways in
// which nearly all are:
//
//	<c r="B2" s="1" t="s"><v>12</v></c>
//	<c r="B2" t="inlineStr"><is><t>words</t></is></c>
//
// Depth is that of the row. Whatever else comes next, or is not wholly in the buffer, it leaves alone, and returns false: then the
// cell is taken tag by tag.
func (r *sheetReader) quickCell(depth int) (column int, ok bool) {
	if r.slow || r.depth() != depth || r.closing || r.inCDATA {
		return 0, false
	}
	b := r.buf[r.pos:r.end]
	const begin = `<c r="`
	if len(b) < len(begin) || string(b[:len(begin)]) != begin {
		return 0, false
	}
	i := len(begin)
	for ; i < len(b) && b[i]-'A' < 26 && i < len(begin)+3; i++ {
		column = column*26 + int(b[i]-'A') + 1
	}
	row := 0
	first := i
	for ; i < len(b) && b[i]-'0' < 10 && i < first+8; i++ {
		row = row*10 + int(b[i]-'0')
	}
	if column == 0 || column > grid.MaxColumns || int64(column) > r.limits.Columns || row != r.row || i == len(b) || b[i] != '"' {
		return 0, false
	}
	st, kind, i, ok := r.quickAttributes(b, i+1)
	if !ok {
		return 0, false
	}
	open, end := "<v>", "</v></c>"
	if kind == 'i' {
		open, end = "<is><t>", "</t></is></c>"
		if kept := `<is><t xml:space="preserve">`; len(b)-i >= len(kept) && string(b[i:i+len(kept)]) == kept {
			open = kept
		}
	}
	if len(b)-i < len(open) || string(b[i:i+len(open)]) != open {
		return 0, false
	}
	i += len(open)
	n := bytes.IndexByte(b[i:], '<')
	if n < 0 || len(b)-i-n < len(end) || string(b[i+n:i+n+len(end)]) != end {
		return 0, false
	}
	start := len(r.text)
	text, err := appendText(r.text, b[i:i+n], false)
	if err != nil || int64(len(text)-start) > r.limits.CellLength {
		return 0, false
	}
	r.text = text
	cells := len(r.cells)
	if r.add(column, kind, st, start, false, true) != nil {
		r.text, r.cells, r.spans = r.text[:start], r.cells[:cells], r.spans[:cells]
		return 0, false
	}
	r.pos += i + n + len(end)
	return column, true
}

// quickAttributes reads style and type behind the reference of a cell, up to the end of the tag.
func (r *sheetReader) quickAttributes(b []byte, i int) (st style, kind byte, end int, ok bool) {
	kind = 'n'
	for {
		if i == len(b) {
			return st, 0, 0, false
		}
		if b[i] == '>' {
			return st, kind, i + 1, true
		}
		if len(b)-i < 6 || b[i] != ' ' || b[i+2] != '=' || b[i+3] != '"' {
			return st, 0, 0, false
		}
		name := b[i+1]
		i += 4
		n := bytes.IndexByte(b[i:], '"')
		if n < 0 {
			return st, 0, 0, false
		}
		value := b[i : i+n]
		i += n + 1
		switch name {
		case 's':
			at, ok := number(value)
			if !ok || at >= len(r.workbook.styles) {
				return st, 0, 0, false
			}
			st = r.workbook.styles[at]
		case 't':
			var err error
			if kind, err = cellType(value); err != nil {
				return st, 0, 0, false
			}
		default:
			return st, 0, 0, false
		}
	}
}
