package profile

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/schema"
)

// A sheetPart is one sheet of the workbook in which officers edit a profile: a list of the profile, a row an item.
type sheetPart struct {
	Sheet   string        `json:"sheet"`
	Member  string        `json:"member"`
	Columns []sheetColumn `json:"columns"`
}

// sheetColumn is one column: a member of the item, with points between members, and how its cells are written.
type sheetColumn struct {
	Path string   `json:"path"`
	Kind cellKind `json:"kind"`
	Help string   `json:"help"`
}

type cellKind string

const (
	plainCell   cellKind = "plain"
	listCell    cellKind = "list"    // items with commas between them
	numberCell  cellKind = "number"  // a number
	textCell    cellKind = "text"    // one column for each language
	membersCell cellKind = "members" // headings or members with commas between them
	waysCell    cellKind = "ways"    // the same, and behind a semicolon what does as well
	wordsCell   cellKind = "words"   // words and codes: latten = copper-alloy
	whenCell    cellKind = "when"    // a condition
	jsonCell    cellKind = "json"
)

// sheetParts are the sheets: the first has the members of the profile itself, a row each.
var sheetParts = sync.OnceValue(func() []sheetPart {
	parts, _ := schema.Rows[sheetPart]("profile-sheet") // a test reads them
	return parts
})

// headingsSheet has the headings that people use, and what they are read as.
const headingsSheet, aboutSheet = "Headings", "About"

// WriteSheet writes a profile as a workbook to edit.
func WriteSheet(w io.Writer, p *Profile) error {
	raw, err := json.Marshal(p, json.Deterministic(true))
	if err != nil {
		return fmt.Errorf("writing the workbook of profile %s: %w", p.ID, err)
	}
	var tree map[string]any
	if err := json.Unmarshal(raw, &tree); err != nil {
		return fmt.Errorf("writing the workbook of profile %s: %w", p.ID, err)
	}
	b := &sheetWriter{f: excelize.NewFile(), languages: p.Languages}
	defer b.f.Close()
	if len(b.languages) == 0 {
		b.languages = []string{"en"}
	}
	if err := b.write(tree); err != nil {
		return fmt.Errorf("writing the workbook of profile %s: %w", p.ID, err)
	}
	_, err = b.f.WriteTo(w)
	return err
}

type sheetWriter struct {
	f         *excelize.File
	languages []string
	style     int // text
	bold      int
	faint     int // what helps
}

func (b *sheetWriter) write(tree map[string]any) (err error) {
	top := &excelize.Alignment{WrapText: true, Vertical: "top"}
	for i, style := range []*excelize.Style{{Alignment: top}, {Font: &excelize.Font{Bold: true}},
		{Alignment: top, Font: &excelize.Font{Italic: true, Color: "595959"}}} {
		if style.NumFmt = 49; style.Font != nil {
			style.Font.Family, style.Font.Size = "Calibri", 11
		}
		if *[]*int{&b.style, &b.bold, &b.faint}[i], err = b.f.NewStyle(style); err != nil {
			return err
		}
	}
	rows := [][]string{{"member", "value", "help"}}
	for _, c := range sheetParts()[0].Columns {
		for _, at := range b.spread(c) {
			rows = append(rows, []string{at.Path, cellText(get(tree, at.Path), at.Kind, b.languages[0]), c.Help})
		}
	}
	if err := b.f.SetSheetName("Sheet1", aboutSheet); err != nil {
		return err
	}
	if err := b.rows(aboutSheet, rows); err != nil {
		return err
	}
	headings, _ := tree["headings"].(map[string]any)
	var pairs []any
	for _, text := range slices.Sorted(maps.Keys(headings)) {
		pairs = append(pairs, map[string]any{"heading": text, "field": headings[text]})
	}
	tree["headings"] = pairs
	for _, part := range sheetParts()[1:] {
		if err := b.list(part, items(tree[part.Member])); err != nil {
			return err
		}
	}
	return nil
}

// items are those of a list; nothing is none.
func items(v any) []any {
	list, _ := v.([]any)
	return list
}

// spread is one column for each language of a text, else the column.
func (b *sheetWriter) spread(c sheetColumn) []sheetColumn {
	if c.Kind != textCell {
		return []sheetColumn{c}
	}
	var out []sheetColumn
	for _, language := range b.languages {
		out = append(out, sheetColumn{strings.TrimPrefix(c.Path+"."+language, "."), plainCell, c.Help})
	}
	return out
}

