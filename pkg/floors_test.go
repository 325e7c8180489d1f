package pkg_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

const module = "github.com/findslip/findslip/"

// floors says on which floor each package lives: the table in DEVELOPERS.md. A package imports only from
// lower floors, so that rooms on one floor do not know each other.
var floors = func() map[string]int {
	raw, err := os.ReadFile(filepath.Join("..", "DEVELOPERS.md"))
	if err != nil {
		panic(err)
	}
	told := map[string]int{}
	for _, row := range regexp.MustCompile(`(?m)^\| (\d+) \| ([^|]+) \|`).FindAllStringSubmatch(string(raw), -1) {
		for _, name := range regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(row[2], -1) {
			told[name[1]], _ = strconv.Atoi(row[1])
		}
	}
	return told
}()

// cellars are the packages inside another, which Go shuts to all but that one, with their depth: a
// cellar imports only deeper ones of its own house, and what knows no record.
var cellars = map[string]int{
	"pkg/spreadsheet/internal/grid":  3,
	"pkg/spreadsheet/internal/table": 2, "pkg/spreadsheet/internal/workbook": 2, "pkg/spreadsheet/internal/door": 1,
	"pkg/validate/internal/phrase": 2, "pkg/validate/internal/danger": 1, "pkg/validate/internal/law": 1,
}

// alone are the packages that import nothing of the project and can be lifted out.
var alone = map[string]bool{"pkg/notice": true, "pkg/text": true, "pkg/bag": true, "pkg/picture": true,
	"pkg/limit": true}

// pack is a package as go list tells of it.
type pack struct {
	ImportPath string
	Imports    []string
}

// fault says what is wrong with one import of the project, and nothing where it may stand.
func fault(from, to string) string {
	floor, upstairs := floors[from]
	deep, below := cellars[to]
	switch _, known := floors[to]; {
	case alone[from]:
		return fmt.Sprintf("%s is to stand alone and imports %s", from, to)
	case below && upstairs && strings.HasPrefix(to, from+"/internal/"):
		return ""
	case below && !upstairs && house(from) == house(to) && deep > cellars[from]:
		return ""
	case !upstairs && alone[to], !upstairs && known && floors[to] < floors["pkg/find"]: // values and tables, no record
		return ""
	case below || !upstairs:
		return fmt.Sprintf("%s imports %s, which is not below it in the same house", from, to)
	case !known:
		return fmt.Sprintf("%s imports %s, which has no floor", from, to)
	case floors[to] >= floor:
		return fmt.Sprintf("%s on floor %d imports %s on floor %d", from, floor, to, floors[to])
	}
	return ""
}

func house(cellar string) string {
	name, _, _ := strings.Cut(cellar, "/internal/")
	return name
}

func TestFloors(t *testing.T) {
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports", "../pkg/...", "../cmd/...", "../schema")
	var talk strings.Builder
	cmd.Stderr = &talk
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, talk.String())
	}
	seen := map[string]bool{}
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pack
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(p.ImportPath, module)
		if name == "pkg" {
			continue // this test
		}
		seen[name] = true
		if floors[name] == 0 && cellars[name] == 0 {
			t.Errorf("package %s has no floor", name)
			continue
		}
		for _, imported := range p.Imports {
			if of, ours := strings.CutPrefix(imported, module); ours {
				if f := fault(name, of); f != "" {
					t.Error(f)
				}
			}
		}
	}
	for _, table := range []map[string]int{floors, cellars} {
		for name := range table {
			if !seen[name] {
				t.Errorf("package %s has a floor and is not there", name)
			}
		}
	}
}

// The check of the house finds what it is there to find.
func TestFaultsOfFloors(t *testing.T) {
	for _, c := range []struct {
		from, to string
		wrong    bool
	}{
		{"pkg/find", "pkg/notice", false},
		{"pkg/notice", "pkg/find", true},
		{"pkg/text", "schema", true},
		{"pkg/validate", "pkg/normalise", true},
		{"pkg/validate", "pkg/pipeline", true},
		{"pkg/pipeline", "pkg/nowhere", true},
		{"pkg/spreadsheet", "pkg/spreadsheet/internal/workbook", false},
		{"pkg/geojson", "pkg/spreadsheet/internal/workbook", true},
		{"pkg/spreadsheet/internal/workbook", "pkg/spreadsheet/internal/grid", false},
		{"pkg/spreadsheet/internal/grid", "pkg/spreadsheet/internal/workbook", true},
		{"pkg/spreadsheet/internal/grid", "pkg/find", true},
		{"pkg/spreadsheet/internal/grid", "pkg/limit", false},
	} {
		if got := fault(c.from, c.to); (got != "") != c.wrong {
			t.Errorf("%s importing %s: %q", c.from, c.to, got)
		}
	}
}

// A line of Go has at most 120 characters, a file 600 lines, a function 60 lines outside tests. What is generated is
// not measured, nor a line inside a text in back quotes, the tag of a field and what an example is to print: there the
// end of a line is part of the text.
func TestLengths(t *testing.T) {
	long := 0
	err := filepath.WalkDir("..", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == ".git" || d.Name() == "testdata"):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, ".gen.go"):
			return nil
		}
		text, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, text, parser.ParseComments)
		if err != nil {
			return err
		}
		lines := strings.Split(string(text), "\n")
		if len(lines) > 601 {
			t.Errorf("%s has %d lines", name, len(lines)-1)
		}
		fixed := fixedLines(set, file)
		for i, line := range lines {
			if n := utf8.RuneCountInString(line); n > 120 && !fixed[i+1] {
				t.Errorf("%s:%d has %d characters", name, i+1, n)
			}
		}
		for _, d := range file.Decls {
			f, is := d.(*ast.FuncDecl)
			if is && set.Position(f.End()).Line-set.Position(f.Pos()).Line >= 60 && !strings.HasSuffix(name, "_test.go") {
				t.Logf("%s: %s is longer than 60 lines", name, f.Name.Name)
				long++
			}
		}
		return nil
	})
	if err != nil || long > 12 {
		t.Errorf("%d functions are longer than 60 lines, at most 12 may be (%v)", long, err)
	}
}

// fixedLines gives the lines whose end is part of a text.
func fixedLines(set *token.FileSet, file *ast.File) map[int]bool {
	fixed := map[int]bool{}
	span := func(n ast.Node) {
		for line := set.Position(n.Pos()).Line; line <= set.Position(n.End()).Line; line++ {
			fixed[line] = true
		}
	}
	for _, group := range file.Comments {
		if text := group.Text(); strings.Contains(text, "Output:\n") || strings.Contains(text, "output:\n") {
			span(group)
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch v := n.(type) {
		case *ast.Field:
			if v.Tag != nil {
				span(v.Tag)
			}
		case *ast.BasicLit:
			if strings.HasPrefix(v.Value, "`") && strings.Contains(v.Value, "\n") {
				span(v)
			}
		}
		return true
	})
	return fixed
}
