package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

// A mutant is one deliberate fault in a rule. Its text says what was done to the code.
type mutant struct {
	ID   int    `json:"id"`
	Code string `json:"code"` // of the rule that it stands in; empty: in a helper of several
	At   string `json:"at"`   // file:line
	Text string `json:"text"`
}

// doMutants breaks the rules on purpose, one condition at a time, and asks whether the reports of testdata/codes
// notice: a broken rule that still gives every notice rightly shows that a vector is missing. The faults are all
// built into one test program at once and switched on one after the other.
func doMutants(ctx context.Context, flags *flag.FlagSet, args []string, out, talk io.Writer) error {
	root := flags.String("root", ".", "`folder` of the project")
	least := flags.Float64("least", 0, "fail where fewer `per cent` of the faults are noticed")
	if err := flags.Parse(args); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	top, err := filepath.Abs(*root)
	if err != nil {
		return err
	}
	overlay, list, err := breakRules(filepath.Join(top, "pkg", "validate"), folder)
	if err != nil {
		return err
	}
	for name, value := range map[string]any{"overlay.json": map[string]any{"Replace": overlay}, "mutants.json": list} {
		raw, err := json.Marshal(value)
		if err == nil {
			err = os.WriteFile(filepath.Join(folder, name), raw, 0o600)
		}
		if err != nil {
			return err
		}
	}
	test := exec.CommandContext(ctx, "go", "test", "-count=1", "-timeout=3h", "-tags=mutants", "-vet=off",
		"-overlay="+filepath.Join(folder, "overlay.json"), "-v", "-run=^TestMutants$", "./pkg/validate")
	test.Dir, test.Stderr, test.Stdout = top, talk, talk
	test.Env = append(os.Environ(), "FINDSLIP_MUTANTS="+folder)
	if err := test.Run(); err != nil {
		return err
	}
	var left []mutant
	raw, err := os.ReadFile(filepath.Join(folder, "left.json"))
	if err == nil {
		err = json.Unmarshal(raw, &left)
	}
	if err != nil {
		return err
	}
	for _, m := range left {
		fmt.Fprintf(out, "%-28s %-32s %s\n", m.Code, m.At, m.Text)
	}
	share := 100 * float64(len(list)-len(left)) / float64(max(len(list), 1))
	fmt.Fprintf(out, "%d of %d faults are noticed (%.1f per cent)\n", len(list)-len(left), len(list), share)
	if share < *least {
		return errDiffers
	}
	return nil
}

// breakRules writes copies of the rules with hooks for faults into a folder, and returns which file each stands for.
func breakRules(rules, folder string) (map[string]string, []mutant, error) {
	names, err := filepath.Glob(filepath.Join(rules, "rule_*.go"))
	if err != nil || len(names) == 0 {
		return nil, nil, errors.Join(err, fmt.Errorf("%s: no rules", rules))
	}
	names = append(names, filepath.Join(rules, "law_conditions.go"), filepath.Join(rules, "danger.go"))
	overlay := map[string]string{}
	b := &breaker{next: 1}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := b.file(name)
		if err != nil {
			return nil, nil, err
		}
		overlay[name] = filepath.Join(folder, filepath.Base(name))
		if err := os.WriteFile(overlay[name], text, 0o600); err != nil {
			return nil, nil, err
		}
	}
	return overlay, b.list, nil
}

// A breaker puts hooks round conditions.
type breaker struct {
	next  int
	list  []mutant
	name  string
	text  []byte
	set   *token.FileSet
	code  string
	marks []mark
}

// A mark is text to be put in; at one place those that open come from the outermost to the innermost, those that
// close the other way round.
type mark struct {
	at    int
	open  bool
	depth int
	text  string
}