func (b *sheetWriter) list(part sheetPart, list []any) error {
	var head, help []string
	var columns []sheetColumn
	for _, c := range part.Columns {
		for _, at := range b.spread(c) {
			columns = append(columns, at)
			head, help = append(head, at.Path), append(help, at.Help)
		}
	}
	rows := [][]string{head, help}
	for _, item := range list {
		tree, _ := item.(map[string]any)
		var row []string
		for _, c := range columns {
			row = append(row, cellText(get(tree, c.Path), c.Kind, b.languages[0]))
		}
		rows = append(rows, row)
	}
	return b.rows(part.Sheet, rows)
}

func (b *sheetWriter) rows(sheet string, rows [][]string) error {
	if _, err := b.f.NewSheet(sheet); err != nil {
		return err
	}
	if err := b.f.SetColStyle(sheet, "A:AZ", b.style); err != nil {
		return err
	}
	if err := b.dress(sheet); err != nil {
		return err
	}
	for i, row := range rows {
		lines := 1 // no program makes room for what is wrapped by itself
		for _, text := range row {
			lines = max(lines, 1+len([]rune(text))/(widthOfCells-4))
		}
		if err := b.f.SetRowHeight(sheet, i+1, min(float64(lines)*15, 400)); err != nil {
			return err
		}
		for k, text := range row {
			cell, err := excelize.CoordinatesToCellName(k+1, i+1)
			if err != nil {
				return err
			}
			if err := b.f.SetCellStr(sheet, cell, text); err != nil {
				return err
			}
			style := b.style
			switch {
			case i == 0:
				style = b.bold
			case sheet != aboutSheet && i == 1, sheet == aboutSheet && k == 2:
				style = b.faint
			}
			if err := b.f.SetCellStyle(sheet, cell, cell, style); err != nil {
				return err
			}
		}
	}
	return nil
}

// widthOfCells is how many characters fit beside each other.
const widthOfCells = 32

// dress keeps the headings in sight, and offers the strengths where one is asked for.
func (b *sheetWriter) dress(sheet string) error {
	if err := b.f.SetColWidth(sheet, "A", "AZ", widthOfCells); err != nil {
		return err
	}
	if err := b.f.SetPanes(sheet, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 1, TopLeftCell: "B2",
		ActivePane: "bottomRight"}); err != nil || sheet != sheetParts()[1].Sheet {
		return err
	}
	v := excelize.NewDataValidation(true)
	v.Sqref = "B3:B300"
	if err := v.SetDropList([]string{string(Must), string(Should), string(May), string(Never)}); err != nil {
		return err
	}
	return b.f.AddDataValidation(sheet, v)
}

// get returns what stands at a path of members with points between them.
func get(tree map[string]any, path string) any {
	var v any = tree
	for name := range strings.SplitSeq(path, ".") {
		object, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = object[name]
	}
	return v
}

// cellText writes a value into a cell.
func cellText(v any, kind cellKind, language string) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		return x
	case float64:
		return number(x)
	case []any:
		if kind == listCell {
			var out []string
			for _, item := range x {
				out = append(out, fmt.Sprint(item))
			}
			return strings.Join(out, ", ")
		}
	}
	raw, _ := json.Marshal(v, json.Deterministic(true))
	var text string
	switch kind {
	case whenCell:
		var c Condition
		if json.Unmarshal(raw, &c) == nil {
			return WriteWhen(&c, language)
		}
	case membersCell:
		return waysText(raw, kind, language)
	case waysCell:
		text = waysText(raw, kind, language)
	case wordsCell:
		words, _ := v.(map[string]any)
		var out []string
		for _, word := range slices.Sorted(maps.Keys(words)) {
			out = append(out, fmt.Sprintf("%s = %s", word, words[word]))
		}
		text = strings.Join(out, ", ")
	}
	if again, err := cellValue("", text, kind); err == nil { // only what comes back as it was
		if same, _ := json.Marshal(again, json.Deterministic(true)); text != "" && string(same) == string(raw) {
			return text
		}
	}
	return string(raw)
}

// waysText writes members, or what does as well, in headings.
func waysText(raw []byte, kind cellKind, language string) string {
	ways := []Wanted{{}}
	to := any(&ways)
	if kind == membersCell {
		to = &ways[0].Any
	}
	if json.Unmarshal(raw, to) != nil {
		return ""
	}
	var out []string
	for i := range ways {
		var names []string
		for _, pointer := range ways[i].Any {
			names = append(names, NamedBy(pointer, language))
		}
		text := strings.Join(names, ", ")
		if least := ways[i].AtLeast; least != nil {
			text += " at least " + number(*least)
		}
		out = append(out, text)
	}
	return strings.Join(out, "; ")
}

