// Command recordmap writes the Go that is made of the schemas and tables: pkg/find/map.gen.go, the map of the record,
// and pkg/internal/kinds/kinds.gen.go, the kinds of notice.
//
//	go run ./cmd/internal/recordmap -root .
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

// targets are the files that are written, and what makes them.
var targets = map[string]func(root string) ([]byte, error){
	"pkg/find/map.gen.go":             generate,
	"pkg/internal/kinds/kinds.gen.go": kinds,
}

func main() {
	root := flag.String("root", ".", "the folder of the project")
	flag.Parse()
	for target, make := range targets {
		text, err := make(*root)
		if err == nil {
			err = os.WriteFile(filepath.Join(*root, target), text, 0o644)
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, "recordmap:", target, err)
			os.Exit(1)
		}
	}
}
