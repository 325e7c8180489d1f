package pkg_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// kinds are the exported variables that hold a notice.Kind. Two packages share the value, so that a
// notice of either is of one and the same Kind; others get kinds from the function Kinds.
var kinds = map[string]string{
	"pkg/validate.AcceptanceStale": "listed by pkg/pipeline",
	"pkg/validate.LevelIncomplete": "listed by pkg/pipeline",
}

// files are variables that Go itself asks for: what is embedded as a folder is an embed.FS, a struct
// without exported fields that opens for reading only.
var files = map[string]bool{"schema.Data": true, "schema.Vocabulary": true}

// rooms returns the folders of all packages that others can import, by name.
func rooms(t *testing.T) []string {
	t.Helper()
	var out []string
	for name := range floors {
		if !strings.Contains(name, "internal/") && !strings.HasPrefix(name, "cmd/") {
			out = append(out, name)
		}
	}
	return out
}

// sources parses the files of a package, those of the tests or the others.
func sources(t *testing.T, name string, tests bool) []*ast.File {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join("..", name, "*.go"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("%s has no files: %v", name, err)
	}
	var out []*ast.File
	for _, p := range paths {
		if strings.HasSuffix(p, "_test.go") != tests {
			continue
		}
		text, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, text, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, f)
	}
	return out
}

// writable says which exported variables of a file whoever imports it could change to the harm of
// others: all but errors to compare with, which are called Err.
func writable(name string, f *ast.File) []string {
	var out []string
	for _, d := range f.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.VAR {
			continue
		}
		for _, s := range g.Specs {
			v := s.(*ast.ValueSpec)
			for i, id := range v.Names {
				if id.IsExported() && !(i < len(v.Values) && isError(v.Values[i])) {
					out = append(out, name+"."+id.Name)
				}
			}
		}
	}
	return out
}

// isError tells the call errors.New.
func isError(e ast.Expr) bool {
	call, ok := e.(*ast.CallExpr)
	if !ok {
		return false
	}
	s, ok := call.Fun.(*ast.SelectorExpr)
	return ok && fmt.Sprint(s.X) == "errors" && s.Sel.Name == "New"
}

// There is nothing in the API that one part of a program could change under another.
func TestNoWritableGlobals(t *testing.T) {
	met := map[string]bool{}
	for _, name := range rooms(t) {
		for _, f := range sources(t, name, false) {
			for _, v := range writable(name, f) {
				met[v] = true
				if kinds[v] == "" && !files[v] {
					t.Errorf("%s is an exported variable; make it a function that returns a fresh value", v)
				}
			}
		}
	}
	for v := range kinds {
		if !met[v] {
			t.Errorf("%s is listed and not there", v)
		}
	}
	for v := range files {
		if !met[v] {
			t.Errorf("%s is listed and not there", v)
		}
	}
}

// The check above finds what it is there to find.
func TestWritable(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "x.go", `package x
		var Codes = []string{"a"}
		var Table map[string]int
		var One, Two = &thing{}, errors.New("two")
		var hidden = []string{}
		const Fixed = 1
		func f() { var Inner []int; _ = Inner }`, 0)
	if err != nil {
		t.Fatal(err)
	}
	if got := fmt.Sprint(writable("x", f)); got != "[x.Codes x.Table x.One]" {
		t.Errorf("found %s", got)
	}
}

// Each package says what it is for, and shows it with an example that runs.
func TestEveryPackageHasAnExample(t *testing.T) {
	for _, name := range rooms(t) {
		run := 0
		for _, f := range sources(t, name, true) {
			for _, d := range f.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok && fn.Recv == nil && strings.HasPrefix(fn.Name.Name, "Example") && hasOutput(f,
					fn) {
					run++
				}
			}
		}
		if run == 0 && !strings.HasPrefix(name, "pkg/testkit/") { // tests are their example
			t.Errorf("%s has no Example with an Output", name)
		}
		said := ""
		for _, f := range sources(t, name, false) {
			if f.Doc != nil {
				said += f.Doc.Text()
			}
		}
		if want := "Package " + filepath.Base(name) + " "; !strings.HasPrefix(said, want) || strings.Count(said, "\n") < 4 {
			t.Errorf("the comment of %s does not begin with %q or says too little", name, want)
		}
		if stable := name == "pkg/findslip"; strings.Contains(said, "This package is unstable") == stable {
			t.Errorf("the comment of %s does not say that the package is unstable, or findslip does", name)
		}
	}
}

// central are the functions that whoever embeds a package comes for first; each has an example of its
// own, which go doc and documentation sites show beside it.
var central = map[string][]string{
	"pkg/findslip":    {"Check", "CheckFind", "Normalise", "Convert", "Share"},
	"pkg/repair":      {"Propose"},
	"pkg/pipeline":    {"Check", "Convert", "Open", "Columns", "Share", "LeakSearch", "CheckLoss", "Pack", "Output"},
	"pkg/find":        {"DecodeJSON", "EncodeJSON", "PathTo", "Flat", "Stream_Map", "Cutter"},
	"pkg/validate":    {"", "Settings_Set"},
	"pkg/schemacheck": {"Schemas_Notices"},
	"pkg/normalise":   {"Reader", "Find", "Stream"},
	"pkg/share":       {"Copy", "Leaks"},
	"pkg/spreadsheet": {"DecodeCSV", "EncodeCSV", "Template"},
	"pkg/geojson":     {"Encode", "Decode"},
	"pkg/kml":         {"Encode", "Decode"},
	"pkg/render":      {"Text", "CSV"},
	"pkg/quantity":    {"NormaliseLength", "NormaliseMass", "NormaliseCount", "Quantity_Show"},
	"pkg/edtf":        {"Parse", "ParseDay", "NormaliseFound", "NormaliseDating", "ProveOrder"},
	"pkg/coordinate":  {"Normalise", "System_ToWGS84", "Area_Contains"},
	"pkg/vocabulary":  {"Scheme_Match", "Scheme_MatchAll", "Scheme_Nearest", "Absent"},
	"pkg/heading":     {"Understand", "Label"},
	"pkg/picture":     {"Clean", "Carries"},
	"schema":          {"Root", "Text", "Context"},
}

func TestCentralFunctionsHaveExamples(t *testing.T) {
	for name, functions := range central {
		run := map[string]bool{}
		for _, f := range sources(t, name, true) {
			for _, d := range f.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok && fn.Recv == nil && hasOutput(f, fn) {
					run[fn.Name.Name] = true
				}
			}
		}
		for _, function := range functions {
			if !run["Example"+function] {
				t.Errorf("%s: there is no Example%s with an Output", name, function)
			}
		}
	}
}

// hasOutput reports whether a function has the comment that makes Go run it.
func hasOutput(f *ast.File, fn *ast.FuncDecl) bool {
	for _, c := range f.Comments {
		if c.Pos() > fn.Pos() && c.End() < fn.End() && strings.HasPrefix(c.Text(), "Output:") {
			return true
		}
	}
	return false
}
