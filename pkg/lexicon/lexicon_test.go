package lexicon_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/testkit/heavy"
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
