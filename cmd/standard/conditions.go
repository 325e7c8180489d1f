package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
)

// conditions returns, by code, exactly when each rule draws its notice. The words stand beside the rule, as a
// comment in its literal that begins with "When: ", so that whoever changes the one sees the other.
func conditions(folder string) (map[string]string, error) {
	files, err := filepath.Glob(filepath.Join(folder, "*.go"))
	if err != nil {
		return nil, err
	}
	when := make(map[string]string)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			literal, ok := n.(*ast.CompositeLit)
			if !ok {
				return true
			}
			if is, ok := literal.Type.(*ast.Ident); !ok || is.Name != "Rule" {
				return true
			}
			when[codeOf(literal)] = conditionIn(literal, file.Comments)
			return false
		})
	}
	return when, nil
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

func conditionIn(rule *ast.CompositeLit, comments []*ast.CommentGroup) string {
	for _, group := range comments {
		if group.Pos() > rule.Pos() && group.End() < rule.End() {
			if text, is := strings.CutPrefix(strings.Join(strings.Fields(group.Text()), " "), "When: "); is {
				return text
			}
		}
	}
	return ""
}
