package spreadsheet_test

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

// A day on which nothing was found is worth keeping: a report without finds comes back from a table.
func TestNothingFoundComesBack(t *testing.T) {
	nothing := true
	r := &find.Report{Findslip: find.Version,
		Outings: []find.Outing{{ID: "outing-1", Date: "2026-04-02", NothingFound: &nothing}}}
	for _, plain := range []bool{false, true} {
		var text, book bytes.Buffer
		if err := spreadsheet.EncodeCSV(&text, find.StreamOf(r), spreadsheet.WriteOptions{Plain: plain}); err != nil {
			t.Fatal(err)
		}
		if s, err := spreadsheet.DecodeCSV(bytes.NewReader(text.Bytes()), spreadsheet.Options{File: "log.csv"}); err != nil {
			t.Errorf("as CSV, plain %v: %v", plain, err)
		} else if back, _, err := find.Collect(s); err != nil || len(back.Finds) != 0 {
			t.Errorf("as CSV, plain %v: %d finds, %v", plain, len(back.Finds), err)
		}
		if err := spreadsheet.EncodeXLSX(&book, find.StreamOf(r), spreadsheet.WriteOptions{Plain: plain}); err != nil {
			t.Fatal(err)
		}
		s, err := spreadsheet.DecodeXLSX(bytes.NewReader(book.Bytes()), int64(book.Len()),
			spreadsheet.Options{File: "log.xlsx"})
		if err != nil {
			t.Fatalf("as a workbook, plain %v: %v", plain, err)
		}
		back, _, err := find.Collect(s)
		if err != nil || len(back.Finds) != 0 || len(back.Outings) != 1 || back.Outings[0].Date != "2026-04-02" {
			t.Errorf("as a workbook, plain %v: %+v, %v", plain, back, err)
		}
	}
}

// The answer to the question of a column becomes a consent of the finder of the row; one no is a no, and what is
// neither stays where it was.
func TestConsent(t *testing.T) {
	for heading, words := range map[string][2]string{
		"May the recorder have my name?":          {"yes", "no"},
		"Darf die Fachstelle meinen Namen haben?": {"Ja", "nein"},
		"Mag de registrator mijn naam hebben?":    {"ja", "nee"},
		"Må registratoren få mit navn?":           {"ja", "nej"},
		"Le service peut-il avoir mon nom ?":      {"oui", "non"},
		"Får registratorn ha mitt namn?":          {"Ja", "nej"},
		"name to recorder":                        {"x", "no"},
	} {
		table := "number,name,finder," + heading + "\n1,bell,finder-a," + words[0] + "\n2,bell,finder-b," + words[0] +
			"\n3,bell,finder-b," + words[1] + "\n4,bell,finder-b," + words[0] + "\n5,bell,finder-c,\n6,bell,finder-d,perhaps\n"
		s, err := spreadsheet.DecodeCSV(strings.NewReader(table), spreadsheet.Options{File: "log.csv"})
		if err != nil {
			t.Fatal(err)
		}
		r, _, err := find.Collect(s)
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]string{}
		for _, p := range r.People {
			for _, c := range p.Consents {
				got[p.Handle+p.Name] += c.Audience
			}
		}
		if d := cmp.Diff(map[string]string{"finder-a": "recorder"}, got); d != "" {
			t.Errorf("%s: %s", heading, d)
		}
		for _, f := range r.Finds {
			if kept := f.Columns[heading]; (f.Number == "6") != (kept == "perhaps") || kept != "" && f.Number != "6" {
				t.Errorf("%s: find %s keeps %q", heading, f.Number, kept)
			}
		}
	}
}

// In the sheet of people of the template the question is asked in the language of the template.
func TestConsentInTemplate(t *testing.T) {
	for language, question := range map[string]string{"en": "May the recorder have my name?",
		"de": "Darf die Fachstelle meinen Namen haben?", "fr": "Le service peut-il avoir mon nom ?"} {
		var b bytes.Buffer
		if err := spreadsheet.Template(&b, spreadsheet.TemplateOptions{Language: language}); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&b)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows("People")
		if err != nil || len(rows) == 0 || !slices.Contains(rows[0], question) {
			t.Errorf("%s: the template does not ask %q: %v", language, question, err)
		}
		// Filled in, the answer is a consent.
		for cell, text := range map[string]string{"B2": "finder-a", "F2": "ja"} {
			if err := f.SetCellStr("People", cell, text); err != nil {
				t.Fatal(err)
			}
		}
		for cell, text := range map[string]string{"A3": "1", "C3": "bell", "J3": "finder-a"} {
			if err := f.SetCellStr("Finds", cell, text); err != nil {
				t.Fatal(err)
			}
		}
		filled, err := f.WriteToBuffer()
		if err != nil {
			t.Fatal(err)
		}
		s, err := spreadsheet.DecodeXLSX(bytes.NewReader(filled.Bytes()), int64(filled.Len()), spreadsheet.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, _, err := find.Collect(s)
		if err != nil || len(r.People) != 1 || len(r.People[0].Consents) != 1 ||
			r.People[0].Consents[0].Audience != "recorder" || r.Finds[0].Finder != r.People[0].ID {
			t.Errorf("%s: %v %+v", language, err, r.People)
		}
	}
}

// Words are put beside the field that they belong to, as they were written.
func ExampleDecodeCSV() {
	sheet := "No.,What,Depth (in)\n12,button,7-9\n"
	in, err := spreadsheet.DecodeCSV(strings.NewReader(sheet), spreadsheet.Options{File: "season.csv"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for e, err := range in.Entries {
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(e.Find.Number, e.Find.Name, e.Find.Depth.Verbatim)
	}
	// Output: 12 button 7-9
}

// What is written has headings that reading takes for the same fields.
func ExampleEncodeCSV() {
	report := &find.Report{Finds: []*find.Find{{Number: "12", Name: "button",
		Depth: &find.Depth{Quantity: find.Quantity{Verbatim: "8 in"}}}}}
	if err := spreadsheet.EncodeCSV(os.Stdout, find.StreamOf(report), spreadsheet.WriteOptions{Plain: true}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// number,depth,name,id
	// 12,8 in,button,
}

// A workbook to fill in, in German.
func ExampleTemplate() {
	var book bytes.Buffer
	if err := spreadsheet.Template(&book, spreadsheet.TemplateOptions{Language: "de"}); err != nil {
		fmt.Println(err)
		return
	}
	m, _, err := spreadsheet.ColumnsXLSX(bytes.NewReader(book.Bytes()), int64(book.Len()), spreadsheet.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range m.Tables[0].Columns[:3] {
		fmt.Println(c.Column, c.Heading, c.Field)
	}
	// Output:
	// A Nummer number
	// B Funddatum found.date
	// C Fund name
}
