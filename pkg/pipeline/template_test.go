package pipeline

import (
	"bytes"
	"context"
	"testing"
	"testing/fstest"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/spreadsheet"
	"github.com/findslip/findslip/pkg/validate"
)

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
