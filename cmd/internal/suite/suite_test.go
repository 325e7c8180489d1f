package suite_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

var project = os.DirFS(filepath.Join("..", "..", ".."))

// TestFilesAreValid holds every file of the suite to vectors.schema.json.
func TestFilesAreValid(t *testing.T) {
	schema, err := jsonschema.Compile(filepath.Join("..", "..", "..", "testdata", "suite", "vectors.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	names, err := fs.Glob(project, "testdata/suite/*/*.json")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d files: %v", len(names), err)
	}
	for _, name := range names {
		raw, err := fs.ReadFile(project, name)
		if err != nil {
			t.Fatal(err)
		}
		var v any
		dec := json.NewDecoder(bytes.NewReader(raw))
		dec.UseNumber()
		if err := dec.Decode(&v); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := schema.Validate(v); err != nil {
			t.Errorf("%s: %.400v", name, err)
		}
	}
}

// TestReadme holds the protocol as it is told to strangers to vectors.schema.json and to the vectors:
// every operation, option, member of what is expected, and target is named.
func TestReadme(t *testing.T) {
	raw, err := fs.ReadFile(project, "testdata/suite/README.md")
	if err != nil {
		t.Fatal(err)
	}
	readme := string(raw)
	raw, err = fs.ReadFile(project, "testdata/suite/vectors.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var shape struct {
		Items struct {
			Properties struct {
				Expect struct{ Properties map[string]any }
			}
		}
		Defs struct{ Operation struct{ Enum []string } } `json:"$defs"`
	}
	if err := json.Unmarshal(raw, &shape); err != nil {
		t.Fatal(err)
	}
	rows := map[string]string{} // what is said of an operation
	for line := range strings.SplitSeq(readme, "\n") {
		if cells := strings.Split(line, " | "); len(cells) >= 2 {
			for name := range strings.SplitSeq(strings.Trim(cells[0], "| "), ", ") {
				rows[strings.Trim(name, "`")] = line
			}
		}
	}
	for name := range shape.Items.Properties.Expect.Properties {
		if rows[name] == "" {
			t.Errorf("the README has no row for %s of what is expected", name)
		}
	}
	for _, name := range shape.Defs.Operation.Enum {
		if rows[name] == "" {
			t.Errorf("the README has no row for the operation %s", name)
		}
	}
	all, err := suite.Load(project)
	if err != nil {
		t.Fatal(err)
	}
	spec, err := fs.ReadFile(project, "SPEC.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, target := range suite.Targets() {
		if !strings.Contains(string(spec), "**"+target+"**") {
			t.Errorf("SPEC.md has no target %s", target)
		}
	}
	for _, v := range all {
		for _, s := range append([]suite.Step{{Operation: v.Operation, Options: v.Options}}, v.Then...) {
			row := rows[s.Operation]
			if s.Operation == "write" {
				row += rows["convert"] + rows["share"]
			}
			for option := range s.Options {
				if !strings.Contains(row, "`"+option+"`") {
					t.Errorf("%s: the README does not name the option %s of %s", v.ID, option, s.Operation)
				}
			}
		}
	}
}

// TestJudge gives answers that are wrong in one way each.
func TestJudge(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Expect suite.Expect
		Answer suite.Answer
		Wrong  string // a part of what is said; none: the answer is right
	}](t, "Judge") {
		v := &suite.Vector{Expect: c.Expect}
		got := strings.Join(v.Judge([]suite.Answer{c.Answer}), "; ")
		if c.Wrong == "" && got != "" || !strings.Contains(got, c.Wrong) {
			t.Errorf("%s: %q, want %q", name, got, c.Wrong)
		}
	}
	if got := new(suite.Vector).Judge(nil); len(got) != 1 {
		t.Errorf("no answer: %q", got)
	}
}

// TestJudgePicture shows pictures that are right, turned, of another size, and none.
func TestJudgePicture(t *testing.T) {
	colours := map[string]color.RGBA{"red": {230, 20, 20, 255}, "green": {20, 200, 20, 255}, "blue": {20, 20, 230, 255},
		"white": {250, 250, 250, 255}}
	draw := func(w, h int, corners [4]string) suite.Answer {
		img := image.NewRGBA(image.Rect(0, 0, w, h))
		for y := range h {
			for x := range w {
				img.Set(x, y, colours[corners[2*y/h*2+2*x/w]])
			}
		}
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		s := base64.StdEncoding.EncodeToString(b.Bytes())
		return suite.Answer{Output: &suite.Content{Base64: &s}}
	}
	v := &suite.Vector{Expect: suite.Expect{Picture: &suite.Picture{Width: 8, Height: 16,
		Corners: [4]string{"red", "green", "blue", "white"}}}}
	none := "none"
	for wrong, a := range map[string]suite.Answer{
		"":                          draw(8, 16, [4]string{"red", "green", "blue", "white"}),
		"corner 1 of the picture":   draw(8, 16, [4]string{"white", "blue", "green", "red"}),
		"is another, not green":     draw(8, 16, [4]string{"red", "black", "blue", "white"}),
		"is 16 wide and 8 high":     draw(16, 8, [4]string{"red", "green", "blue", "white"}),
		"no picture in JPEG or PNG": {Output: &suite.Content{Text: &none}},
	} {
		got := strings.Join(v.Judge([]suite.Answer{a}), "; ")
		if wrong == "" && got != "" || !strings.Contains(got, wrong) {
			t.Errorf("%q, want %q", got, wrong)
		}
	}
}

// TestRoom does to the files of a vector what an implementation may do wrong.
func TestRoom(t *testing.T) {
	files := suite.Files{"in.csv": {Text: "number\n", More: "1\n", Times: 3}, "old.csv": {Text: "old"},
		"grows.csv": {Text: "g", More: "m", Grows: true}}
	want := map[string]suite.FileExpect{"in.csv": {State: "untouched", Contains: []string{"1\n1\n1\n"}},
		"old.csv": {State: "untouched"}, "grows.csv": {State: "untouched"},
		"out.csv": {State: "new", Contains: []string{"a"}, Lacks: []string{"secret"}}}
	for name, c := range map[string]struct {
		do    map[string]string // files that are written; an empty text takes one away
		wrong string
	}{
		"right":                {map[string]string{"out.csv": "abc"}, ""},
		"nothing written":      {nil, "out.csv is not there"},
		"an empty file":        {map[string]string{"out.csv": " "}, "does not have"},
		"the input written":    {map[string]string{"out.csv": "abc", "in.csv": "abc"}, "in.csv was touched"},
		"the input lengthened": {map[string]string{"out.csv": "abc", "in.csv": "number\n1\n1\n1\n1\n"}, "in.csv was touched"},
		"the input taken away": {map[string]string{"out.csv": "abc", "in.csv": ""}, "in.csv is not there"},
		"something left":       {map[string]string{"out.csv": "abc", ".out.csv.tmp": "a"}, ".out.csv.tmp lies in the folder"},
		"too much told":        {map[string]string{"out.csv": "abc secret"}, `out.csv has "secret"`},
	} {
		r, err := suite.NewRoom(files)
		if err != nil {
			t.Fatal(err)
		}
		for file, text := range c.do {
			path := filepath.Join(r.Path, file)
			if text == "" {
				err = os.Remove(path)
			} else {
				err = os.WriteFile(path, []byte(text), 0o600)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		got := strings.Join(r.Judge(want), "; ")
		if c.wrong == "" && got != "" || !strings.Contains(got, c.wrong) {
			t.Errorf("%s: %q, want %q", name, got, c.wrong)
		}
		r.Close()
		if _, err := os.Stat(r.Path); err == nil {
			t.Errorf("%s: the folder stays", name)
		}
	}
	if r, err := suite.NewRoom(nil); r != nil || err != nil || len(r.Judge(nil)) > 0 {
		t.Errorf("no files: %v, %v", r, err)
	}
}
