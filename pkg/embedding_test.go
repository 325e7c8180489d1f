package pkg_test

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// fences returns the Go examples of README.md and DEVELOPERS.md.
func fences(t *testing.T) []string {
	t.Helper()
	var text []byte
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		one, err := os.ReadFile(filepath.Join("..", name))
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, one...)
	}
	var out []string
	for _, m := range regexp.MustCompile("(?ms)^```go\n(.*?)^```").FindAllStringSubmatch(string(text), -1) {
		out = append(out, m[1])
	}
	return out
}

// program makes a package of examples: each is the body of a function that has a context, a writer and
// a reader.
func program(t *testing.T, bodies []string) string {
	t.Helper()
	used := map[string]bool{"context": true, "io": true}
	var funcs strings.Builder
	for i, body := range bodies {
		fmt.Fprintf(&funcs, "func Example%d(ctx context.Context, w io.Writer, r io.ReadSeeker) error {\n%s", i, body)
		if !regexp.MustCompile(`(?m)^return .*\n\z`).MatchString(body) {
			funcs.WriteString("return nil\n")
		}
		funcs.WriteString("}\n")
	}
	f, err := parser.ParseFile(token.NewFileSet(), "", "package embedding\n"+funcs.String(), 0)
	if err != nil {
		t.Fatalf("an example of DEVELOPERS.md: %v", err)
	}
	for _, id := range f.Unresolved {
		used[id.Name] = true
	}
	imports := ""
	for _, name := range []string{"context", "errors", "fmt", "io", "os"} {
		if used[name] {
			imports += fmt.Sprintf("import %q\n", name)
		}
	}
	for _, name := range rooms(t) {
		if used[filepath.Base(name)] {
			imports += fmt.Sprintf("import %q\n", "github.com/findslip/findslip/"+name)
		}
	}
	return "package embedding\n" + imports + funcs.String()
}

// compiles builds a package that stands nowhere but in memory, as an overlay.
func compiles(t *testing.T, text string) (string, error) {
	t.Helper()
	dir := t.TempDir()
	file, overlay := filepath.Join(dir, "embedding.go"), filepath.Join(dir, "overlay.json")
	root, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	of, err := json.Marshal(map[string]any{"Replace": map[string]string{filepath.Join(root, "pkg", "embedding",
		"embedding.go"): file}})
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{file: []byte(text), overlay: of} {
		if err := os.WriteFile(name, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.CommandContext(t.Context(), "go", "build", "-overlay", overlay, "./pkg/embedding")
	cmd.Dir = root
	said, err := cmd.CombinedOutput()
	return string(said), err
}

// The examples of README.md and DEVELOPERS.md compile.
func TestExamplesOfDevelopersCompile(t *testing.T) {
	bodies := fences(t)
	if len(bodies) < 2 {
		t.Fatalf("README.md and DEVELOPERS.md have %d examples in Go", len(bodies))
	}
	if said, err := compiles(t, program(t, bodies)); err != nil {
		t.Errorf("%v\n%s", err, said)
	}
	if said, err := compiles(t, program(t, []string{"_ = pipeline.NotThere\n"})); err == nil || !strings.Contains(said,
		"NotThere") {
		t.Errorf("a function that is not there is taken: %v %s", err, said)
	}
}

// The table of tasks names what is there.
func TestTableOfTasks(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, section, _ := strings.Cut(string(text), "## Embedding\n")
	section, _, _ = strings.Cut(section, "```")
	exported := map[string][]string{} // by package
	for _, name := range rooms(t) {
		for _, f := range sources(t, name, false) {
			for _, d := range f.Decls {
				switch d := d.(type) {
				case *ast.FuncDecl:
					exported[filepath.Base(name)] = append(exported[filepath.Base(name)], d.Name.Name)
				case *ast.GenDecl:
					for _, s := range d.Specs {
						if ts, ok := s.(*ast.TypeSpec); ok {
							exported[filepath.Base(name)] = append(exported[filepath.Base(name)], ts.Name.Name)
						}
					}
				}
			}
		}
	}
	named := regexp.MustCompile("`([a-z]+)\\.([A-Z]\\w*)`").FindAllStringSubmatch(section, -1)
	if len(named) < 6 {
		t.Fatalf("the table names %d functions", len(named))
	}
	for _, m := range named {
		if !slices.Contains(exported[m[1]], m[2]) {
			t.Errorf("there is no %s.%s", m[1], m[2])
		}
	}
}

// The walk of one depth cell in DEVELOPERS.md names functions that are where it says.
func TestWalkOfOneCell(t *testing.T) {
	raw, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	steps := regexp.MustCompile("(?m)^\\| [a-z ]*\\| `([\\w./]+\\.go)` \\| `(\\w+)` \\|").FindAllStringSubmatch(
		string(raw), -1)
	if len(steps) < 12 {
		t.Fatalf("only %d steps", len(steps))
	}
	for _, s := range steps {
		code, err := os.ReadFile("../" + s[1])
		if err != nil {
			t.Fatal(err)
		}
		if !regexp.MustCompile(`(?m)^func (\([^)]*\) )?` + s[2] + `\(`).Match(code) {
			t.Errorf("%s has no function %s", s[1], s[2])
		}
	}
}