// waysOf reads what does as well, in headings.
func waysOf(text string) (out []Wanted, err error) {
	for one := range strings.SplitSeq(text, ";") {
		var w Wanted
		names, least, ok := strings.Cut(one, " at least ")
		if ok {
			n, err := strconv.ParseFloat(strings.TrimSpace(least), 64)
			if err != nil {
				return nil, fmt.Errorf("%.40q is no number", least)
			}
			w.AtLeast = &n
		}
		if w.Any, err = membersNamed(names); err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}

// membersNamed are the members of a list of headings.
func membersNamed(text string) (items []string, err error) {
	items = listOf(text)
	for i, item := range items {
		if items[i], _, err = namedMember(item); err != nil {
			return nil, err
		}
	}
	return slices.Compact(items), nil
}

// Cells are where the parts of a profile stand in a workbook, by pointer.
type Cells map[string]string

// Of is the cell of a part, or of the one that it belongs to; empty where none is known.
func (c Cells) Of(pointer string) (cell string) {
	for at := pointer; at != "" && cell == ""; at = at[:strings.LastIndexByte(at, '/')] {
		cell = c[at]
	}
	return cell
}

// note notes the cell of a path of members, column and row from 0, and that of what it belongs to.
func (c Cells) note(above, path, sheet string, column, row int) string {
	name, _ := excelize.CoordinatesToCellName(column+1, row+1)
	name = fmt.Sprintf("sheet %q, cell %s", sheet, name)
	c[above], c[above+"/"+strings.ReplaceAll(path, ".", "/")] = cmp.Or(c[above], name), name
	return name
}

// ReadSheet reads the workbook that WriteSheet writes, and returns the profile as JSON, with the cells of its parts.
// What a cell says that cannot be read is an error that names sheet and cell.
func ReadSheet(r io.Reader) ([]byte, Cells, error) {
	cells := Cells{}
	raw, err := cells.read(r)
	return raw, cells, err
}

func (c Cells) read(r io.Reader) ([]byte, error) {
	cells := c
	f, err := excelize.OpenReader(r, excelize.Options{UnzipSizeLimit: 64 << 20, UnzipXMLSizeLimit: 32 << 20})
	if err != nil {
		return nil, fmt.Errorf("the workbook cannot be read: %w", err)
	}
	defer f.Close()
	tree := map[string]any{"findslipProfile": "1", "asks": []any{}}
	rows, err := f.GetRows(aboutSheet)
	if err != nil {
		return nil, fmt.Errorf("the workbook has no sheet %q: it is not one that findslip profile --sheet wrote", aboutSheet)
	}
	for i, row := range rows {
		c, known := columnAt(sheetParts()[0].Columns, cellOf(row, 0))
		switch {
		case cellOf(row, 0) == "member" && i == 0, cellOf(row, 1) == "" && len(row) < 4 && known,
			strings.TrimSpace(strings.Join(row, "")) == "":
			continue
		case !known:
			return nil, fmt.Errorf("sheet %q, cell A%d: %.40q is none of the members of this sheet", aboutSheet, i+1,
				cellOf(row, 0))
		case len(row) > 3:
			return nil, fmt.Errorf("sheet %q, cell D%d: nothing is read here; write it into column B", aboutSheet, i+1)
		}
		cell := cells.note("", c.Path, aboutSheet, 1, i)
		if err := put1(tree, c.Path, row[1], c.Kind); err != nil {
			return nil, fmt.Errorf("%s: %w", cell, err)
		}
	}
	if err := knownSheets(f); err != nil {
		return nil, err
	}
	for _, part := range sheetParts()[1:] {
		items, err := cells.part(f, part)
		if err != nil {
			return nil, err
		}
		if len(items) > 0 {
			tree[part.Member] = items
		}
	}
	headings := map[string]any{}
	for i, item := range items(tree["headings"]) {
		pair := item.(map[string]any)
		text, field := fmt.Sprint(pair["heading"]), fmt.Sprint(pair["field"])
		if len(pair) < 2 {
			return nil, fmt.Errorf("sheet %q, %.40q: a heading and a field are needed", headingsSheet,
				strings.Trim(text+field, "<nil>"))
		}
		headings[text] = field
		cells["/headings/"+notice.Escape(text)] = cells[fmt.Sprintf("/headings/%d", i)]
	}
	if delete(tree, "headings"); len(headings) > 0 {
		tree["headings"] = headings
	}
	return write(tree)
}

// write writes a tree as a profile, its members in their order.
func write(tree map[string]any) ([]byte, error) {
	raw, err := json.Marshal(tree, json.Deterministic(true))
	if err != nil {
		return nil, err
	}
	var p Profile
	if err := json.Unmarshal(raw, &p); err != nil {
		return nil, fmt.Errorf("a cell holds what its column cannot: %w", err)
	}
	return p.JSON()
}

// part reads the sheet of a list.
func (c Cells) part(f *excelize.File, part sheetPart) (items []any, err error) {
	rows, err := f.GetRows(part.Sheet)
	if err != nil {
		return nil, nil // a sheet that is not needed may be missing
	}
	for i, row := range rows {
		if i == 0 {
			continue
		}
		item := map[string]any{}
		for k, text := range row {
			if strings.TrimSpace(text) == "" {
				continue
			}
			column, known := columnAt(part.Columns, cellOf(rows[0], k))
			if known && i == 1 && strings.TrimSpace(text) == column.Help { // which people may write over, or leave
				continue
			}
			err := fmt.Errorf("nothing is read below %.40q: this sheet has no such column", cellOf(rows[0], k))
			if known {
				err = put1(item, cellOf(rows[0], k), text, column.Kind)
			}
			cell := c.note(fmt.Sprintf("/%s/%d", part.Member, len(items)), cellOf(rows[0], k), part.Sheet, k, i)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", cell, err)
			}
		}
		if len(item) > 0 {
			items = append(items, item)
		}
	}
	return items, nil
}

