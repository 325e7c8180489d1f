package lexicon_test

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/testkit/heavy"
	"github.com/findslip/findslip/pkg/text"
)

// Every file of the lexicon is valid against its schema, stands in the list, and spells its words in lower case.
func TestFiles(t *testing.T) {
	compiled, err := jsonschema.Compile("../../schema/lexicon.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob("../../schema/lexicon/*.json")
	if err != nil {
		t.Fatal(err)
	}
	var listed []string
	for _, l := range lexicon.Languages() {
		listed = append(listed, "../../schema/lexicon/"+l.Tag+".json")
	}
	for _, name := range names {
		if filepath.Base(name) == "languages.json" {
			continue
		}
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var tree any
		d := json.NewDecoder(bytes.NewReader(raw))
		d.UseNumber()
		if err := d.Decode(&tree); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := compiled.Validate(tree); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !slices.Contains(listed, name) {
			t.Errorf("%s does not stand in languages.json", name)
		}
	}
	for _, l := range lexicon.Languages() {
		for class, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					if form != lexicon.Folded(form) || strings.TrimSpace(form) != form {
						t.Errorf("%s, %s: %q is not folded", l.Tag, class, form)
					}
				}
			}
		}
	}
}

// The numbers of a language are complete, and no word stands for two of them.
func TestNumbers(t *testing.T) {
	for _, tag := range lexicon.Tags() {
		l := lexicon.ByTag(tag)
		have, values := map[string]lexicon.Number{}, map[uint16]bool{}
		l.Numbers.All(func(word string, v lexicon.Number) {
			if old, two := have[word]; two && (old.Num != v.Num || old.Den != v.Den) {
				t.Errorf("%s: %q is %d/%d and %d/%d", tag, word, old.Num, old.Den, v.Num, v.Den)
			}
			have[word] = v
			if v.Den == 1 {
				values[v.Num] = true
			}
		})
		for n := range uint16(70) {
			if !values[n] {
				t.Errorf("%s has no word for %d", tag, n)
			}
		}
	}
}

// A table finds a word as it is spelt, without its accents, and as a plain keyboard writes it.
func TestFind(t *testing.T) {
	table := lexicon.Compile(func(w lexicon.Word) (int, bool) {
		return w.Is.Int(),
			w.Class == "month" || w.Class == "weekday"
	},
		func(old, more int) int { return max(old, more) })
	for word, want := range map[string]int{"märz": 3, "maerz": 3, "marz": 3, "août": 8, "aout": 8, "january": 1} {
		if got, ok := table.Find([]byte(word), nil); !ok || got != want {
			t.Errorf("%s: %d, %v", word, got, ok)
		}
	}
	if _, ok := table.Find([]byte("moctober"), nil); ok {
		t.Error("a word that is none is found")
	}
	// mar is March in English and Tuesday in French.
	en, _ := table.Find([]byte("mar"), lexicon.ByTag("en-GB"))
	if en != 3 || lexicon.ByTag("xx") != nil || lexicon.ByTag("mul") != nil {
		t.Errorf("mar in English: %d", en)
	}
}

// A language is added with files alone: a made-up one, each word of which is the English one behind zq, is read, is
// understood in headings and is the language of a template.
func TestLanguageOfFilesAlone(t *testing.T) {
	heavy.Test(t)
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	overlay := map[string]string{}
	lay := func(name, text string) {
		file := filepath.Join(dir, filepath.Base(filepath.Dir(name))+filepath.Base(name))
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		overlay[filepath.Join(root, name)] = file
	}
	lay("schema/lexicon/qq.json", madeUp(t, root))
	lay("schema/lexicon/languages.json", `["en", "de", "nl", "fr", "da", "sv", "nb", "pl", "qq", "mul"]`)
	lay("schema/labels/qq.json", strings.ReplaceAll(fileOf(t, root, "schema/labels/en.json"), "As you know it", "Zqas"))
	list, err := json.Marshal(map[string]any{"Replace": overlay})
	if err != nil {
		t.Fatal(err)
	}
	lay("overlay.json", string(list))
	program := filepath.Join(dir, "findslip")
	build := exec.Command("go", "build", "-overlay", overlay[filepath.Join(root, "overlay.json")], "-o", program,
		"./cmd/findslip")
	build.Dir = root
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	run := func(want string, args ...string) {
		t.Helper()
		cmd := exec.Command(program, args...)
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); !strings.Contains(string(out), want) {
			t.Errorf("%q: %v, %s is not in:\n%s", args, err, want, out)
		}
	}
	run(`"min":50.8,"max":50.8,"unit":"cm","said":"in"`, "read", "length", "--json", "--language", "qq",
		"zqtwenty zqinches")
	run(`"approximate":true`, "read", "length", "--json", "zqabout zqtwenty-zqfive zqinches")
	run(`"absent":"not-measured"`, "read", "length", "--json", "zqnot zqmeasured")
	run(`"date":"2024-04-03"`, "read", "date", "--json", "3 zqapril 2024")
	run(`"date":"1701/1733"`, "read", "dating", "--json", "zqearly zqeighteenth zqcentury")
	run(`"min":12,"max":12`, "read", "count", "--json", "zqa zqdozen")
	sheet := "zqdepth [cm],zqdate zqfound,zqobject,zqweight [g]\n12,2024-04-03,bell,3\n14,2024-04-04,token,4\n"
	if err := os.WriteFile(filepath.Join(dir, "log.csv"), []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	run(`"verbatim":"12"`, "convert", "log.csv", "--to", "jsonl", "-o", "-")
	run(`"date":"2024-04-03"`, "convert", "log.csv", "--to", "jsonl", "-o", "-")
	run("", "template", "--language", "qq", "-o", "made.xlsx")
	if _, err := os.Stat(filepath.Join(dir, "made.xlsx")); err != nil {
		t.Error(err)
	}
}

func fileOf(t *testing.T, root, name string) string {
	raw, err := os.ReadFile(filepath.Join(root, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// madeUp is the English file with zq before each word.
func madeUp(t *testing.T, root string) string {
	var file map[string]any
	if err := json.Unmarshal([]byte(fileOf(t, root, "schema/lexicon/en.json")), &file); err != nil {
		t.Fatal(err)
	}
	var zq func(v any) any
	zq = func(v any) any {
		switch v := v.(type) {
		case string:
			words := strings.Fields(v)
			for i := range words {
				words[i] = "zq" + words[i]
			}
			return strings.Join(words, " ")
		case []any:
			for i := range v {
				v[i] = zq(v[i])
			}
		}
		return v
	}
	file["language"], file["name"] = "qq", "Zq"
	numbers := file["numbers"].(map[string]any)
	for _, key := range [...]string{"small", "tens", "hundred", "thousand"} {
		numbers[key] = zq(numbers[key])
	}
	numbers["values"] = map[string]any{}
	for _, entries := range file["words"].(map[string]any) {
		for _, e := range entries.([]any) {
			e := e.(map[string]any)
			e["forms"] = zq(e["forms"])
		}
	}
	headings := file["headings"].(map[string]any)
	for key := range headings {
		headings[key] = zq(headings[key])
	}
	file["danger"] = map[string]any{"source": "none"}
	raw, err := json.Marshal(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

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

// published are the words of all forms and numbers, plain, by language.
func published() map[string]map[string]bool {
	out := map[string]map[string]bool{}
	for _, l := range lexicon.Languages() {
		words := map[string]bool{}
		add := func(form string) {
			for _, word := range regexp.MustCompile(`[\pL\pM']+`).FindAllString(form, -1) {
				words[string(text.AppendPlain(nil, []byte(lexicon.Folded(word))))] = true
			}
		}
		for _, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					add(form)
				}
			}
		}
		l.Numbers.All(func(word string, _ lexicon.Number) { add(word) })
		for _, word := range l.Numbers.Hundred {
			add(word)
		}
		out[l.Tag] = words
	}
	return out
}

// inGo are files that hold other letters or words on purpose: damaged text, letters by which an encoding is told,
// names of people and things, and the forms in words that a copy for others must not hold.
var inGo = regexp.MustCompile(`(quantity/damage|table/guess|validate/rule_damage|internal/kinds/kinds.gen|` +
	`coordinate/systems|` +
	`share/(doubt|fold|leak_forms|secretfinds))\.go$`)

// No Go file holds a word of another language than English: words stand in the lexicon, what is shown in labels and
// speech. A word that the papers of the project use is English.
func TestNoForeignWordInGo(t *testing.T) {
	word, letters := regexp.MustCompile(`[\pL\pM]+`), regexp.MustCompile(`[\x{C0}-\x{24F}]+`)
	english, foreign := map[string]bool{}, map[string]string{}
	for _, name := range [...]string{"SPEC.md", "DEVELOPERS.md", "README.md", "schema/speech/en.json",
		"schema/lexicon/en.json"} {
		raw, err := os.ReadFile("../../" + name)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range word.FindAllString(strings.ToLower(string(raw)), -1) {
			english[w] = true
		}
	}
	for tag, words := range published() {
		for w := range words {
			if len(w) > 3 && tag != "en" && tag != "mul" && !english[w] && !spelling[w] {
				foreign[w] = tag
			}
		}
	}
	read := 0
	walk := func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") ||
			inGo.MatchString(filepath.ToSlash(name)) {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		read++
		ast.Inspect(f, func(n ast.Node) bool {
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			s, _ := strconv.Unquote(lit.Value)
			if m := letters.FindString(s); m != "" && m != "×" && m != "Â" && m != "Øø" {
				t.Errorf("%s: the letters %s in %q", name, m, s)
			}
			for _, w := range word.FindAllString(strings.ToLower(s), -1) {
				if tag := foreign[w]; tag != "" {
					t.Errorf("%s: %q is a word of %s", name, w, tag)
				}
			}
			return true
		})
		return err
	}
	for _, top := range [...]string{"../../pkg", "../../cmd", "../../schema"} {
		if err := filepath.WalkDir(top, walk); err != nil {
			t.Fatal(err)
		}
	}
	if read < 300 {
		t.Errorf("only %d files were looked into", read)
	}
}

// spelling are words of code and messages that are spelt like a word of another language.
var spelling = map[string]bool{"lang": true, "sans": true, "fund": true}

// Every word of a text that is read stands in a published file.
func TestWordsOfVectorsArePublished(t *testing.T) {
	all := map[string]bool{}
	for _, words := range published() {
		for word := range words {
			all[word] = true
		}
	}
	known := func(word string) bool {
		plain := string(text.AppendPlain(nil, []byte(lexicon.Folded(word))))
		_, hundred := lexicon.Hundreds([]byte(lexicon.Folded(word)))
		for _, spelling := range [...]string{plain,
			strings.NewReplacer("ae", "a", "oe", "o", "ue", "u", "aa", "a").Replace(plain), strings.Trim(plain, "'")} {
			if all[spelling] {
				return true
			}
		}
		return hundred ||
			regexp.MustCompile(`^[IVXivx]+[a-zè]*$|^[XYTZSxyte]$|^[ap]m?$|^(GMT|UTC|CC)$|^[tT]h?[cC]?$`).MatchString(word)
	}
	for _, kind := range [...]string{"quantity-length", "quantity-mass", "quantity-count", "date-found", "date-dating"} {
		raw, err := os.ReadFile("../../testdata/vectors/" + kind + ".json")
		if err != nil {
			t.Fatal(err)
		}
		var vectors []struct {
			ID, Input, Class, Why string
			Expect                struct{ Period string }
		}
		if err := json.Unmarshal(raw, &vectors); err != nil {
			t.Fatal(err)
		}
		missing := 0
		for _, v := range vectors {
			if v.Class == "refused" || v.Expect.Period != "" || v.Why == "a place behind a depth" {
				continue // a period or a place is kept as it is written, with the names in it
			}
			for _, word := range regexp.MustCompile(`[\pL\pM]+(?:['’][\pL\pM]+)?`).FindAllString(v.Input, -1) {
				parts := strings.FieldsFunc(word, func(r rune) bool { return r == '\'' || r == '’' })
				ok := known(word)
				for _, part := range parts {
					ok = ok || len(parts) > 1 && known(part)
				}
				if !ok {
					missing++
					t.Errorf("%s %q: %q stands in no published file", v.ID, v.Input, word)
				}
			}
		}
	}
}

// Every word of every language, but those that only tables and headings ask for, stands in a vector of the language.
func TestEveryWordHasAVector(t *testing.T) {
	texts := map[string]string{}
	names, err := filepath.Glob("../../testdata/vectors/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var vectors []struct {
			Language, Input string
			Inputs          []string
		}
		if json.Unmarshal(raw, &vectors) != nil {
			continue // of another shape
		}
		for _, v := range vectors {
			texts[v.Language] += "\n" + lexicon.Folded(v.Input+"\n"+strings.Join(v.Inputs, "\n"))
		}
	}
	for _, l := range lexicon.Languages() {
		missing := func(class, form string) {
			if !strings.Contains(texts[l.Tag], form) && !strings.Contains(texts["mul"], form) {
				t.Errorf("%s, %s: %q stands in no vector", l.Tag, class, form)
			}
		}
		for class, entries := range l.Words {
			for _, e := range entries {
				for _, form := range e.Forms {
					if !beside[class] {
						missing(class, form)
					}
				}
			}
		}
		l.Numbers.All(func(word string, v lexicon.Number) {
			if v.Den == 1 && (v.Num < 20 || v.Num < 100 && v.Num%10 == 0) {
				missing("number", word)
			}
		})
	}
}
