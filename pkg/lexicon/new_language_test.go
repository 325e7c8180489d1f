package lexicon_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/heavy"
)

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
	run(`"min":50.8,"max":50.8,"unit":"cm","said":"in"`, "read", "length", "--json", "--language", "qq", "zqtwenty zqinches")
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
