package findslip_test

import (
	"flag"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the listing of the API")

// What the package promises is what api.txt lists. A line that goes or changes is a break of the promise; one
// that comes is written with -update.
func TestAPI(t *testing.T) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, "findslip.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	add := func(node any) {
		var b strings.Builder
		if err := (&printer.Config{Mode: printer.RawFormat}).Fprint(&b, set, node); err != nil {
			t.Fatal(err)
		}
		lines = append(lines, strings.Join(strings.Fields(b.String()), " "))
	}
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Name.IsExported() {
				d.Body = nil
				add(d)
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					fields, isStruct := s.Type.(*ast.StructType)
					if !s.Name.IsExported() {
						continue
					}
					if !isStruct {
						add(s)
						continue
					}
					for _, f := range fields.Fields.List {
						for _, name := range f.Names {
							if name.IsExported() {
								lines = append(lines, s.Name.Name+"."+name.Name+" "+source(t, set, f.Type))
							}
						}
					}
				case *ast.ValueSpec:
					if s.Names[0].IsExported() {
						add(s)
					}
				}
			}
		}
	}
	slices.Sort(lines)
	got := strings.Join(lines, "\n") + "\n"
	if *update {
		if err := os.WriteFile("api.txt", []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("api.txt")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(want)) {
		if !strings.Contains("\n"+got, "\n"+line) {
			t.Errorf("gone or changed: %s", line)
		}
	}
	for line := range strings.Lines(got) {
		if !strings.Contains("\n"+string(want), "\n"+line) {
			t.Errorf("not listed in api.txt: %s", line)
		}
	}
	if names := len(file.Scope.Objects); len(lines) < 20 || names > 40 {
		t.Errorf("%d lines, %d names", len(lines), names)
	}
}

func source(t *testing.T, set *token.FileSet, node any) string {
	var b strings.Builder
	if err := printer.Fprint(&b, set, node); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
