package main

import (
	"path/filepath"
	"regexp"
	"testing"

	"github.com/findslip/findslip/pkg/validate"
)

// Every rule says exactly when it draws its notice, in words of the format: codes, settings and rules that it names
// are there.
func TestEveryRuleHasItsCondition(t *testing.T) {
	when, err := conditions(filepath.Join(root, "pkg/validate"))
	if err != nil {
		t.Fatal(err)
	}
	catalogue := validate.Catalogue()
	rules := map[string]bool{}
	for _, r := range catalogue {
		rules[r.Code] = true
		if text := when[r.Code]; len(text) < 40 {
			t.Errorf("%s: its literal has no comment that begins with \"When: \" and says when it is drawn", r.Code)
		}
	}
	if len(when) != len(catalogue) {
		t.Errorf("%d rules in the files, %d in the catalogue", len(when), len(catalogue))
	}
	asIn := regexp.MustCompile("\\bas in ((?:`[a-z-]+`(?:, | and )?)+)")
	code := regexp.MustCompile("`([a-z-]+)`")
	for of, text := range when {
		for _, m := range asIn.FindAllStringSubmatch(text, -1) {
			for _, named := range code.FindAllStringSubmatch(m[1], -1) {
				if !rules[named[1]] {
					t.Errorf("%s: %q is no rule", of, named[1])
				} else if named[1] == of {
					t.Errorf("%s names itself", of)
				}
			}
		}
	}
	if _, is := when[""]; is {
		t.Error("a rule whose code is no plain text")
	}
}
