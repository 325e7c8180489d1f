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

// The columns of the list: their names in the frame, with their widths in characters.
var noticeColumns = []struct {
	title string
	width float64
}{{"listSeverity", 14}, {"listPlace", 18}, {"headFind", 12}, {"listColumn", 18}, {"listSay", 60}, {"listDo", 60},
	{"listCode", 26}}

func (l *noticeSheet) write(d Document) error {
	if err := l.prepare(); err != nil {
		return err
	}
	if err := l.verdict(&d); err != nil {
		return err
	}
	l.row++
	head := l.row
	for i, c := range noticeColumns {
		if err := l.cell(i+1, l.m.speech.text(c.title), l.heading); err != nil {
			return err
		}
	}
	if err := l.m.f.SetPanes(l.name, &excelize.Panes{Freeze: true, YSplit: head, TopLeftCell: "A" + strconv.Itoa(head+1),
		ActivePane: "bottomLeft"}); err != nil {
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

// verdict writes what the check comes to above the table, a line each, as the other forms have it.
func (l *noticeSheet) verdict(d *Document) error {
	v, s := d.Verdict(d.Language), l.m.speech
	lines := append(slices.Clone(v.Lines), s.text("markNote", "tool", Clean(d.Tool), "author", markAuthor))
	for _, left := range l.m.done.Left {
		lines = append(lines, s.text("notDone", "what", left))
	}
	part := func(title string, jobs []Job) {
		if len(jobs) > 0 {
			lines = append(lines, title)
		}
		for i, job := range jobs {
			if i == mostJobs {
				lines = append(lines, "    "+strings.TrimSuffix(s.many("moreJobs", len(jobs)-i), ": --all"))
				break
			}
			lines = append(lines, strings.TrimSpace("    "+v.places(job.Group, naming{sheets: len(l.m.sheets) > 1}, mostPlaces)+
				": "+AsSentence(job.Say)+" "+AsSentence(job.Do)))
		}
	}
	part(s.text("safety"), v.Safety)
	part(s.text("law"), v.Law)
	if len(d.Deadlines) > 0 {
		lines = append(lines, s.text("deadlines")+" "+s.text("deadlineNote"))
		for i, g := range foldDue(d.Deadlines) {
			if i == mostJobs {
				break
			}
			lines = append(lines, fmt.Sprintf("    %s: %s. %s", dueDay(g.first), s.due(g, mostPlaces), dueSource(g.first)))
		}
	}
	part(s.text("wrong"), v.Wrong)
	part(s.text("lookAt"), v.Look)
	part(s.text("about"), v.About)
	if text := v.ReadText(); text != "" {
		lines = append(lines, text)
	}
	if text := v.UncheckedText(); text != "" {
		lines = append(lines, s.text("notChecked", "what", text))
	}
	if text := v.Good(); text != "" {
		lines = append(lines, text)
	}
	for _, text := range lines {
		if err := l.line(text); err != nil {
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
		{&l.heading, excelize.Style{NumFmt: 49, Font: &excelize.Font{Bold: true},
			Border: []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}}},
		{&l.text, excelize.Style{NumFmt: 49, Alignment: top}},
		{&l.link, excelize.Style{NumFmt: 49, Alignment: top, Font: &excelize.Font{Underline: "single", Color: "1F4E8C"}}},
	} {
		if *s.at, err = l.m.f.NewStyle(&s.style); err != nil {
			return err
		}
	}
	wide, one, many := "landscape", 1, 0
	if err := l.m.f.SetPageLayout(l.name, &excelize.PageLayoutOptions{Orientation: &wide, FitToWidth: &one,
		FitToHeight: &many}); err != nil {
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

// notices writes a row for each notice, gravest first, and then those accepted with a reason.
func (l *noticeSheet) notices(d Document) error {
	list := make([]*notice.Notice, 0, len(d.Notices)+len(d.Accepted))
	for i := range d.Notices {
		list = append(list, &d.Notices[i])
	}
	slices.SortStableFunc(list, func(a, b *notice.Notice) int {
		return byGravity(a, b)
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
	s := l.m.speech
	say, help := s.one(n)
	severity := severityMark(n.Kind) + " " + s.text(severityText[severityWord(n.Kind)])
	if n.Accepted != "" {
		severity, help = s.text("isAccepted"), acceptedWords(n)
	}
	place, style := s.place(n, naming{sheets: len(l.m.sheets) > 1}), l.text
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
	for i, text := range []string{severity, place, n.Find, n.Heading, say, help, n.Kind.Code} {
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
	return l.m.f.SetCellStr(l.name, "A"+strconv.Itoa(l.row), cut(Clean(l.m.plainly(text)), maxCellText))
}

func (l *noticeSheet) cell(column int, text string, style int) error {
	at, err := excelize.CoordinatesToCellName(column, l.row)
	if err != nil {
		return err
	}
	if err := l.m.f.SetCellStr(l.name, at, cut(Clean(l.m.plainly(text)), maxCellText)); err != nil {
		return err
	}
	return l.m.f.SetCellStyle(l.name, at, at, style)
}
