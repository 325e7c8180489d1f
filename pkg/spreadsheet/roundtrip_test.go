package spreadsheet_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// donors are the finds of the full example and of the example of a season, as JSON objects.
func donors(t testing.TB) []map[string]json.RawMessage {
	t.Helper()
	var out []map[string]json.RawMessage
	for _, name := range []string{"../../testdata/valid/full.findslip.json", "../../testdata/valid/typical.findslip.json",
		"../../examples/thornmere/season.findslip.json"} {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var report struct {
			Finds []map[string]json.RawMessage `json:"finds"`
		}
		if err := json.Unmarshal(raw, &report); err != nil {
			t.Fatal(err)
		}
		out = append(out, report.Finds...)
	}
	if len(out) < 10 {
		t.Fatalf("only %d finds to draw from", len(out))
	}
	return out
}

// inputs are the texts of the vectors of one kind.
func inputs(t testing.TB, name string) []string {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors []struct{ Input string }
	if err := json.Unmarshal(raw, &vectors); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, v := range vectors {
		// A cell has no blanks at its ends, and what is nothing but blanks is no cell.
		if trimmed := string(bytes.TrimSpace([]byte(v.Input))); trimmed == v.Input && v.Input != "" &&
			!(name == "date-found" && needsOrder(v.Input)) {
			out = append(out, v.Input)
		}
	}
	return out
}

// needsOrder reports whether a day is read by the order of day and month alone. Of such a text a
// column of other days may say more than the cell did.
func needsOrder(text string) bool {
	first, err := edtf.NormaliseFound(text, edtf.Options{Order: edtf.DayMonthYear})
	second, other := edtf.NormaliseFound(text, edtf.Options{Order: edtf.MonthDayYear})
	none, refused := edtf.NormaliseFound(text, edtf.Options{})
	return (err == nil) != (refused == nil) || (other == nil) != (refused == nil) || first.Date != second.Date ||
		first.Date != none.Date
}

// anyFind draws each member of a find from one of the donors, or leaves it out, and puts texts of
// the vectors where people write.
func anyFind(t *rapid.T, from []map[string]json.RawMessage, in map[string][]string, i int) *find.Find {
	members := map[string]bool{}
	for _, d := range from {
		for name := range d {
			members[name] = true
		}
	}
	drawn := map[string]json.RawMessage{}
	for _, name := range slices.Sorted(maps.Keys(members)) {
		if value := rapid.SampledFrom(from).Draw(t, name)[name]; value != nil && name != "absent" && name != "generalised" &&
			name != "extensions" {
			drawn[name] = value
		}
	}
	raw, err := json.Marshal(drawn)
	if err != nil {
		t.Fatal(err)
	}
	f := new(find.Find)
	find.DecodeFind(raw, f)
	f.ID = fmt.Sprintf("urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c%04x", i)
	f.Number = fmt.Sprint(i + 1)
	text := func(kind string) string { return rapid.SampledFrom(in[kind]).Draw(t, kind) }
	some := func(label string) bool { return rapid.Bool().Draw(t, label) }
	if some("words of depth") {
		f.Depth = &find.Depth{Quantity: find.Quantity{Verbatim: text("quantity-length")}}
	}
	if some("words of weight") {
		f.Weight = &find.Quantity{Verbatim: text("quantity-mass")}
	}
	if some("words of count") {
		f.Kind, f.Count = "lot", &find.Quantity{Verbatim: text("quantity-count")}
	}
	if some("words of the day") {
		f.Found = &find.Found{Verbatim: text("date-found")}
	}
	if some("words of the age") {
		f.Dating = &find.Dating{Verbatim: text("date-dating")}
	}
	if some("words of the position") {
		f.Position = &find.Position{Verbatim: text("position")}
	}
	if some("words of the material") {
		f.Materials = []find.Material{{Term: find.Term{Verbatim: text("material")}}}
	}
	if some("hard words") {
		f.Notes = rapid.SampledFrom([]string{"=1+1", "'quoted'", "-5", "+x", "@a", "two\nlines", "a;b,c|d\te", `say "so"`,
			"007", "1E5", "true", "12/4/2026", "½", "été", "'=x", "#REF!", "_x000D_", "_xD83D_", "_x005F_x0041_", "bell\u0007",
			"\ue0f5", "\ufffe", "a\u200bb", "Total", "Example"}).Draw(t, "notes")
		f.Name = f.Notes
	}
	normalise.Find(f, nil, normalise.Options{})
	return f
}