func (b *breaker) file(name string) ([]byte, error) {
	var err error
	if b.text, err = os.ReadFile(name); err != nil {
		return nil, err
	}
	b.set, b.name, b.marks = token.NewFileSet(), filepath.Base(name), nil
	file, err := parser.ParseFile(b.set, name, b.text, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	for _, d := range file.Decls {
		if f, ok := d.(*ast.FuncDecl); ok && f.Body != nil {
			b.code = ""
			b.walk(f.Body)
		} else if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.VAR {
			ast.Inspect(g, func(n ast.Node) bool {
				if l, ok := n.(*ast.CompositeLit); ok {
					if is, ok := l.Type.(*ast.Ident); ok && is.Name == "Rule" {
						b.code = codeOf(l)
						b.walk(l)
						return false
					}
				}
				return true
			})
		}
	}
	slices.SortStableFunc(b.marks, func(x, y mark) int {
		switch {
		case x.at != y.at:
			return x.at - y.at
		case x.open != y.open:
			if y.open {
				return -1
			}
			return 1
		case x.open:
			return x.depth - y.depth
		}
		return y.depth - x.depth
	})
	var out strings.Builder
	at := 0
	for _, m := range b.marks {
		out.Write(b.text[at:m.at])
		out.WriteString(m.text)
		at = m.at
	}
	out.Write(b.text[at:])
	return []byte(out.String()), nil
}

// walk puts hooks into everything below a node.
func (b *breaker) walk(top ast.Node) {
	whole := map[ast.Expr]bool{} // conditions as they stand in if, case and return
	depth := 0
	ast.Inspect(top, func(n ast.Node) bool {
		if n == nil {
			depth--
			return true
		}
		depth++
		markWhole(n, whole)
		switch n := n.(type) {
		case *ast.ForStmt:
			b.walk(n.Body)
			depth--
			return false
		case *ast.SelectorExpr:
			if on, ok := n.X.(*ast.SelectorExpr); ok && on.Sel.Name == "Settings" &&
				n.Sel.Name != "Protected" {
				b.hook(n, 2*depth, "mutantNumber", "", "plus one", "less one")
			}
		case *ast.CallExpr:
			f, ok := n.Fun.(*ast.SelectorExpr)
			if ok && f.Sel.Name == "Sprintf" { // words of a message
				depth--
				return false
			}
			if ok && f.Sel.Name == "Is" {
				for _, e := range n.Args {
					if l, ok := e.(*ast.BasicLit); ok && l.Kind == token.STRING {
						b.hook(e, 2*depth+2, "mutantText", "", "not known")
					}
				}
			}
		}
		e, ok := n.(ast.Expr)
		if !ok {
			return true
		}
		x, binary := e.(*ast.BinaryExpr)
		joined := binary && (x.Op == token.LAND || x.Op == token.LOR)
		if joined {
			whole[x.X], whole[x.Y] = true, true
		}
		if whole[e] && !joined && !b.isError(e) {
			b.hook(e, 2*depth, "mutantBool", "", "taken as true", "taken as false")
		}
		if binary {
			if other, ok := border[x.Op]; ok {
				b.hook(e, 2*depth+1, "mutantEdge", ", "+b.source(x.X)+other+b.source(x.Y), "as "+other)
			}
		}
		return true
	})
}

// markWhole marks the conditions that stand whole in if, case and return.
func markWhole(n ast.Node, whole map[ast.Expr]bool) {
	switch n := n.(type) {
	case *ast.IfStmt:
		whole[n.Cond] = true
	case *ast.SwitchStmt:
		for _, c := range n.Body.List {
			for _, e := range c.(*ast.CaseClause).List {
				whole[e] = n.Tag == nil
			}
		}
	case *ast.ReturnStmt:
		for _, e := range n.Results {
			if x, ok := e.(*ast.BinaryExpr); ok {
				whole[e] = isComparison(x.Op)
			}
		}
	}
}

// border is the comparison that has equals on the other side.
var border = map[token.Token]string{token.LSS: "<=", token.LEQ: "<", token.GTR: ">=", token.GEQ: ">"}

func isComparison(op token.Token) bool { return border[op] != "" || op == token.EQL || op == token.NEQ }

// isError reports whether a condition asks whether there was an error, which no report can bring about.
func (b *breaker) isError(e ast.Expr) bool { return strings.HasPrefix(b.source(e), "err ") }

func (b *breaker) source(n ast.Node) string {
	return string(b.text[b.offset(n.Pos()):b.offset(n.End())])
}

func (b *breaker) offset(p token.Pos) int { return b.set.Position(p).Offset }

// hook puts a call round an expression, for as many faults as there are words.
func (b *breaker) hook(e ast.Expr, depth int, call, more string, words ...string) {
	b.marks = append(b.marks, mark{b.offset(e.Pos()), true, depth, fmt.Sprintf("%s(%d, ", call, b.next)},
		mark{b.offset(e.End()), false, depth, more + ")"})
	at := fmt.Sprintf("%s:%d", b.name, b.set.Position(e.Pos()).Line)
	for i, w := range words {
		b.list = append(b.list, mutant{b.next + i, b.code, at, b.source(e) + ": " + w})
	}
	b.next += len(words)
}

// codeOf returns the code of the kind that a rule names: date-far of kinds.DateFar.
func codeOf(rule *ast.CompositeLit) (code string) {
	for _, e := range rule.Elts {
		if pair, ok := e.(*ast.KeyValueExpr); ok && pair.Key.(*ast.Ident).Name == "Kind" {
			for i, c := range pair.Value.(*ast.SelectorExpr).Sel.Name {
				if i > 0 && c <= 'Z' {
					code += "-"
				}
				code += strings.ToLower(string(c))
			}
		}
	}
	return code
}
