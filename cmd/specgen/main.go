// Command specgen writes the generated parts of the project: the annexes of SPEC.md and the
// examples. With -check it writes nothing and fails when a file would change.
//
//	go generate ./...
package main

import (
	"flag"
	"fmt"
	"os"
)

//go:generate go run . -root ../..

func main() {
	root := flag.String("root", ".", "folder of the project")
	check := flag.Bool("check", false, "write nothing, fail when a file would change")
	flag.Parse()
	changed, err := generate(*root, !*check)
	if err != nil {
		fmt.Fprintf(os.Stderr, "specgen: %v\n", err)
		os.Exit(2)
	}
	for _, name := range changed {
		fmt.Println(name)
	}
	if *check && len(changed) > 0 {
		fmt.Fprintln(os.Stderr, "specgen: these files are not as generated; run go generate ./...")
		os.Exit(1)
	}
}
