package render

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/internal/bookfile"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/text"
)

const (
	markAuthor     = "findslip"
	maxComments    = 5000 // beyond, programs for spreadsheets become slow to open
	maxCommentText = 2000 // characters; what does not fit stands in the sheet of notices
	maxCellText    = 32000
	maxSheetRows   = 1 << 20 // rows of a sheet (ECMA-376 part 1, as spreadsheets hold to it)
	maxSheetLinks  = 65000   // links of a sheet that spreadsheets read
)

// Marked tells what Mark did.
type Marked struct {
	Sheet    string   // name of the sheet that lists the notices
	Cells    int      // cells that were filled
	Comments int      // cells that were given a comment
	Left     []string // what could not be done, in words; it also stands in the sheet
}

// Mark writes the sender's own workbook with the notices of the document in it: a cell at fault is
// filled with a pattern, so that it shows without colour, and has a comment, and a sheet at the end has the
// verdict and lists every notice with a link to its cell. A notice of a whole row stands at the first cell of the
// row. What is only good to know stands in the list alone. Everything else stays as it was. A workbook that
// cannot be opened or written is an error, also where the library for workbooks breaks down over it, and then
// nothing is written. Of the limits Marked and Entries are looked at.
func Mark(ctx context.Context, w io.Writer, book io.Reader, d Document, limits limit.Limits) (done Marked, err error) {
	limits = limits.WithDefaults()
	raw, err := limit.ReadAll(book, "marked", limits.Marked)
	if err != nil {
		return Marked{}, fmt.Errorf("marking the workbook: %w", err)
	}
	d.sort()
	if d.Notices, err = d.all(maxSheetRows); err != nil {
		return Marked{}, fmt.Errorf("marking the workbook: %w", err)
	}
	without := map[string]bool{} // sheets whose comments cannot be added to
	for {
		m, out, err := markOnce(ctx, raw, d, without, limits)
		if err != nil {
			return Marked{}, fmt.Errorf("marking the workbook: %w", err)
		}
		bad, err := unkept(ctx, raw, out, m.commented)
		if err != nil {
			return Marked{}, fmt.Errorf("marking the workbook: %w", err)
		}
		if len(bad) == 0 {
			_, err = w.Write(out)
			return m.done, err
		}
		for _, sheet := range bad {
			without[sheet] = true
		}
	}
}

// marker is one attempt.
type marker struct {
	ctx       context.Context // of the one call of Mark
	f         *excelize.File
	without   map[string]bool // sheets that get no comment
	commented map[string]bool // sheets that got one
	cells     map[markCell][]*notice.Notice
	order     []markCell
	styles    map[markStyle]int
	sheets    map[string]string // names of the sheets by the name in lower case
	done      Marked
	speech    *speech
	plainly   func(string) string
}

type markCell struct{ sheet, cell string }

type markStyle struct {
	old  int
	look string
}

