// Command recordmap writes pkg/find/map.gen.go: the map of the record, made from the schemas and the structs.
//
//	go run ./cmd/internal/recordmap -root .
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

const target = "pkg/find/map.gen.go"

func main() {
	root := flag.String("root", ".", "the folder of the project")
	flag.Parse()
	text, err := generate(*root)
	if err == nil {
		err = os.WriteFile(filepath.Join(*root, target), text, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "recordmap:", err)
		os.Exit(1)
	}
}
