package render

import (
	"bytes"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
)

// sendersBook is a workbook as a finder keeps it: colours, a formula, comments, a second sheet.
func sendersBook(t *testing.T) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	try := func(errs ...error) {
		t.Helper()
		for _, err := range errs {
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	number := "0.00"
	loud, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Italic: true, Color: "990000"}, CustomNumFmt: &number,
		Fill:   excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"FFFF00"}},
		Border: []excelize.Border{{Type: "left", Color: "00FF00", Style: 2}}})
	try(err, f.SetSheetName("Sheet1", "Season's log"))
	for i, row := range [][]any{{"No", "Name", "Depth"}, {"1", "crotal bell", 15}, {"2", "cloth seal", 250},
		{"3", "thimble", 12}} {
		try(f.SetSheetRow("Season's log", fmt.Sprintf("A%d", i+1), &row))
	}
	try(f.SetCellFormula("Season's log", "C5", "SUM(C2:C4)"), f.SetCellStyle("Season's log", "C3", "C4", loud),
		f.SetColWidth("Season's log", "B", "B", 33), f.SetRowHeight("Season's log", 3, 40),
		f.MergeCell("Season's log", "E1", "F2"),
		f.AddComment("Season's log", excelize.Comment{Author: "finder-a", Cell: "C3", Text: "see photo 12"}),
		f.AddComment("Season's log", excelize.Comment{Author: "finder-a", Cell: "B2", Text: "the best one"}))
	_, err = f.NewSheet("Findslip notices")
	try(err, f.SetCellStr("Findslip notices", "A1", "my own sheet of that name"))
	f.SetActiveSheet(1)
	var b bytes.Buffer
	try(f.Write(&b))
	return b.Bytes()
}

func markedNotices() Document {
	at := func(k *notice.Kind, message, cell string, row, column int) notice.Notice {
		return notice.Notice{Kind: k, Message: message,
			Location: notice.Location{File: "log.xlsx", Sheet: "Season's log", Cell: cell, Row: row, Column: column,
				Find: fmt.Sprint(row - 1)}}
	}
	info := &notice.Kind{Code: "code-own", Severity: notice.Info, Title: "no scheme", Help: "Name it."}
	return Document{Tool: "findslip 1.0", Finds: 3, Notices: notice.List{
		at(unit, "deeper than 200 cm", "C3", 3, 3), at(bad, "\x1b not <understood>", "C3", 3, 3),
		at(info, "a period alone", "B4", 4, 2),
		at(unit, "the row says little", "", 4, 0),
		{Kind: shell, Message: "nobody knows", Location: notice.Location{Pointer: "/permissions/0/jurisdiction"}},
		{Kind: unit, Message: "a sheet that is not there", Location: notice.Location{Sheet: "Other", Cell: "A1", Row: 1}},
	}}
}