// markOnce makes the marked workbook. A breakdown of the library becomes an error.
func markOnce(ctx context.Context, raw []byte, d Document, without map[string]bool, limits limit.Limits) (m *marker,
	out []byte, err error) {
	defer func() {
		if recover() != nil {
			err = errors.New("its contents are not as the standard has it; open it in a spreadsheet program, save it under " +
				"another name and try again")
		}
	}()
	f, err := openBook(ctx, raw, limits)
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	if d.Plainly == nil {
		d.Plainly = func(text string) string { return text }
	}
	m = &marker{ctx: ctx, f: f, speech: speechOf(d.Language), plainly: d.Plainly,
		without: without, commented: map[string]bool{},
		cells: map[markCell][]*notice.Notice{}, styles: map[markStyle]int{}, sheets: map[string]string{}}
	for _, name := range f.GetSheetList() {
		m.sheets[strings.ToLower(name)] = name
	}
	numberShapes(f)
	m.collect(d.Notices)
	if err := m.fill(); err != nil {
		return nil, nil, err
	}
	if err := m.comment(); err != nil {
		return nil, nil, err
	}
	if err := m.list(d); err != nil {
		return nil, nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	var b bytes.Buffer
	if err := bookfile.Write(&b, f); err != nil {
		return nil, nil, err
	}
	return m, b.Bytes(), nil
}

// openBook opens a workbook within the limits, which are asked before the library unpacks anything.
func openBook(ctx context.Context, raw []byte, limits limit.Limits) (*excelize.File, error) {
	if err := unpacks(ctx, raw, limits); err != nil {
		return nil, err
	}
	return excelize.OpenReader(bytes.NewReader(raw),
		excelize.Options{UnzipSizeLimit: limits.Marked, UnzipXMLSizeLimit: limits.Marked})
}

// unpacks proves that an archive has no more files and bytes than the limits allow. It unpacks all
// of it, for what an archive says of its sizes may be a lie.
func unpacks(ctx context.Context, raw []byte, limits limit.Limits) error {
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return fmt.Errorf("it is no workbook, or is damaged: %w", err)
	}
	if int64(len(z.File)) > limits.Entries {
		return limit.Over("entries", limits.Entries)
	}
	left := limits.Marked
	for _, part := range z.File {
		if err := ctx.Err(); err != nil {
			return err
		}
		r, err := part.Open()
		if err != nil {
			return fmt.Errorf("it is damaged: %w", err)
		}
		n, err := io.Copy(io.Discard, limit.Reader(r, "marked", left))
		r.Close()
		left -= n
		switch {
		case limit.Of(err) != nil:
			return limit.Over("marked", limits.Marked)
		case err != nil:
			return fmt.Errorf("it is damaged: %w", err)
		}
	}
	return nil
}

// collect finds the cell of each notice, in the order of the notices. What is only good to know marks no cell.
func (m *marker) collect(list notice.List) {
	for i := range list {
		at, ok := m.cellOf(&list[i])
		if !ok || list[i].Kind.Severity == notice.Info && !list[i].Kind.Caution {
			continue
		}
		if m.cells[at] == nil {
			m.order = append(m.order, at)
		}
		m.cells[at] = append(m.cells[at], &list[i])
	}
	for _, notices := range m.cells {
		slices.SortStableFunc(notices, byGravity)
	}
}

// cellOf returns the cell that a notice belongs to, if it is one of this workbook.
func (m *marker) cellOf(n *notice.Notice) (markCell, bool) {
	sheet, ok := m.sheets[strings.ToLower(n.Sheet)]
	if !ok {
		return markCell{}, false
	}
	cell := n.Cell
	if cell == "" && n.Row > 0 {
		cell = fmt.Sprintf("A%d", n.Row)
	}
	column, row, err := excelize.CellNameToCoordinates(cell)
	if err != nil {
		return markCell{}, false
	}
	cell, err = excelize.CoordinatesToCellName(column, row)
	return markCell{sheet, cell}, err == nil
}

// The patterns by gravity, by their number in the library: each is a texture of its own.
var markFills = map[string]excelize.Fill{
	"caution": {Type: "pattern", Pattern: 16, Color: []string{"B0406A"}}, // light trellis
	"error":   {Type: "pattern", Pattern: 14, Color: []string{"D9433A"}}, // light strokes rising
	"warning": {Type: "pattern", Pattern: 4, Color: []string{"E0A030"}},  // dots
}

// fill gives each cell at fault a pattern, and leaves all else of its style.
func (m *marker) fill() error {
	for _, at := range m.order {
		if err := m.ctx.Err(); err != nil {
			return err
		}
		look := severityWord(m.cells[at][0].Kind)
		if _, ok := markFills[look]; !ok {
			continue
		}
		old, err := m.f.GetCellStyle(at.sheet, at.cell)
		if err != nil {
			return err
		}
		style, err := m.style(old, look)
		if err != nil {
			return err
		}
		if err := m.f.SetCellStyle(at.sheet, at.cell, at.cell, style); err != nil {
			return err
		}
		m.done.Cells++
	}
	return nil
}

// style returns a style like the old one but for its fill.
func (m *marker) style(old int, look string) (int, error) {
	key := markStyle{old, look}
	if id, ok := m.styles[key]; ok {
		return id, nil
	}
	plain, err := m.f.NewStyle(&excelize.Style{Fill: markFills[look]})
	if err != nil {
		return 0, err
	}
	formats := m.f.Styles.CellXfs
	if old < 0 || old >= len(formats.Xf) {
		m.styles[key] = plain
		return plain, nil
	}
	format, applied := formats.Xf[old], true
	format.FillID, format.ApplyFill = formats.Xf[plain].FillID, &applied
	formats.Xf = append(formats.Xf, format)
	formats.Count = len(formats.Xf)
	m.styles[key] = len(formats.Xf) - 1
	return m.styles[key], nil
}

