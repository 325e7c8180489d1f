package notice_test

import (
	"fmt"

	"github.com/findslip/findslip/pkg/notice"
)

func ExampleList() {
	deep := &notice.Kind{Code: "depth-implausible", Severity: notice.Warning, Title: "depth is beyond what is dug by hand"}
	bare := &notice.Kind{Code: "unit-missing", Severity: notice.Error, Title: "a number without a unit"}
	var list notice.List
	list.Add(notice.New(deep, "/finds/10/depth", "deeper than two metres"))
	list.Add(notice.New(bare, "/finds/2/weight", "8 may be grams or grains"))
	list.Sort()
	for _, n := range list {
		fmt.Println(n.Pointer, n.Kind.Code, n.Message)
	}
	fmt.Println(list.Count(notice.Error))
	// Output:
	// /finds/2/weight unit-missing 8 may be grams or grains
	// /finds/10/depth depth-implausible deeper than two metres
	// 1
}