func TestMark(t *testing.T) {
	book := sendersBook(t)
	var out bytes.Buffer
	done, err := Mark(t.Context(), &out, bytes.NewReader(book), markedNotices(), limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if done.Sheet != "Findslip notices 2" || done.Cells != 2 || done.Comments != 2 || len(done.Left) != 0 {
		t.Errorf("done: %+v", done)
	}
	before, after := open(t, book), open(t, out.Bytes())
	const sheet = "Season's log"
	filled := map[string]bool{"C3": true, "A4": true}
	for row := 1; row <= 6; row++ {
		for column := 1; column <= 7; column++ {
			cell, _ := excelize.CoordinatesToCellName(column, row)
			same(t, cell+" value", value(t, before, sheet, cell), value(t, after, sheet, cell))
			was, is := style(t, before, sheet, cell), style(t, after, sheet, cell)
			if filled[cell] {
				if is.Fill.Type != "pattern" || is.Fill.Pattern < 2 {
					t.Errorf("%s has the fill %+v, which is no texture", cell, is.Fill)
				}
				was.Fill, is.Fill = excelize.Fill{}, excelize.Fill{}
			}
			same(t, cell+" style", was, is)
		}
	}
	for _, column := range []string{"A", "B", "C"} {
		was, _ := before.GetColWidth(sheet, column)
		is, _ := after.GetColWidth(sheet, column)
		same(t, "width of "+column, was, is)
	}
	was, _ := before.GetRowHeight(sheet, 3)
	is, _ := after.GetRowHeight(sheet, 3)
	same(t, "height", was, is)
	merged, _ := after.GetMergeCells(sheet)
	same(t, "merged cells", 1, len(merged))
	same(t, "the sheet shown", before.GetActiveSheetIndex(), after.GetActiveSheetIndex())
	same(t, "the own sheet of that name", "my own sheet of that name", value(t, after, "Findslip notices", "A1")[0])

	comments := map[string]string{}
	list, err := after.GetComments(sheet)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		comments[c.Cell] = commentText(c)
	}
	for cell, parts := range map[string][]string{
		"B2": {"the best one"},
		"C3": {"see photo 12", "WRONG \ufffd not <understood>.", "Look at the calendar.", "SECOND LOOK Deeper than 200 cm.",
			"Write 8 in or 20 cm."},
		"A4": {"SECOND LOOK The row says little."},
	} {
		rest := comments[cell]
		for _, part := range parts {
			_, after, found := strings.Cut(rest, part)
			if !found {
				t.Errorf("the comment at %s is %q and lacks %q in its place", cell, comments[cell], part)
			}
			rest = after
		}
	}
	if len(comments) != 3 {
		t.Errorf("comments at %v", comments)
	}
	checkList(t, after, done.Sheet)
}

// checkList looks at the sheet of notices: each is there, with a link to its cell where it has one.
func checkList(t *testing.T, f *excelize.File, sheet string) {
	t.Helper()
	rows, err := f.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	links := map[string]string{}
	for i, r := range rows {
		if len(r) > 4 {
			_, target, err := f.GetCellHyperLink(sheet, fmt.Sprintf("B%d", i+1))
			if err != nil {
				t.Fatal(err)
			}
			links[r[0]+"|"+r[4]] = target
		}
	}
	want := map[string]string{
		"How grave|What was found":                 "",
		"◆ caution|Nobody knows.":                  "",
		"▲ second look|Deeper than 200 cm.":        "'Season''s log'!C3",
		"● wrong|\ufffd not <understood>.":         "'Season''s log'!C3",
		"○ good to know|A period alone.":           "'Season''s log'!B4",
		"▲ second look|The row says little.":       "'Season''s log'!A4",
		"▲ second look|A sheet that is not there.": "",
	}
	same(t, "list of notices", want, links)
}

func TestMarkGivesTheSameBytes(t *testing.T) {
	book := sendersBook(t)
	var want []byte
	for range 5 {
		var out bytes.Buffer
		if _, err := Mark(t.Context(), &out, bytes.NewReader(book), markedNotices(), limit.Limits{}); err != nil {
			t.Fatal(err)
		}
		if want == nil {
			want = out.Bytes()
		} else if !bytes.Equal(want, out.Bytes()) {
			t.Fatal("two runs differ")
		}
	}
}

func TestMarkOfWhatIsNoWorkbook(t *testing.T) {
	for _, text := range []string{"", "PK\x03\x04", "Number;Name\n1;bell\n"} {
		var out bytes.Buffer
		if _, err := Mark(t.Context(), &out, strings.NewReader(text), markedNotices(), limit.Limits{}); err == nil ||
			out.Len() > 0 {
			t.Errorf("%q is marked: %v, %d bytes", text, err, out.Len())
		}
	}
}