// comment gives cells a comment, the gravest first while there is room. The sender's own comment
// at a cell is kept above ours.
func (m *marker) comment() error {
	own := map[markCell]excelize.Comment{}
	for _, sheet := range m.sheets {
		list, err := m.f.GetComments(sheet)
		if err != nil {
			return err
		}
		for _, c := range list {
			own[markCell{sheet, c.Cell}] = c
		}
	}
	cells := slices.Clone(m.order)
	slices.SortStableFunc(cells, func(a, b markCell) int { return byGravity(m.cells[a][0], m.cells[b][0]) })
	left := 0
	for _, at := range cells {
		if err := m.ctx.Err(); err != nil {
			return err
		}
		if m.without[at.sheet] {
			continue
		}
		if m.done.Comments >= maxComments {
			left++
			continue
		}
		runs := []excelize.RichTextRun{}
		if before, ok := own[at]; ok {
			runs = append(runs, before.Paragraph...)
			if before.Text != "" {
				runs = append(runs, excelize.RichTextRun{Text: before.Text})
			}
			runs = append(runs, excelize.RichTextRun{Text: "\n\n"})
			if err := m.f.DeleteComment(at.sheet, at.cell); err != nil {
				return err
			}
		}
		runs = append(runs, m.commentRuns(m.cells[at])...)
		height := uint(60 + 24*len(runs))
		if err := m.f.AddComment(at.sheet, excelize.Comment{Author: markAuthor, Cell: at.cell, Paragraph: runs, Width: 320,
			Height: min(height, 400)}); err != nil {
			m.without[at.sheet], m.commented[at.sheet] = true, false
			continue
		}
		m.commented[at.sheet] = true
		m.done.Comments++
	}
	if left > 0 {
		m.done.Left = append(m.done.Left,
			fmt.Sprintf("%d more cells have no comment, because a workbook with more than %d is slow to open; they are filled "+
				"where at fault, and all notices are listed", left, maxComments))
	}
	for _, sheet := range slices.Sorted(maps.Keys(m.without)) {
		m.done.Left = append(m.done.Left,
			fmt.Sprintf("sheet %q has comments or drawings that cannot be added to safely, so its cells have no comment of "+
				"ours; they are filled where at fault, and all notices are listed", sheet))
	}
	return nil
}

// shapeID is the name of a shape in a drawing of comments.
var shapeID = text.Pattern(`(<v:shape\s(?:[^>]*\s)?id=")([^"]*)(")`)

// numberShapes gives the shapes of comments names with the numbers by which the library counts on,
// where a program such as LibreOffice has given them others. Nothing refers to such a name.
func numberShapes(f *excelize.File) {
	var names []string
	f.Pkg.Range(func(key, _ any) bool {
		if name, ok := key.(string); ok && strings.HasPrefix(name, "xl/drawings/") && strings.HasSuffix(name, ".vml") {
			names = append(names, name)
		}
		return true
	})
	for _, name := range names {
		held, _ := f.Pkg.Load(name)
		raw, ok := held.([]byte)
		if !ok {
			continue
		}
		next := 0
		for _, id := range shapeID().FindAllSubmatch(raw, -1) {
			if n, err := strconv.Atoi(strings.TrimPrefix(string(id[2]), shapePrefix)); err == nil &&
				strings.HasPrefix(string(id[2]), shapePrefix) {
				next = max(next, n)
			}
		}
		f.Pkg.Store(name, shapeID().ReplaceAllFunc(raw, func(b []byte) []byte {
			part := shapeID().FindSubmatch(b)
			rest, ok := strings.CutPrefix(string(part[2]), shapePrefix)
			if _, err := strconv.Atoi(rest); ok && err == nil {
				return b
			}
			next++
			return fmt.Appendf(nil, "%s%s%d%s", part[1], shapePrefix, next, part[3])
		}))
	}
}

