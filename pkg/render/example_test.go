package render_test

import (
	"fmt"
	"os"

	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/render"
)

func ExampleCSV() {
	bare := &notice.Kind{Code: "unit-missing", Severity: notice.Error, Title: "a number without a unit"}
	n := notice.New(bare, "/depth", "8 may be centimetres or inches")
	n.Find = "12"
	if err := render.CSV(os.Stdout, render.Document{Tool: "a program", Notices: notice.List{n}}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// severity,caution,code,find,place,heading,written,message,perhaps,help,file,sheet,row,column,line,pointer,accepted,deadline
	// error,,unit-missing,12,/depth,,,8 may be centimetres or inches,,,,,,,,/depth,,
}

func ExampleText() {
	bare := &notice.Kind{Code: "own-rule", Severity: notice.Error, Title: "a number without a unit",
		Help: "Write the unit in the cell."}
	n := notice.New(bare, "/depth", "8 may be centimetres or inches")
	n.Sheet, n.Cell, n.Find = "Finds", "D7", "12"
	if err := render.Text(os.Stdout, render.Document{Finds: 1, Notices: notice.List{n}},
		render.TextOptions{}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// 1 find. 1 thing must be put right.
	//
	// Wrong:
	//   D7   8 may be centimetres or inches. Write the unit in the cell. [own-rule]
}
