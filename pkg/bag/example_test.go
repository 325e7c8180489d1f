package bag_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/findslip/findslip/pkg/bag"
)

// A folder is sealed, and a change in it is found.
func Example() {
	parent, err := os.MkdirTemp("", "handover-*")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(parent)
	season := bag.Bag{Name: "season", Files: []bag.File{bag.Text("README.txt", []byte("finds of one season\n"))}}
	if err := bag.WriteFolder(context.Background(), parent, season); err != nil {
		fmt.Println(err)
		return
	}
	folder := filepath.Join(parent, season.Name)
	problems, err := bag.VerifyFolder(context.Background(), folder, bag.Limits{})
	fmt.Println(len(problems), err)

	if err := os.WriteFile(filepath.Join(folder, "data", "README.txt"), []byte("another text\n"), 0o600); err != nil {
		fmt.Println(err)
		return
	}
	problems, err = bag.VerifyFolder(context.Background(), folder, bag.Limits{})
	fmt.Println(len(problems) > 0, err)
	// Output:
	// 0 <nil>
	// true <nil>
}