const shapePrefix = "_x0000_s"

// commentRuns writes the notices of one cell.
func (m *marker) commentRuns(notices []*notice.Notice) []excelize.RichTextRun {
	var runs []excelize.RichTextRun
	size, s := 0, m.speech
	for i, n := range notices {
		word := strings.ToUpper(s.text(severityText[severityWord(n.Kind)]))
		say, do := s.one(n)
		text := " " + say
		if do = m.plainly(do); do != "" {
			text += "\n" + do
		}
		if i < len(notices)-1 {
			text += "\n\n"
		}
		if size += utf8.RuneCountInString(text); size > maxCommentText && i > 0 {
			return append(runs, excelize.RichTextRun{Text: s.many("morePlaces", len(notices)-i) + ": " + s.text("markSheet")})
		}
		font := &excelize.Font{Size: 9, Family: "Tahoma"}
		runs = append(runs, excelize.RichTextRun{Text: word, Font: &excelize.Font{Bold: true, Size: 9, Family: "Tahoma"}},
			excelize.RichTextRun{Text: cut(text, maxCommentText), Font: font})
	}
	return runs
}

// severityText are the texts of the frame that name the severities.
var severityText = map[string]string{"caution": "caution", "error": "error", "warning": "warning", "info": "note"}

// one is how a single notice is put: in English as the rule says it, in another language as the code is put there.
func (s *speech) one(n *notice.Notice) (say, do string) {
	say, do = n.Message, n.HelpText()
	if own := s.Codes[n.Kind.Code]; s.english != nil && own.Say != "" {
		say, do = own.Say, strings.TrimPrefix(own.Do, "-")
	}
	say = AsSentence(Clean(say))
	if perhaps := s.proposed(n); perhaps != "" {
		say += " " + perhaps
	}
	return say, Clean(do)
}

// byGravity puts danger first, then cautions, errors, warnings, information.
func byGravity(a, b *notice.Notice) int { return a.Kind.Rank() - b.Kind.Rank() }

// cut shortens a text that does not fit, with a sign that it was cut.
func cut(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most-1]) + "…"
}

// unkept returns the sheets in which the comments are not what they should be after all: those of
// the sender in all sheets that were touched, and ours. It opens what was written as anybody will.
func unkept(ctx context.Context, before, after []byte, commented map[string]bool) (sheets []string, err error) {
	defer func() {
		if recover() != nil {
			err = errors.New("the marked workbook cannot be read again")
		}
	}()
	old, err := openBook(ctx, before, limit.Limits{Marked: -1, Entries: -1}.WithDefaults())
	if err != nil {
		return nil, err
	}
	defer old.Close()
	marked, err := openBook(ctx, after, limit.Limits{Marked: -1, Entries: -1}.WithDefaults())
	if err != nil {
		return nil, err
	}
	defer marked.Close()
	for _, sheet := range slices.Sorted(maps.Keys(commented)) {
		if !commented[sheet] {
			continue
		}
		was, err := old.GetComments(sheet)
		if err != nil {
			return nil, err
		}
		is, err := marked.GetComments(sheet)
		if err != nil {
			return nil, err
		}
		text := map[string]string{}
		for _, c := range is {
			text[c.Cell] = commentText(c)
		}
		lost := !slices.ContainsFunc(is, func(c excelize.Comment) bool { return c.Author == markAuthor })
		for _, c := range was {
			lost = lost || !strings.HasPrefix(text[c.Cell], commentText(c))
		}
		if lost {
			sheets = append(sheets, sheet)
		}
	}
	return sheets, nil
}

func commentText(c excelize.Comment) string {
	var b strings.Builder
	for _, r := range c.Paragraph {
		b.WriteString(r.Text)
	}
	return b.String() + c.Text
}

// list adds the sheet that lists every notice.
func (m *marker) list(d Document) error {
	title := m.speech.text("markSheet")
	name := title
	for i := 2; m.sheets[strings.ToLower(name)] != ""; i++ {
		name = fmt.Sprintf("%s %d", title, i)
	}
	m.done.Sheet = name
	if _, err := m.f.NewSheet(name); err != nil {
		return err
	}
	m.done.Sheet = name
	return (&noticeSheet{m: m, name: name}).write(d)
}
