package lexicon_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/lexicon"
)

// beside are the classes that terms, headings and tables use, which have no grammar.
var beside = map[string]bool{
	"doubt": true, "coat": true, "with": true, "plural-ending": true, "not-counted": true, "side": true,
	"count-ending": true,
	"ditto":        true,
	"total":        true, "date-pattern": true, "latlon": true, "position-name": true, "position-filler": true,
	"geographic": true, "sheet": true, "example": true, "oneself": true, "title": true, "hour": true,
}

// The grammars name every word class that a reading knows, and no other; none is longer than 200 lines.
func TestGrammarNamesTheClasses(t *testing.T) {
	files, err := filepath.Glob("../../schema/grammar/*")
	if err != nil || len(files) != 6 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	classes := lexicon.ByTag("en").Words
	named := map[string]bool{}
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(raw), "\n"); n > 200 {
			t.Errorf("%s has %d lines", name, n)
		}
		for _, m := range regexp.MustCompile(`<([a-z][a-z-]*)[^<>]*>`).FindAllStringSubmatch(string(raw), -1) {
			named[m[1]] = true
			if _, known := classes[m[1]]; !known && m[1] != "number" && m[1] != "hundred" && m[1] != "class" {
				t.Errorf("%s names the class %s, which is none", name, m[1])
			}
		}
	}
	for class := range classes {
		if !named[class] && !beside[class] {
			t.Errorf("no grammar names the class %s", class)
		}
	}
}

// Each production of the grammars is named in the comment of the function that reads it, and no other is named.
func TestReadersNameTheProductions(t *testing.T) {
	rule := regexp.MustCompile(`(?m)^([a-z][a-z0-9-]*)\s+<- `)
	comment := regexp.MustCompile(`(?m)^// Grammar: ([a-z0-9, -]+?)(?: \([a-z ]+\))?\.\n(?://.*\n)*func `)
	for room, grammars := range map[string][]string{"quantity": {"length", "count"}, "edtf": {"date", "dating"},
		"coordinate": {"position"}} {
		want, have := map[string]bool{}, map[string]bool{}
		for _, name := range grammars {
			raw, err := os.ReadFile("../../schema/grammar/" + name + ".peg")
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range rule.FindAllStringSubmatch(string(raw), -1) {
				want[m[1]] = true
			}
		}
		files, err := filepath.Glob("../" + room + "/*.go")
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range files {
			raw, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range comment.FindAllStringSubmatch(string(raw), -1) {
				for _, production := range strings.Split(m[1], ", ") {
					have[production] = true
				}
			}
		}
		for name := range want {
			if !have[name] {
				t.Errorf("%s: no function says that it reads %s", room, name)
			}
		}
		for name := range have {
			if !want[name] {
				t.Errorf("%s: a function says that it reads %s, which no grammar has", room, name)
			}
		}
	}
}
