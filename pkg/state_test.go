package pkg_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strings"
	"testing"
)

// memories are the variables of packages that change while a program runs. Each only remembers what
// was made of something that never changes, or lends memory, so that nobody can tell whether it was
// used before.
var memories = map[string]string{
	"pkg/find.trees":      "the map seen from each record",
	"pkg/share.sheetOnce": "the page is parsed once",
	"pkg/share.sheetRead": "the page that was parsed",
	"pkg/render.pageOnce": "the page is parsed once",
	"pkg/render.pageRead": "the page that was parsed",
	"pkg/edtf.endToken":   "it is pointed to, as what stands behind the last token, and never written",
}

// variables returns the names of the variables of a package.
func variables(files []*ast.File) map[string]bool {
	out := map[string]bool{}
	for _, f := range files {
		for _, d := range f.Decls {
			if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.VAR {
				for _, s := range g.Specs {
					for _, id := range s.(*ast.ValueSpec).Names {
						out[id.Name] = true
					}
				}
			}
		}
	}
	return out
}

// changed returns the variables of a package that its functions assign to, wholly or in part, take the
// address of, or call a method of that changes what it is called on.
func changed(files []*ast.File) []string {
	vars, found := variables(files), map[string]bool{}
	for _, f := range files {
		outside := map[*ast.Ident]bool{} // names of other files of the package
		for _, id := range f.Unresolved {
			outside[id] = true
		}
		touch := func(e ast.Expr) {
			for {
				switch x := e.(type) {
				case *ast.IndexExpr:
					e = x.X
					continue
				case *ast.SelectorExpr:
					e = x.X
					continue
				case *ast.StarExpr:
					e = x.X
					continue
				case *ast.ParenExpr:
					e = x.X
					continue
				case *ast.SliceExpr:
					e = x.X
					continue
				case *ast.Ident:
					if vars[x.Name] && (outside[x] || x.Obj != nil && f.Scope.Lookup(x.Name) == x.Obj) {
						found[x.Name] = true
					}
				}
				return
			}
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if g, isGen := d.(*ast.GenDecl); isGen && g.Tok == token.VAR {
				ok = true // functions within the values
			}
			if !ok || fn != nil && fn.Name.Name == "init" && fn.Recv == nil {
				continue
			}
			ast.Inspect(d, func(n ast.Node) bool {
				switch x := n.(type) {
				case *ast.AssignStmt:
					if x.Tok != token.DEFINE {
						for _, l := range x.Lhs {
							touch(l)
						}
					}
				case *ast.IncDecStmt:
					touch(x.X)
				case *ast.RangeStmt:
					if x.Tok == token.ASSIGN {
						touch(x.Key)
						touch(x.Value)
					}
				case *ast.UnaryExpr:
					if _, made := x.X.(*ast.CompositeLit); x.Op == token.AND && !made {
						touch(x.X)
					}
				case *ast.CallExpr:
					switch f := x.Fun.(type) {
					case *ast.Ident:
						if (f.Name == "delete" || f.Name == "clear" || f.Name == "copy") && len(x.Args) > 0 {
							touch(x.Args[0])
						}
					case *ast.SelectorExpr:
						switch f.Sel.Name {
						case "Store", "LoadOrStore", "Delete", "Swap", "CompareAndSwap", "Do", "Lock", "Add", "Reset":
							touch(f.X)
						}
					}
				}
				return true
			})
		}
	}
	var out []string
	for v := range found {
		out = append(out, v)
	}
	slices.Sort(out)
	return out
}

// No package has state that one part of a program could change under another: what changes at all is
// a memory that nobody can tell.
func TestNoState(t *testing.T) {
	met := map[string]bool{}
	for name := range floors {
		if strings.HasPrefix(name, "cmd/") {
			continue
		}
		for _, v := range changed(sources(t, name, false)) {
			v = name + "." + v
			met[v] = true
			if memories[v] == "" {
				t.Errorf("%s is a variable of a package that changes", v)
			}
		}
	}
	told, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	for v, why := range memories {
		if !met[v] {
			t.Errorf("%s is listed and does not change", v)
		}
		if row := "| `" + v + "` | " + why + " |"; !strings.Contains(string(told), row) {
			t.Errorf("DEVELOPERS.md lacks the row %s", row)
		}
	}
}

// The check above finds what it is there to find, and passes over what is local.
func TestChanged(t *testing.T) {
	var files []*ast.File
	for _, text := range []string{`package x
		var set, part, counted, pointed, kept, gone, fine, shadowed = 1, []int{}, 0, 0, m{}, m{}, 0, 0
		func init() { fine = 2 }
		func f(shadowed int) { set = 1; shadowed = fine; fine := 3; fine++ }`,
		`package x
		func g() { part[0] = 1; counted++; p := &pointed; kept.Store(1, p); delete(gone, 1) }`} {
		f, err := parser.ParseFile(token.NewFileSet(), "x.go", text, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	if got := fmt.Sprint(changed(files)); got != "[counted gone kept part pointed set]" {
		t.Errorf("found %s", got)
	}
}