// withoutBlanks takes away what a table alone adds: the reason blank of what was merely missing.
func withoutBlanks(f *find.Find) {
	maps.DeleteFunc(f.Absent, func(_, reason string) bool { return reason == "blank" })
	if len(f.Absent) == 0 {
		f.Absent = nil
	}
}

func bytesOf(t *rapid.T, r *find.Report) string {
	var b bytes.Buffer
	if err := find.EncodeJSON(&b, find.StreamOf(r)); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// A normalised report that goes through a workbook, or its finds through a CSV file, and is
// normalised again is the same report, in whatever language the headings are. Nothing of a find is
// lost; a CSV file carries finds only (SPEC.md 8.4-1).
func TestThereAndBack(t *testing.T) {
	from := donors(t)
	in := map[string][]string{}
	for _, name := range []string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating",
		"position", "material"} {
		in[name] = inputs(t, name)
	}
	heavy.Draws(t, 25)
	rapid.Check(t, func(t *rapid.T) {
		r := &find.Report{Findslip: find.Version, ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}
		for i := range rapid.IntRange(1, 4).Draw(t, "finds") {
			r.Finds = append(r.Finds, anyFind(t, from, in, i))
		}
		// The people, land and outings that the finds name, so that the names are ids and not words.
		for i := range 4 {
			r.People = append(r.People, find.Person{ID: fmt.Sprintf("person-%d", i+1), Handle: fmt.Sprintf("finder-%c", 'a'+i)})
			r.Permissions = append(r.Permissions, find.Permission{ID: fmt.Sprintf("permission-%d", i+1)})
			r.Outings = append(r.Outings, find.Outing{ID: fmt.Sprintf("outing-%d", i+1)})
		}
		want := bytesOf(t, r)
		o := spreadsheet.WriteOptions{Language: rapid.SampledFrom([]string{"en", "de", "nl", "da", "fr", "sv"}).Draw(t,
			"language"), BOM: rapid.Bool().Draw(t, "mark")}

		var book bytes.Buffer
		if err := spreadsheet.EncodeXLSX(&book, find.StreamOf(r), o); err != nil {
			t.Fatal(err)
		}
		s, err := spreadsheet.DecodeXLSX(bytes.NewReader(book.Bytes()), int64(book.Len()), spreadsheet.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, back(t, s, nil)); d != "" {
			t.Fatalf("xlsx in %s: %s", o.Language, d)
		}

		var table bytes.Buffer
		if err := spreadsheet.EncodeCSV(&table, find.StreamOf(r), o); err != nil {
			t.Fatal(err)
		}
		if s, err = spreadsheet.DecodeCSV(bytes.NewReader(table.Bytes()), spreadsheet.Options{}); err != nil {
			t.Fatal(err)
		}
		want = strings.ReplaceAll(want, `\u0007`, "\u2407") // a text table has its picture, which the losses say
		if d := cmp.Diff(want, back(t, s, r)); d != "" {
			t.Fatalf("csv: %s\n%s", d, table.String())
		}
	})
}

// back normalises what was read; header, if given, stands for what a CSV file does not carry.
func back(t *rapid.T, s *find.Stream, header *find.Report) string {
	got, _, err := find.Collect(normalise.Stream(s, normalise.Options{Table: true}))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range got.Finds {
		withoutBlanks(f)
	}
	if header != nil {
		finds := got.Finds
		head := *header
		got = &head
		got.Finds = finds
	}
	return bytesOf(t, got)
}

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
