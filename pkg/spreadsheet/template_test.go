package spreadsheet

import (
	"bytes"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/vocabulary"
)

func template(t *testing.T, o TemplateOptions) *excelize.File {
	t.Helper()
	var b bytes.Buffer
	if err := Template(&b, o); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func TestTemplateSheets(t *testing.T) {
	f := template(t, TemplateOptions{Unit: "in"})
	if d := cmp.Diff([]string{"Finds", "People", "Permissions", "Report", listSheet}, f.GetSheetList()); d != "" {
		t.Error(d)
	}
	for sheet, want := range map[string]bool{"Finds": true, "People": true, "Permissions": true, "Report": true,
		listSheet: false} {
		if got, err := f.GetSheetVisible(sheet); err != nil || got != want {
			t.Errorf("%s is shown: %v, %v", sheet, got, err)
		}
	}
	want := [][]string{
		{"Number", "Date found", "Find", "Depth [in]", "Depth basis", "Grid reference", "Position method", "Material",
			"Count", "Finder", "Permission", "Notes"},
		{"example", "2026-04-12", "crotal bell", "7-9", "measured with a tape", "SP 5270 9011", "phone, open sky",
			"copper alloy", "1", "finder-a", "Long Furlong", "still rattles"},
	}
	if d := cmp.Diff(want, sheetRows(t, f, "Finds")); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([][]string{{"Person id", "Name", "Handle", "Role", "Contact", "May the recorder have my name?"}},
		sheetRows(t, f, "People")); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([][]string{{"Permission id", "Permission", "Parish", "Jurisdiction", "Permission type", "Granted by",
		"Occupier", "Valid from", "Valid to", "Land use", "Plough depth", "Greatest depth", "Terms"}},
		sheetRows(t, f, "Permissions")); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([][]string{{"member", "value"}, {"findslip", "1.0"}, {"language", "en"}, {"title"},
		{"template", "1.0"}, {"template unit", "in"}}, sheetRows(t, f, "Report")); d != "" {
		t.Error(d)
	}
	for _, sheet := range []string{"Finds", "People", "Permissions"} {
		if panes, err := f.GetPanes(sheet); err != nil || !panes.Freeze || panes.YSplit != 1 {
			t.Errorf("%s: the headings are not frozen: %+v, %v", sheet, panes, err)
		}
	}
}

// Cells are text (format 49, "@": ECMA-376 part 1, 18.8.30), and the example looks like one.
func TestTemplateCellsAreText(t *testing.T) {
	f := template(t, TemplateOptions{Full: true})
	for i := range sheetRows(t, f, "Finds")[0] {
		letters := find.ColumnLetters(i + 1)
		index, err := f.GetColStyle("Finds", letters)
		if err != nil {
			t.Fatal(err)
		}
		if style, err := f.GetStyle(index); err != nil || style.NumFmt != 49 {
			t.Errorf("column %s has format %d, %v", letters, style.NumFmt, err)
		}
		if index, err = f.GetCellStyle("Finds", letters+"2"); err != nil {
			t.Fatal(err)
		}
		if style, err := f.GetStyle(index); err != nil || style.NumFmt != 49 || style.Font == nil || !style.Font.Italic {
			t.Errorf("the example in %s is not italic text: %+v, %v", letters, style, err)
		}
	}
}

// Each list of a drop-down stands on the hidden sheet, in the language, and each of its lines is
// read as the code it stands for.
func TestTemplateLists(t *testing.T) {
	reference := regexp.MustCompile(`^'` + listSheet + `'!\$([A-Z]+)\$1:\$([A-Z]+)\$([0-9]+)$`)
	for _, lang := range templateLanguages() {
		f := template(t, TemplateOptions{Full: true, Language: lang})
		lists := sheetColumns(t, f, listSheet)
		heads := sheetRows(t, f, "Finds")[0]
		offered := 0
		validations, err := f.GetDataValidations("Finds")
		if err != nil {
			t.Fatal(err)
		}
		if len(validations) != len(heads) {
			t.Errorf("%s: %d columns of %d have help", lang, len(validations), len(heads))
		}
		for _, v := range validations {
			letters, _, _ := strings.Cut(v.Sqref, "2:")
			column, err := excelize.ColumnNameToNumber(letters)
			if err != nil {
				t.Fatal(err)
			}
			field := heading.Understand(heads[column-1]).Field
			path, err := find.PathTo[find.Find](field)
			if err != nil {
				t.Fatalf("%s: the heading %q: %v", lang, heads[column-1], err)
			}
			if v.Prompt == nil || *v.Prompt == "" || utf8.RuneCountInString(*v.Prompt) > mostHelp ||
				utf8.RuneCountInString(*v.PromptTitle) > mostTitle {
				t.Errorf("%s, %s: no help, or more than is shown", lang, field)
			}
			if v.ShowErrorMessage {
				t.Errorf("%s, %s: other words are refused", lang, field)
			}
			if path.Field.List == "" {
				if v.Formula1 != "" {
					t.Errorf("%s, %s: a list is offered: %s", lang, field, v.Formula1)
				}
				continue
			}
			offered++
			scheme := vocabulary.Get(path.Field.List)
			m := reference.FindStringSubmatch(strings.TrimSuffix(strings.TrimPrefix(v.Formula1, "<formula1>"), "</formula1>"))
			if m == nil || m[1] != m[2] || m[3] != fmt.Sprint(len(scheme.Concepts)) {
				t.Errorf("%s, %s: the list is %q", lang, field, v.Formula1)
				continue
			}
			column, err = excelize.ColumnNameToNumber(m[1])
			if err != nil {
				t.Fatal(err)
			}
			for j, line := range lists[column-1] {
				if got, ok := scheme.Match(line); !ok || got.Code != scheme.Concepts[j].Code {
					t.Errorf("%s, %s: %q stands for %s and is read as %q", lang, field, line, scheme.Concepts[j].Code, got.Code)
				}
			}
		}
		if offered < 15 {
			t.Errorf("%s: only %d lists", lang, offered)
		}
		if word := exampleOf("number", lang); !isExample(word) || !isExample(strings.ToUpper(word)) {
			t.Errorf("%s: the example %q would be taken for a find", lang, word)
		}
	}
}

func sheetColumns(t *testing.T, f *excelize.File, sheet string) [][]string {
	t.Helper()
	columns, err := f.GetCols(sheet)
	if err != nil {
		t.Fatal(err)
	}
	for i := range columns {
		for len(columns[i]) > 0 && columns[i][len(columns[i])-1] == "" {
			columns[i] = columns[i][:len(columns[i])-1]
		}
	}
	return columns
}

func TestTemplateHeadings(t *testing.T) {
	full := 0
	for _, lang := range templateLanguages() {
		for _, unit := range []string{"cm", "in"} {
			heads := sheetRows(t, template(t, TemplateOptions{Full: true, Language: lang, Unit: unit}), "Finds")[0]
			fields := map[string]string{}
			for _, h := range heads {
				m := heading.Understand(h)
				if m.Field == "" || fields[m.Field] != "" {
					t.Errorf("%s: %q is taken for %q, as is %q", lang, h, m.Field, fields[m.Field])
				}
				fields[m.Field] = h
				path, err := find.PathTo[find.Find](m.Field)
				if err != nil {
					t.Fatal(err)
				}
				want := ""
				if path.Field.Kind == find.QuantityText {
					want = strings.Replace(path.Field.Unit, "cm", unit, 1)
				} else if m.Field == "position.uncertainty" {
					want = "m"
				}
				if m.Hints.Unit != want {
					t.Errorf("%s: %q states the unit %q, want %q", lang, h, m.Hints.Unit, want)
				}
			}
			full = len(heads)
		}
	}
	if full < 45 {
		t.Errorf("the full template has only %d columns", full)
	}
}

// A template that somebody has filled in is read as it was meant.
func TestTemplateFilledIn(t *testing.T) {
	f := template(t, TemplateOptions{Unit: "in", Language: "de"})
	rows := [][]any{
		{"007", "2026-04-12", "Schelle", "7-9", "mit Maßband gemessen", "SP 5270 9011", "", "", "1", "finder-a",
			"Long Furlong", ""},
		{"8", "", "Knopf", "20 cm", "", "", "", "", "", "finder-b", "", "gelb"},
	}
	for i, row := range rows {
		if err := f.SetSheetRow("Finds", fmt.Sprintf("A%d", i+3), &row); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SetSheetRow("People", "A2", &[]any{"person-1", "", "finder-b"}); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	s, err := DecodeXLSX(bytes.NewReader(b.Bytes()), int64(b.Len()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for e, err := range s.Entries {
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, fmt.Sprintf("%d %s %s %s %s", e.Origin.Row, e.Find.Number, e.Find.Depth.Verbatim,
			e.Origin.Layout.HintsAt("/depth").Unit, e.Find.Finder))
	}
	if d := cmp.Diff([]string{"3 007 7-9 in person-2", "4 8 20 cm in person-1"}, got); d != "" {
		t.Error(d)
	}
	if s.Report.Language != "de" || len(s.Notices) > 0 {
		t.Errorf("language %q, notices %v", s.Report.Language, codes(s.Notices))
	}
}

// What the help tells people to write is read.
func TestTemplateHelpIsTrue(t *testing.T) {
	en := templateLabels()["en"].Template
	for _, lang := range templateLanguages() {
		have := templateLabels()[lang].Template
		for _, pair := range [...][2]map[string]string{{en.Help, have.Help}, {en.HelpOf, have.HelpOf}} {
			for name, text := range pair[0] {
				s := pair[1][name]
				if s == "" || utf8.RuneCountInString(s) > mostHelp || strings.Contains(s, "UNIT") != strings.Contains(text,
					"UNIT") {
					t.Errorf("%s in %s: %q", name, lang, s)
				}
			}
		}
	}
	between := func(s string) []string {
		s = s[strings.Index(s, ":")+1:]
		return strings.Split(strings.Trim(s[:strings.LastIndexByte(s, '.')], ". "), ", ")
	}
	for _, lang := range templateLanguages() {
		help := templateLabels()[lang].Template.Help
		depth := strings.Split(help["depth"], ".")
		words := strings.Split(strings.NewReplacer("ca. ", "ca ", "ok. ", "ok ").Replace(help["depth"]), ". ")
		for _, s := range between(words[0] + ".") {
			if r, err := quantity.NormaliseLength(s, quantity.Options{Into: quantity.CM, Default: quantity.IN}); err != nil ||
				r.IsZero() {
				t.Errorf("%s: the depth %q is not read: %v", lang, s, err)
			}
		}
		_, none, _ := strings.Cut(depth[len(depth)-2], ":")
		if r, err := quantity.NormaliseLength(strings.TrimSpace(none), quantity.Options{Into: quantity.CM}); err != nil ||
			r.Absent != "not-measured" {
			t.Errorf("%s: %q is read as %+v, %v", lang, none, r, err)
		}
		for _, s := range between(help["count"]) {
			if r, err := quantity.NormaliseCount(s, quantity.Options{}); err != nil || r.IsZero() {
				t.Errorf("%s: the count %q is not read: %v", lang, s, err)
			}
		}
		for _, s := range between(help["dating.verbatim"]) {
			if r, err := edtf.NormaliseDating(s, edtf.Options{}); err != nil || r.Date.IsZero() {
				t.Errorf("%s: the dating %q is not read: %v", lang, s, err)
			}
		}
	}
	known := heading.Fields()
	for _, name := range slices.Concat(slices.Collect(maps.Keys(en.Help)), slices.Collect(maps.Keys(examples))) {
		if !slices.Contains(known, name) {
			t.Errorf("there is no column for the words of %s", name)
		}
	}
}

func TestTemplateRefuses(t *testing.T) {
	for _, o := range []TemplateOptions{{Language: "la"}, {Unit: "furlong"}, {Unit: "mm"}} {
		var b bytes.Buffer
		if err := Template(&b, o); err == nil || b.Len() > 0 {
			t.Errorf("%+v is accepted", o)
		}
	}
}
