// Command schemaverdict writes every report of testdata/codes into a folder, and prints for each of them
// and for each file named whether our own schema half accepts it. An independent validator is compared
// with it. Usage: schemaverdict FOLDER FILE...
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/findslip/findslip/pkg/schemacheck"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

func main() {
	if err := run(os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}

func run(folder string, names []string) error {
	schemas, err := schemacheck.New()
	if err != nil {
		return err
	}
	all, err := cases.Read(os.DirFS("."))
	if err != nil {
		return err
	}
	for _, c := range all {
		for list, some := range map[string][]cases.Case{"draws": c.Draws, "near": c.Near} {
			if err := os.MkdirAll(filepath.Join(folder, list), 0o755); err != nil {
				return err
			}
			for _, one := range some {
				name := filepath.Join(folder, list, c.Code+"."+one.Name+".json")
				if err := os.WriteFile(name, one.Report, 0o600); err != nil {
					return err
				}
				names = append(names, name)
			}
		}
	}
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		found, err := schemas.Document(raw, "report")
		fmt.Printf("%s\t%t\n", name, err == nil && len(found) == 0)
	}
	return nil
}