// knownSheets says which sheet is none of the workbook, so that what stands there is not lost.
func knownSheets(f *excelize.File) error {
	known := []string{aboutSheet}
	for _, part := range sheetParts()[1:] {
		known = append(known, part.Sheet)
	}
	for _, sheet := range f.GetSheetList() {
		if rows, err := f.GetRows(sheet); !slices.Contains(known, sheet) && (err != nil || len(rows) > 0) {
			return fmt.Errorf("sheet %q is none of %s: nothing is read there; give it one of these names, or take it away",
				sheet, strings.Join(known, ", "))
		}
	}
	return nil
}

// cellOf is a cell of a row; empty where the row ends before it.
func cellOf(row []string, k int) string {
	if k >= len(row) {
		return ""
	}
	return strings.TrimSpace(row[k])
}

// columnAt is the column below a heading; of a text the heading has the language too.
func columnAt(columns []sheetColumn, head string) (sheetColumn, bool) {
	for _, c := range columns {
		if c.Kind != textCell && c.Path == head {
			return c, true
		}
		tag, ok := strings.CutPrefix("."+head, strings.TrimSuffix("."+c.Path, ".")+".")
		if c.Kind == textCell && ok && tag != "" && !strings.Contains(tag, ".") {
			return sheetColumn{head, plainCell, c.Help}, true
		}
	}
	return sheetColumn{}, false
}

// put1 sets what stands at a path.
func put1(tree map[string]any, path, text string, kind cellKind) error {
	v, err := cellValue(path, strings.TrimSpace(text), kind)
	if err != nil {
		return err
	}
	names := strings.Split(strings.TrimSpace(path), ".")
	for _, name := range names[:len(names)-1] {
		next, ok := tree[name].(map[string]any)
		if !ok {
			next = map[string]any{}
			tree[name] = next
		}
		tree = next
	}
	tree[names[len(names)-1]] = v
	return nil
}

// cellValue reads a cell.
func cellValue(path, text string, kind cellKind) (any, error) {
	if kind != plainCell && kind != whenCell && (text[:min(len(text), 1)] == "{" || strings.HasPrefix(text, "[{")) {
		kind = jsonCell // what the words of the cell cannot say
	}
	switch kind {
	case numberCell:
		n, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
		if err != nil {
			return nil, fmt.Errorf("%.40q is no number", text)
		}
		return n, nil
	case whenCell:
		return ParseWhen(text)
	case jsonCell:
		if strings.EqualFold(text, "true") { // as a spreadsheet writes it
			return true, nil
		}
		var v any
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			return nil, fmt.Errorf("%.40q is no JSON", text)
		}
		return v, nil
	case listCell:
		return listOf(text), nil
	case membersCell:
		return membersNamed(text)
	case waysCell:
		return waysOf(text)
	case wordsCell:
		words := map[string]string{}
		for _, pair := range listOf(text) {
			word, code, ok := strings.Cut(pair, "=")
			if !ok {
				return nil, fmt.Errorf("%.40q lacks a code: write latten = copper-alloy", pair)
			}
			words[strings.TrimSpace(word)] = strings.TrimSpace(code)
		}
		return words, nil
	}
	if path == "member" {
		if pointer := MemberOf(text); pointer != "" {
			return pointer, nil
		}
	}
	return text, nil
}
