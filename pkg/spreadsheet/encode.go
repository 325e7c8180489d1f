package spreadsheet

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/spreadsheet/internal/table"
	fold "github.com/findslip/findslip/pkg/text"
)

// WriteOptions steer writing. The zero value writes every column, with English headings.
type WriteOptions struct {
	Plain    bool   // leave out the canonical parts of terms and quantities, and what the words beside it say
	Language string // of the headings of a workbook; empty: en
	BOM      bool   // begin a CSV file with a UTF-8 byte order mark
	// Delimiter stands between the cells of a CSV file: comma (also where it is empty), semicolon or tab.
	Delimiter string
}

func (o WriteOptions) language() string {
	if o.Language == "" {
		return "en"
	}
	return o.Language
}

// wanted reports whether a field gets a column.
func (o WriteOptions) wanted(f find.Field) bool { return !o.Plain || !f.Part }

// outColumn is one column of what is written.
type outColumn struct {
	name    string // flat name, or the heading of a column that is not known
	heading string
	field   find.Field
	path    *find.Path              // nil for a column that is not known
	plain   *plainCell[find.Find]   // nil unless the table is plain
	beside  func(*find.Find) string // what an id is called; nil for a column of the find itself
}

// layOut settles the columns of a table of finds: in the order of the table of fields, then those
// that no field understands, and id last. Each has a heading that no other has and that reading
// takes for the same column.
func (s *spool) layOut(r *find.Report, o WriteOptions, show func(name string, f find.Field) string) ([]outColumn,
	error) {
	if o.Plain {
		if err := s.usePlain(); err != nil {
			return nil, err
		}
	}
	needed := []string{"id"}
	if len(s.used) == 0 { // so that a table of no finds is known for what it is
		needed = []string{"number", "name", "id"}
	}
	for _, name := range needed {
		if _, ok := s.used[name]; !ok {
			s.used[name] = find.Field{Name: name, Pointer: "/" + name, Kind: find.Text}
		}
	}
	var out []outColumn
	taken := map[string]bool{}
	for _, name := range names[find.Find](s.used) {
		path, err := find.PathTo[find.Find](name)
		if err != nil {
			return nil, err
		}
		c := outColumn{name: name, heading: show(name, path.Field), field: path.Field, path: path}
		if o.Plain {
			if c.plain, err = newPlainCell[find.Find](path); err != nil {
				return nil, err
			}
		}
		taken[c.heading] = true
		out = append(out, c)
	}
	var extra []outColumn
	for _, name := range slices.Sorted(maps.Keys(s.extra)) {
		extra = append(extra, outColumn{name: name, heading: extraHeading(name, taken),
			field: find.Field{Name: "columns", Kind: find.Text}})
	}
	last := len(out) - 1
	return addBesideIDs(append(append(out[:last:last], extra...), out[last]), r), nil
}

// extraHeading is the heading of a column that no field understands: its own, unless reading would
// take that for a field.
func extraHeading(name string, taken map[string]bool) string {
	if heading.IsField(name) || taken[name] || name != strings.TrimSpace(name) || strings.HasPrefix(name, "columns.") {
		return "columns." + name
	}
	return name
}

// text returns what a cell of the column says of a find.
func (c outColumn) text(f *find.Find, _ WriteOptions) string {
	switch {
	case c.beside != nil:
		return c.beside(f)
	case c.path == nil:
		return f.Columns[c.name]
	case c.plain != nil:
		return c.plain.text(f)
	}
	return find.Get(c.path, f)
}

// keyHeading is the heading of a CSV file: the flat name, with the unit of a number.
func keyHeading(name string, f find.Field) string {
	if f.Unit != "" && f.Kind == find.Decimal {
		return name + " [" + f.Unit + "]"
	}
	return name
}

// labelHeading is the heading of a workbook: the label where there is one.
func labelHeading(language string) func(string, find.Field) string {
	return func(name string, f find.Field) string {
		if text := heading.Label(name, language); text != "" && heading.Understand(text).Field == name {
			return text
		}
		return keyHeading(name, f)
	}
}

