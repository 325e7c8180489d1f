package pipeline

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/validate"
)

const (
	idA = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11"
	idB = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12"
	idC = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a13"
	idD = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a14"
)

// convertSince converts a CSV log with the ids of an earlier conversion.
func convertSince(t *testing.T, csv, old string) (*find.Report, map[string][]string) {
	t.Helper()
	o := options(t, Findslip)
	o.Since = write(t, "old.findslip.json",
		`{`+header+`,"people":[{"id":"person-1","handle":"finder-a"},{"id":"person-2","handle":"finder-b"}],"finds":[`+old+
			`]}`)
	var out bytes.Buffer
	r, err := Convert(context.Background(), write(t, "log.csv", csv), &out, o)
	if err != nil {
		t.Fatal(err)
	}
	report := collected(t, out.Bytes())
	said := map[string][]string{}
	for _, n := range r.Notices {
		if n.Kind == &kinds.SinceAmbiguous || n.Kind == &kinds.SinceUnpaired {
			said[n.Kind.Code] = append(said[n.Kind.Code], n.Find)
		}
	}
	return report, said
}

func idsOf(r *find.Report) []string {
	var out []string
	for _, f := range r.Finds {
		out = append(out, f.ID)
	}
	return out
}

func TestSince(t *testing.T) {
	const report = "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"
	for name, c := range cases.Table[map[string]struct {
		Csv, Old string
		Ids      []string // empty: an id that is none of the earlier ones
		Said     map[string][]string
	}](t, "Since") {
		t.Run(name, func(t *testing.T) {
			r, said := convertSince(t, c.Csv, c.Old)
			if r.ID != report {
				t.Errorf("the report has the id %s", r.ID)
			}
			seen := map[string]bool{}
			for i, id := range idsOf(r) {
				switch want := c.Ids[i]; {
				case want == "" && strings.Contains(c.Old, id) || want != "" && id != want || seen[id]:
					t.Errorf("find %d has the id %s, want %q", i, id, want)
				}
				seen[id] = true
			}
			if d := cmp.Diff(c.Said, said); d != "" {
				t.Error(d)
			}
		})
	}
}

// A log that has not changed keeps every id, numbered or not, when it is converted with its own
// outcome.
func TestSinceItself(t *testing.T) {
	o := options(t, Findslip)
	var first, second bytes.Buffer
	const season = "../../examples/thornmere/season.xlsx"
	if _, err := Convert(context.Background(), season, &first, o); err != nil {
		t.Fatal(err)
	}
	o.Since = write(t, "first.findslip.json", first.String())
	r, err := Convert(context.Background(), season, &second, o)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(first.String(), second.String()); d != "" {
		t.Error(d)
	}
	for _, n := range r.Notices {
		if n.Kind == &kinds.SinceAmbiguous || n.Kind == &kinds.SinceUnpaired {
			t.Errorf("%s is said of %s", n.Kind.Code, n.Find)
		}
	}
}

// collected is a report in JSON with all its finds.
func collected(t *testing.T, text []byte) *find.Report {
	t.Helper()
	s, err := find.DecodeJSON(bytes.NewReader(text), find.Options{})
	if err != nil {
		t.Fatal(err)
	}
	report, _, err := find.Collect(s)
	if err != nil {
		t.Fatal(err)
	}
	return report
}

// A copy for others that comes back is no later state of the log.
func TestSinceIsNoWayHome(t *testing.T) {
	o := options(t, JSONL)
	o.Since = write(t, "old.findslip.json", `{`+header+`,"finds":[{"id":"`+idA+`","number":"7"}]}`)
	fresh := write(t, "new.findslip.json", `{`+header+`,"audience":"expert","finds":[{"id":"`+idB+`","number":"7"}]}`)
	if _, err := Convert(context.Background(), fresh, new(bytes.Buffer), o); err == nil ||
		!strings.Contains(err.Error(), "findslip receive") {
		t.Errorf("error %v", err)
	}
}

// A template that a person has filled in, in the words of its language, is good for their own log: what a level
// asks for has a column there, and nothing is called wrong.
func TestTemplateFilledInMeetsLog(t *testing.T) {
	for _, language := range []string{"en", "de", "nl", "da", "fr", "sv"} {
		t.Run(language, func(t *testing.T) {
			var b bytes.Buffer
			if err := spreadsheet.Template(&b, spreadsheet.TemplateOptions{Language: language}); err != nil {
				t.Fatal(err)
			}
			book, err := excelize.OpenReader(&b)
			if err != nil {
				t.Fatal(err)
			}
			defer book.Close()
			sheet := book.GetSheetName(0)
			rows, err := book.GetRows(sheet)
			if err != nil || len(rows) < 2 {
				t.Fatal(rows, err)
			}
			for i, number := range []string{"1", "2"} {
				row := make([]any, len(rows[1]))
				for k, cell := range rows[1] { // as the example shows
					row[k] = cell
				}
				row[0] = number
				if err := book.SetSheetRow(sheet, []string{"A3", "A4"}[i], &row); err != nil {
					t.Fatal(err)
				}
			}
			b.Reset()
			if err := book.Write(&b); err != nil {
				t.Fatal(err)
			}
			o := Options{FS: fstest.MapFS{"log.xlsx": {Data: b.Bytes()}}, Level: validate.Level("log")}
			if o.Read.AsOf, err = edtf.ParseDay("2026-11-29"); err != nil {
				t.Fatal(err)
			}
			r, err := Check(context.Background(), "log.xlsx", o)
			if err != nil {
				t.Fatal(err)
			}
			if r.Summary.Finds != 2 {
				t.Errorf("%d finds", r.Summary.Finds)
			}
			for i := range r.Notices {
				if n := &r.Notices[i]; n.Kind.Severity == notice.Error || n.Kind.Code == "level-incomplete" {
					t.Errorf("%s: %s [%s]", n.Place(), n.Message, n.Kind.Code)
				}
			}
		})
	}
}