func TestMarkSaysWhereCommentsEnd(t *testing.T) {
	d := Document{Tool: "findslip 1.0"}
	for i := range maxComments + 7 {
		d.Notices.Add(notice.Notice{Kind: unit, Message: "no unit",
			Location: notice.Location{Sheet: "Season's log", Cell: fmt.Sprintf("D%d", i+2), Row: i + 2, Column: 4}})
	}
	var out bytes.Buffer
	done, err := Mark(t.Context(), &out, bytes.NewReader(sendersBook(t)), d, limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if done.Comments != maxComments || done.Cells != maxComments+7 || len(done.Left) != 1 ||
		!strings.HasPrefix(done.Left[0], "7 more cells") {
		t.Errorf("%d comments, %d cells, left %q", done.Comments, done.Cells, done.Left)
	}
	if got := value(t, open(t, out.Bytes()), done.Sheet, "A3")[0]; !strings.Contains(got, "7 more cells") {
		t.Errorf("the sheet does not say so: %q", got)
	}
}

func open(t *testing.T, raw []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func value(t *testing.T, f *excelize.File, sheet, cell string) [2]string {
	t.Helper()
	v, err := f.GetCellValue(sheet, cell)
	if err != nil {
		t.Fatal(err)
	}
	formula, err := f.GetCellFormula(sheet, cell)
	if err != nil {
		t.Fatal(err)
	}
	return [2]string{v, formula}
}

func style(t *testing.T, f *excelize.File, sheet, cell string) excelize.Style {
	t.Helper()
	id, err := f.GetCellStyle(sheet, cell)
	if err != nil {
		t.Fatal(err)
	}
	s, err := f.GetStyle(id)
	if err != nil {
		t.Fatal(err)
	}
	return *s
}

func same[T any](t *testing.T, what string, want, got T) {
	t.Helper()
	if !reflect.DeepEqual(want, got) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// reshaped is the sender's workbook with another text for the shapes of its comments.
func reshaped(t *testing.T, change func(string) string) []byte {
	t.Helper()
	f := open(t, sendersBook(t))
	const name = "xl/drawings/vmlDrawing1.vml"
	held, _ := f.Pkg.Load(name)
	was := string(held.([]byte))
	is := change(was)
	if was == is {
		t.Fatalf("nothing to change in %s", was)
	}
	f.Pkg.Store(name, []byte(is))
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// LibreOffice names the shapes of comments shape_0.
func TestMarkAfterLibreOffice(t *testing.T) {
	book := reshaped(t, strings.NewReplacer(`id="_x0000_s1025"`, `id="shape_0"`, `id="_x0000_s1026"`,
		`o:x="y" id="shape_0"`).Replace)
	var out bytes.Buffer
	done, err := Mark(t.Context(), &out, bytes.NewReader(book), markedNotices(), limit.Limits{})
	if err != nil || done.Comments != 2 || len(done.Left) != 0 {
		t.Fatalf("%+v, %v", done, err)
	}
	list, err := open(t, out.Bytes()).GetComments("Season's log")
	if err != nil || len(list) != 3 {
		t.Errorf("%d comments, %v", len(list), err)
	}
}

// Where the comments of a sheet cannot be added to, the sender's stay, and it is reported.
func TestMarkWithoutComments(t *testing.T) {
	for name, change := range map[string]func(string) string{
		"other quotes": func(s string) string { return strings.Replace(s, `id="_x0000_s1025"`, `id='shape_0'`, 1) },
		"no drawing":   func(string) string { return "<xml/>" },
		"broken":       func(string) string { return "<xml><v:shape" },
	} {
		var out bytes.Buffer
		done, err := Mark(t.Context(), &out, bytes.NewReader(reshaped(t, change)), markedNotices(), limit.Limits{})
		if err != nil {
			if out.Len() > 0 {
				t.Errorf("%s: something was written beside the error %v", name, err)
			}
			continue
		}
		f := open(t, out.Bytes())
		list, err := f.GetComments("Season's log")
		if err != nil {
			t.Fatal(err)
		}
		texts := map[string]string{}
		for _, c := range list {
			texts[c.Cell] = commentText(c)
		}
		if !strings.HasPrefix(texts["C3"], "see photo 12") || texts["B2"] != "the best one" {
			t.Errorf("%s: the sender's comments are now %v", name, texts)
		}
		if done.Comments == 0 && (done.Cells != 2 || len(done.Left) != 1 ||
			!strings.Contains(value(t, f, done.Sheet, "A3")[0], "cannot be added to safely")) {
			t.Errorf("%s: %+v", name, done)
		}
		if done.Comments != 0 && len(list) != 3 {
			t.Errorf("%s: %d comments of %d", name, len(list), done.Comments)
		}
	}
}
