package render

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/notice"
)

// noticeSheet writes the sheet of a marked workbook that lists every notice.
type noticeSheet struct {
	m                   *marker
	name                string
	row                 int // the last one written
	links               int
	heading, text, link int // styles
}

// The columns of the list with their widths in characters.
var noticeColumns = []struct {
	title string
	width float64
}{{"Severity", 12}, {"Place", 18}, {"Find", 12}, {"Column", 18}, {"What was found", 60}, {"What to do", 60}, {"Code", 26}}

func (l *noticeSheet) write(d Document) error {
	d.Deadlines.Sort()
	if err := l.prepare(); err != nil {
		return err
	}
	if err := l.line(fmt.Sprintf("%s: %s. The marks, the comments of %q and this sheet may be taken out again; nothing else was changed.", Clean(d.Tool), tally(d), markAuthor)); err != nil {
		return err
	}
	if err := l.deadlines(d); err != nil {
		return err
	}
	for _, left := range l.m.done.Left {
		if err := l.line("Not done: " + left + "."); err != nil {
			return err
		}
	}
	l.row++
	head := l.row
	for i, c := range noticeColumns {
		if err := l.cell(i+1, c.title, l.heading); err != nil {
			return err
		}
	}
	if err := l.m.f.SetPanes(l.name, &excelize.Panes{Freeze: true, YSplit: head, TopLeftCell: "A" + strconv.Itoa(head+1), ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := l.notices(d); err != nil {
		return err
	}
	if l.row > head {
		if err := l.m.f.AutoFilter(l.name, fmt.Sprintf("A%d:G%d", head, l.row), nil); err != nil {
			return err
		}
	}
	fit := true // after the filter, which begins the properties of the sheet anew
	return l.m.f.SetSheetProps(l.name, &excelize.SheetPropsOptions{FitToPage: &fit})
}

// deadlines writes the time limits to report above the table, a line each.
func (l *noticeSheet) deadlines(d Document) error {
	if len(d.Deadlines) == 0 {
		return nil
	}
	if err := l.line("Time limits to report, by day. " + DeadlineNote); err != nil {
		return err
	}
	groups := foldDue(d.Deadlines)
	for i, g := range groups {
		if i == mostDue {
			return l.line(fmt.Sprintf("and %s; write the report as CSV or JSON", plural(len(groups)-i, "more time limit")))
		}
		if err := l.line(fmt.Sprintf("%s: %s, %s; %s. %s", dueDay(g.first), g.first.What, dueFinds(g.finds, fewPlaces), dueStanding(g.first), dueSource(g.first))); err != nil {
			return err
		}
	}
	return nil
}

func (l *noticeSheet) prepare() error {
	top := &excelize.Alignment{WrapText: true, Vertical: "top"}
	var err error
	for _, s := range []struct {
		at    *int
		style excelize.Style
	}{
		{&l.heading, excelize.Style{NumFmt: 49, Font: &excelize.Font{Bold: true}, Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}}},
		{&l.text, excelize.Style{NumFmt: 49, Alignment: top}},
		{&l.link, excelize.Style{NumFmt: 49, Alignment: top, Font: &excelize.Font{Underline: "single", Color: "1F4E8C"}}},
	} {
		if *s.at, err = l.m.f.NewStyle(&s.style); err != nil {
			return err
		}
	}
	wide, one, many := "landscape", 1, 0
	if err := l.m.f.SetPageLayout(l.name, &excelize.PageLayoutOptions{Orientation: &wide, FitToWidth: &one, FitToHeight: &many}); err != nil {
		return err
	}
	for i, c := range noticeColumns {
		letter, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := l.m.f.SetColWidth(l.name, letter, letter, c.width); err != nil {
			return err
		}
	}
	return nil
}

// notices writes a row for each notice, cautions first, and then those accepted with a reason.
func (l *noticeSheet) notices(d Document) error {
	list := make([]*notice.Notice, 0, len(d.Notices)+len(d.Accepted))
	for i := range d.Notices {
		list = append(list, &d.Notices[i])
	}
	slices.SortStableFunc(list, func(a, b *notice.Notice) int {
		if a.Kind.Danger() != b.Kind.Danger() || a.Kind.Caution != b.Kind.Caution {
			return byGravity(a, b)
		}
		return 0
	})
	for i := range d.Accepted {
		list = append(list, &d.Accepted[i])
	}
	for i, n := range list {
		if err := l.m.ctx.Err(); err != nil {
			return err
		}
		if l.row+2 >= maxSheetRows && i < len(list)-1 {
			return l.line(fmt.Sprintf("and %d more, for which a sheet has no rows; write the report as JSON", len(list)-i))
		}
		if err := l.notice(n); err != nil {
			return err
		}
	}
	return nil
}

func (l *noticeSheet) notice(n *notice.Notice) error {
	l.row++
	severity, help := severityMark(n.Kind)+" "+severityWord(n.Kind), n.HelpText()
	if n.Accepted != "" {
		severity, help = "accepted", "Accepted because: "+acceptedWords(n)
	}
	place, style := placeWords(n), l.text
	at, linked := l.m.cellOf(n)
	if linked && l.links < maxSheetLinks {
		l.links++
		style = l.link
		cell := "B" + strconv.Itoa(l.row)
		target := "'" + strings.ReplaceAll(at.sheet, "'", "''") + "'!" + at.cell
		if err := l.m.f.SetCellHyperLink(l.name, cell, target, "Location"); err != nil {
			return err
		}
	}
	lines := 1
	for i, text := range []string{severity, place, n.Find, n.Heading, sentence(n), help, n.Kind.Code} {
		of := l.text
		if i == 1 {
			of = style
		}
		if err := l.cell(i+1, text, of); err != nil {
			return err
		}
		lines = max(lines, (utf8.RuneCountInString(text)+int(noticeColumns[i].width)-1)/int(noticeColumns[i].width))
	}
	if lines == 1 {
		return nil
	}
	// Not every program makes a row as high as its text when it opens a file.
	return l.m.f.SetRowHeight(l.name, l.row, min(float64(lines)*lineHeight, maxRowHeight))
}

const (
	lineHeight   = 15.0 // points
	maxRowHeight = 400  // points; a row holds at most 409 (ECMA-376 part 1, as spreadsheets hold to it)
)

// line writes a line of text above or below the table.
func (l *noticeSheet) line(text string) error {
	l.row++
	return l.m.f.SetCellStr(l.name, "A"+strconv.Itoa(l.row), cut(Clean(text), maxCellText))
}

func (l *noticeSheet) cell(column int, text string, style int) error {
	at, err := excelize.CoordinatesToCellName(column, l.row)
	if err != nil {
		return err
	}
	if err := l.m.f.SetCellStr(l.name, at, cut(Clean(text), maxCellText)); err != nil {
		return err
	}
	return l.m.f.SetCellStyle(l.name, at, at, style)
}

// tally counts the notices in words.
func tally(d Document) string {
	return fmt.Sprintf("%s, %s, %s, %d for information", plural(d.Notices.Cautions(), "caution"), plural(d.Notices.Count(notice.Error), "error"),
		plural(d.Notices.Count(notice.Warning), "warning"), d.Notices.Count(notice.Info))
}
