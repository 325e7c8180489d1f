package spreadsheet_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/spreadsheet"
)

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
