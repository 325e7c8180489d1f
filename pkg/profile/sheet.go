package profile

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/xuri/excelize/v2"
)

// A sheetPart is one sheet of the workbook in which officers edit a profile: a list of the profile, a row an item.
type sheetPart struct {
	sheet, member string
	columns       []sheetColumn
}

// sheetColumn is one column: a member of the item, and how its cells are written.
type sheetColumn struct {
	path string // with points between members
	kind cellKind
	help string
}

type cellKind uint8

const (
	plainCell   cellKind = iota
	listCell             // items with commas between them
	numberCell           // a number
	textCell             // one column for each language
	membersCell          // headings or members with commas between them
	waysCell             // the same, and behind a semicolon what does as well
	wordsCell            // words and codes: latten = copper-alloy
	whenCell             // a condition
	jsonCell
)

// aboutRows are the members of the profile itself, a row each on the first sheet.
var aboutRows = []sheetColumn{
	{"id", plainCell, "a short name: lower-case letters, figures and hyphens"},
	{"version", plainCell, "such as 2026.1"},
	{"languages", listCell, "such as en, nl; the first is the one to fall back on"},
	{"title", textCell, "to be said after: good for"},
	{"body.name", textCell, "who asks"},
	{"body.contact", textCell, "how to reach you; no links"},
	{"purpose", textCell, "what you do with the finds"},
	{"jurisdiction", plainCell, "such as GB-ENG"},
	{"valid.from", plainCell, "2026-01-01"}, {"valid.to", plainCell, "2026-12-31"},
	{"covers.from", plainCell, "first day of finding that you want to hear of"},
	{"covers.to", plainCell, "last day"},
	{"covers.when", whenCell, "which finds, such as: Dating older than 300 years"},
	{"covers.area", jsonCell, "outline, as GeoJSON"},
	{"basedOn.profile", plainCell, "a file in the same folder, or " + strings.Join(LevelNames(), ", ")},
	{"basedOn.sha256", plainCell, "its sum; findslip profile FILE says it"},
}

// listParts are the other sheets.
var listParts = []sheetPart{
	{"Asks", "asks", []sheetColumn{{"name", plainCell, "once in the profile"},
		{"strength", plainCell, "must, should, may or never"},
		{"ask.any", membersCell, "headings or members, of which one will do"},
		{"when", whenCell, "Class is coin; empty: all finds"},
		{"title", textCell, "what is asked, in your words"}, {"why", textCell, "what it is needed for"},
		{"who", textCell, "who knows it"}, {"how", textCell, "how it is done"}, {"example", textCell, ""},
		{"ask.within", numberCell, "metres, of a position"}, {"ask.atLeast", numberCell, "how many, or how much"},
		{"ask.atMost", numberCell, ""}, {"ask.oneOf", listCell, "codes"}, {"ask.pixels", numberCell, "of pictures"},
		{"ask.figures", numberCell, "of a grid reference"}, {"ask.precision", plainCell, "of a date: day, month or year"},
		{"share", numberCell, "of a hundred finds so many; empty: each"},
		{"ask.or", waysCell, "what does as well: Picture at least 2; Length, Weight"},
		{"ask.given", jsonCell, "true: a reason why it is missing does not do"}}},
	{"Words", "terms", []sheetColumn{{"member", plainCell, "heading or member"},
		{"allowed", listCell, "codes you work with"},
		{"words", wordsCell, "latten = copper-alloy, with commas between them"}}},
	{"Rules", "rules", []sheetColumn{{"rule", plainCell, ""}, {"set", plainCell, "on, off, warning, info"},
		{"reason", textCell, ""}}},
	{"Figures", "settings", []sheetColumn{{"setting", plainCell, ""}, {"value", numberCell, ""},
		{"reason", textCell, ""}}},
	{"Waivers", "waivers", []sheetColumn{{"ask", plainCell, ""}, {"when", whenCell, ""}, {"reason", textCell, ""},
		{"by", plainCell, ""}, {"on", plainCell, ""}, {"until", plainCell, ""}}},
	{"Promises", "promises", []sheetColumn{{"", textCell, "one a row"}}},
	{"Questions", "questions", []sheetColumn{{"question", textCell, ""}, {"answer", textCell, ""}}},
}

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
	if b.style, err = b.f.NewStyle(&excelize.Style{NumFmt: 49,
		Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}); err != nil {
		return err
	}
	if b.bold, err = b.f.NewStyle(&excelize.Style{NumFmt: 49, Font: &excelize.Font{Bold: true, Family: "Calibri",
		Size: 11}}); err != nil {
		return err
	}
	if b.faint, err = b.f.NewStyle(&excelize.Style{NumFmt: 49, Font: &excelize.Font{Italic: true, Color: "595959",
		Family: "Calibri", Size: 11}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}); err != nil {
		return err
	}
	rows := [][]string{{"member", "value", "help"}}
	for _, c := range aboutRows {
		for _, at := range b.spread(c) {
			rows = append(rows, []string{at.path, cellText(get(tree, at.path), at.kind), c.help})
		}
	}
	if err := b.f.SetSheetName("Sheet1", aboutSheet); err != nil {
		return err
	}
	if err := b.rows(aboutSheet, rows); err != nil {
		return err
	}
	for _, part := range listParts {
		if err := b.list(part, tree[part.member]); err != nil {
			return err
		}
	}
	rows = [][]string{{"heading", "field"}, {"what stands above a column", "what it is, as found.date"}}
	if headings, ok := tree["headings"].(map[string]any); ok {
		for _, text := range sortedKeys(headings) {
			rows = append(rows, []string{text, fmt.Sprint(headings[text])})
		}
	}
	return b.rows(headingsSheet, rows)
}