// EncodeCSV writes the finds as CSV (RFC 4180, UTF-8, line feeds): flat names as headings, id last.
// People, permissions, outings and the rest of the report are not carried; control characters and direction marks
// are made visible. Text that a spreadsheet would take for a formula has an apostrophe in front, which reading
// takes off again. A find whose list has more than 1000 members is an error. Nothing is written if the finds
// cannot all be read.
func EncodeCSV(w io.Writer, in *find.Stream, o WriteOptions) error {
	s := newSpool()
	defer s.close()
	if err := s.fill(in, o.wanted); err != nil {
		return err
	}
	columns, err := s.layOut(in.Report, o, keyHeading)
	if err != nil {
		return err
	}
	buffer := bufio.NewWriterSize(w, 1<<16)
	if o.BOM {
		buffer.WriteString("\ufeff")
	}
	out := csv.NewWriter(buffer)
	if out.Comma, err = comma(o.Delimiter); err != nil {
		return err
	}
	record := make([]string, len(columns))
	for i, c := range columns {
		record[i] = guard(c.heading)
	}
	said := copyColumns(in.Report)
	var headings []string
	if said != nil {
		headings = []string{audienceHeading, changedHeading}
	}
	if err := out.Write(insertBeforeLast(record, headings)); err != nil {
		return err
	}
	if err := s.each(func(f *find.Find) error {
		for i, c := range columns {
			record[i] = guard(c.text(f, o))
		}
		return out.Write(insertBeforeLast(record, said))
	}); err != nil {
		return err
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	return buffer.Flush()
}

// comma is the sign that a word for it means.
func comma(name string) (rune, error) {
	switch name {
	case "", "comma":
		return ',', nil
	case "semicolon":
		return ';', nil
	case "tab":
		return '\t', nil
	}
	return 0, fmt.Errorf("the delimiter %q is not known: it is comma, semicolon or tab", name)
}

// guard keeps a spreadsheet from taking text for a formula: an apostrophe goes in front of text
// that begins with a sign of one. A number is never altered, so that a western longitude keeps its
// minus. Reading takes one apostrophe off that stands before such a sign or another apostrophe;
// text that begins in that way itself gets one more, and comes back as it was.
func guard(s string) string {
	if s == "" {
		return s
	}
	s = fold.Visible(s)
	if table.IsFormula(s) {
		if _, err := find.ParseNumber(s); err == nil {
			return s
		}
		return "'" + s
	}
	if table.Unguard(s) != s {
		return "'" + s
	}
	return s
}

// tooLong says that a text does not fit a cell of a workbook.
func tooLong(name string, f *find.Find, most int) error {
	label := f.Number
	if label == "" {
		label = f.ID
	}
	return fmt.Errorf("find %s: the text of %s is longer than the %d characters that a cell of a workbook holds; write "+
		"JSON or CSV instead", label, name, most)
}

// A plain table has no columns for the canonical parts of terms and quantities, so that a person
// sees each thing once. It must still say what the record says: what has no words shows its
// canonical text, and a canonical value is left out only where the words beside it say it without
// help from a heading.

// plainCell writes one column of a plain table.
type plainCell[T find.Record] struct {
	path  *find.Path
	parts map[string]*find.Path // of a term or quantity: code, label, min, ...
	words *find.Path            // of a date or position: the words it was read from
}

var (
	termParts     = []string{"code", "label"}
	quantityParts = []string{"min", "max", "best", "said", "resolution", "approximate"}
)

func newPlainCell[T find.Record](path *find.Path) (*plainCell[T], error) {
	c := &plainCell[T]{path: path, parts: map[string]*find.Path{}}
	var members []string
	switch path.Field.Kind {
	case find.TermText:
		members = termParts
	case find.QuantityText:
		members = quantityParts
	}
	for _, member := range members {
		part, err := find.PathTo[T](path.Name + "." + member)
		if err != nil {
			return nil, err
		}
		c.parts[member] = part
	}
	if wordsBeside(path.Field.Name) {
		words, err := find.PathTo[T](ownerOf(path.Name) + ".verbatim")
		if err != nil {
			return nil, err
		}
		c.words = words
	}
	return c, nil
}

// ownerOf returns the name before the last dot.
func ownerOf(name string) string {
	if i := strings.LastIndexByte(name, '.'); i >= 0 {
		return name[:i]
	}
	return name
}

// wordsBeside reports whether the field, in the spelling of the table of fields, is a canonical value
// with the words it was read from beside it.
func wordsBeside(field string) bool {
	switch field {
	case "found.date", "dating.date", "otherDatings.#.date",
		"dating.earliest", "dating.latest", "otherDatings.#.earliest", "otherDatings.#.latest",
		"position.longitude", "position.latitude", "otherPositions.#.longitude", "otherPositions.#.latitude":
		return true
	}
	return false
}

// text returns what the cell says of a record.
func (c *plainCell[T]) text(r *T) string {
	text := find.Get(c.path, r)
	switch c.path.Field.Kind {
	case find.TermText:
		for _, member := range termParts {
			if text == "" {
				text = find.Get(c.parts[member], r)
			}
		}
		return text
	case find.QuantityText:
		return quantityInWords(text, c.quantity(r).Value(), c.path.Field.Unit)
	}
	if c.words != nil && text != "" && saysItself(c.path.Field.Name, find.Get(c.words, r), text) {
		return ""
	}
	return text
}

func (c *plainCell[T]) quantity(r *T) *find.Quantity {
	number := func(member string) find.Number {
		n, err := find.ParseNumber(find.Get(c.parts[member], r))
		if err != nil {
			return find.Number{}
		}
		return n
	}
	return &find.Quantity{Unit: c.path.Field.Unit, Said: find.Get(c.parts["said"], r),
		Approximate: find.Get(c.parts["approximate"], r) != "",
		Min:         number("min"), Max: number("max"), Best: number("best"), Resolution: number("resolution")}
}

// quantityInWords returns the words of a quantity. Where the unit stood in a heading, it is put
// behind the number: "8" becomes "8 in", but only if that reads as the value.
func quantityInWords(words string, v quantity.Quantity, unit string) string {
	if !v.Min.Known && !v.Max.Known {
		return words
	}
	if words == "" {
		text := v.String()
		if unit == "" && !v.Best.Known {
			text, _, _ = strings.Cut(text, " (") // the step of a count says nothing
		}
		return text
	}
	if unit == "" || v.Said == quantity.NoUnit || readsAs(words, v) {
		return words
	}
	if with := words + " " + v.Said.String(); readsAs(with, v) {
		return with
	}
	return words
}

func readsAs(words string, v quantity.Quantity) bool {
	read := quantity.NormaliseLength
	if v.Unit.Dimension() == quantity.G.Dimension() {
		read = quantity.NormaliseMass
	}
	r, err := read(words, quantity.Options{Into: v.Unit})
	return err == nil && r.Min == v.Min && r.Max == v.Max
}

// saysItself reports whether the words alone say the canonical value.
func saysItself(field, words, value string) bool {
	if words == "" {
		return false
	}
	member := field[strings.LastIndexByte(field, '.')+1:]
	switch {
	case member == "longitude" || member == "latitude":
		r, err := coordinate.Normalise(words, coordinate.Options{})
		return err == nil && r.Absent == ""
	case strings.HasPrefix(field, "found."):
		r, err := edtf.NormaliseFound(words, edtf.Options{})
		return err == nil && r.Date.String() == value
	}
	r, err := edtf.NormaliseDating(words, edtf.Options{})
	if err != nil || r.Date.IsZero() {
		return false
	}
	earliest, latest, hasEarliest, hasLatest := r.Date.Years()
	switch member {
	case "earliest":
		return hasEarliest && strconv.Itoa(earliest) == value
	case "latest":
		return hasLatest && strconv.Itoa(latest) == value
	}
	return r.Date.String() == value
}

// usePlain settles anew which columns a plain table of finds needs: those of which some cell says
// something.
func (s *spool) usePlain() error {
	s.used = map[string]find.Field{}
	cells := map[string]*plainCell[find.Find]{}
	return s.each(func(f *find.Find) error {
		for c := range find.Flat(f) {
			name := c.Name
			if c.Field.Part {
				name = ownerOf(name)
			}
			if _, ok := s.used[name]; ok || strings.HasPrefix(name, "columns.") {
				continue
			}
			cell := cells[name]
			if cell == nil {
				path, err := find.PathTo[find.Find](name)
				if err != nil {
					return err
				}
				if cell, err = newPlainCell[find.Find](path); err != nil {
					return err
				}
				cells[name] = cell
			}
			if cell.text(f) != "" {
				s.used[name] = cell.path.Field
			}
		}
		return nil
	})
}