// spread is one column for each language of a text, else the column.
func (b *sheetWriter) spread(c sheetColumn) []sheetColumn {
	if c.kind != textCell {
		return []sheetColumn{c}
	}
	var out []sheetColumn
	for _, language := range b.languages {
		out = append(out, sheetColumn{strings.TrimPrefix(c.path+"."+language, "."), plainCell, c.help})
	}
	return out
}

func (b *sheetWriter) list(part sheetPart, items any) error {
	var head, help []string
	var columns []sheetColumn
	for _, c := range part.columns {
		for _, at := range b.spread(c) {
			columns = append(columns, at)
			head, help = append(head, at.path), append(help, at.help)
		}
	}
	rows := [][]string{head, help}
	list, _ := items.([]any)
	for _, item := range list {
		tree, _ := item.(map[string]any)
		var row []string
		for _, c := range columns {
			row = append(row, cellText(get(tree, c.path), c.kind))
		}
		rows = append(rows, row)
	}
	return b.rows(part.sheet, rows)
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
		ActivePane: "bottomRight"}); err != nil || sheet != listParts[0].sheet {
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
func cellText(v any, kind cellKind) string {
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
			return WriteWhen(&c)
		}
	case membersCell:
		return waysText(raw, kind)
	case waysCell:
		text = waysText(raw, kind)
	case wordsCell:
		words, _ := v.(map[string]any)
		var out []string
		for _, word := range sortedKeys(words) {
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
func waysText(raw []byte, kind cellKind) string {
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
			names = append(names, headingOf(pointer))
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
		if items[i] = MemberOf(item); items[i] == "" {
			return nil, fmt.Errorf("%.40q is no heading and no member that is known", item)
		}
	}
	return slices.Compact(items), nil
}

// ReadSheet reads the workbook that WriteSheet writes, and returns the profile as JSON. What a cell says that cannot
// be read is an error that names sheet and cell.
func ReadSheet(r io.Reader) ([]byte, error) {
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
		if i == 0 || len(row) < 2 || strings.TrimSpace(row[1]) == "" {
			continue
		}
		if err := put1(tree, row[0], row[1], kindAt(aboutRows, row[0])); err != nil {
			return nil, fmt.Errorf("sheet %q, cell B%d: %w", aboutSheet, i+1, err)
		}
	}
	for _, part := range listParts {
		items, err := readPart(f, part)
		if err != nil {
			return nil, err
		}
		if len(items) > 0 {
			tree[part.member] = items
		}
	}
	headings := map[string]any{}
	if rows, err := f.GetRows(headingsSheet); err == nil {
		for i, row := range rows {
			if i > 1 && len(row) > 1 && row[0] != "" {
				headings[row[0]] = row[1]
			}
		}
	}
	if len(headings) > 0 {
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

func readPart(f *excelize.File, part sheetPart) (items []any, err error) {
	rows, err := f.GetRows(part.sheet)
	if err != nil {
		return nil, nil // a sheet that is not needed may be missing
	}
	for i, row := range rows {
		if i < 2 || strings.TrimSpace(strings.Join(row, "")) == "" {
			continue
		}
		item := map[string]any{}
		for k, text := range row {
			if strings.TrimSpace(text) == "" || k >= len(rows[0]) {
				continue
			}
			if err := put1(item, rows[0][k], text, kindAt(part.columns, rows[0][k])); err != nil {
				cell, _ := excelize.CoordinatesToCellName(k+1, i+1)
				return nil, fmt.Errorf("sheet %q, cell %s: %w", part.sheet, cell, err)
			}
		}
		items = append(items, item)
	}
	return items, nil
}

// kindAt is how cells below a heading are written.
func kindAt(columns []sheetColumn, head string) cellKind {
	for _, c := range columns {
		if c.path == head {
			return c.kind
		}
	}
	return plainCell
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
