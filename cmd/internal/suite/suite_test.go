package suite_test

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/cmd/internal/suite"
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

// TestVectorsCanBeAsked loads the suite and makes every request of it.
func TestVectorsCanBeAsked(t *testing.T) {
	all, err := suite.Load(project)
	if err != nil {
		t.Fatal(err)
	}
	outcomes := map[string]int{}
	for _, v := range all {
		outcomes[v.Outcome]++
		if _, err := v.Request(project); err != nil {
			t.Error(err)
		}
	}
	if outcomes["pass"] < 1000 || outcomes["fail"] < 300 {
		t.Errorf("%d vectors pass and %d fail", outcomes["pass"], outcomes["fail"])
	}
}

// TestJudge gives answers that are wrong in one way each.
func TestJudge(t *testing.T) {
	text := func(s string) *suite.Content { return &suite.Content{Text: &s} }
	raw := func(s string) json.RawMessage { return json.RawMessage(s) }
	very := "a\nb\n"
	for name, c := range map[string]struct {
		expect suite.Expect
		answer suite.Answer
		wrong  string // a part of what is said; none: the answer is right
	}{
		"refused":          {suite.Expect{Refused: true, Code: "c"}, suite.Answer{Refused: &suite.Refusal{Code: "c", Message: "m"}}, ""},
		"not refused":      {suite.Expect{Refused: true}, suite.Answer{Output: text("x")}, "not refused"},
		"another code":     {suite.Expect{Refused: true, Code: "c"}, suite.Answer{Refused: &suite.Refusal{Code: "d", Message: "m"}}, `"d", not as c`},
		"no word":          {suite.Expect{Refused: true}, suite.Answer{Refused: &suite.Refusal{}}, "without a word"},
		"quoted":           {suite.Expect{Refused: true, Lacks: []string{"52.5"}}, suite.Answer{Refused: &suite.Refusal{Message: "at 52.50"}}, "refusal have"},
		"wrongly refused":  {suite.Expect{Says: []string{"c"}}, suite.Answer{Refused: &suite.Refusal{Code: "d", Message: "m"}}, "it is refused"},
		"value":            {suite.Expect{Value: raw(`{"min":2.540}`)}, suite.Answer{Output: text(`{"min":2.54}`)}, ""},
		"value off":        {suite.Expect{Value: raw(`{"min":2.54}`)}, suite.Answer{Output: text(`{"min":2.55}`)}, "min is 2.55"},
		"value missing":    {suite.Expect{Value: raw(`{"min":2.54}`)}, suite.Answer{Output: text(`{}`)}, "min is missing"},
		"value too much":   {suite.Expect{Value: raw(`{}`)}, suite.Answer{Output: text(`{"max":1}`)}, "was not to be"},
		"place":            {suite.Expect{Value: raw(`{"latitude":52,"longitude":-1}`), Within: 2}, suite.Answer{Output: text(`{"latitude":52.00001,"longitude":-1}`)}, ""},
		"place off":        {suite.Expect{Value: raw(`{"latitude":52,"longitude":-1}`), Within: 1}, suite.Answer{Output: text(`{"latitude":52.00001,"longitude":-1}`)}, "m off"},
		"no place":         {suite.Expect{Value: raw(`{"latitude":52,"longitude":-1}`), Within: 1}, suite.Answer{Output: text(`{"latitude":52}`)}, "m off"},
		"member":           {suite.Expect{Members: map[string]json.RawMessage{"/a/0/b~1c": raw("1")}}, suite.Answer{Output: text(`{"a":[{"b/c":1}]}`)}, ""},
		"member missing":   {suite.Expect{Members: map[string]json.RawMessage{"/a/1": raw("1")}}, suite.Answer{Output: text(`{"a":[1]}`)}, "nothing at /a/1"},
		"member off":       {suite.Expect{Members: map[string]json.RawMessage{"/a": raw("1")}}, suite.Answer{Output: text(`{"a":"1"}`)}, "at /a stands"},
		"there":            {suite.Expect{Missing: []string{"/a"}}, suite.Answer{Output: text(`{"a":null}`)}, "nothing is to stand there"},
		"no JSON":          {suite.Expect{Missing: []string{"/a"}}, suite.Answer{Output: text(`a`)}, "no JSON"},
		"text":             {suite.Expect{Text: &very}, suite.Answer{Output: text("a\nb\n")}, ""},
		"text off":         {suite.Expect{Text: &very}, suite.Answer{Output: text("a\nc\n")}, "line 2"},
		"contains":         {suite.Expect{Contains: []string{"z"}}, suite.Answer{Output: text("a")}, `does not have "z"`},
		"lacks":            {suite.Expect{Lacks: []string{"a"}}, suite.Answer{Output: text("a")}, `has "a"`},
		"lacks, nothing":   {suite.Expect{Lacks: []string{"a"}}, suite.Answer{}, "no output"},
		"notices":          {suite.Expect{Notices: &[]suite.Notice{{Code: "c", Pointer: "/x"}}}, suite.Answer{Notices: []suite.Notice{{Code: "c", Pointer: "/x"}}}, ""},
		"notice elsewhere": {suite.Expect{Notices: &[]suite.Notice{{Code: "c", Pointer: "/x"}}}, suite.Answer{Notices: []suite.Notice{{Code: "c", Pointer: "/y"}}}, `c is said at "/y"`},
		"notice twice":     {suite.Expect{Notices: &[]suite.Notice{{Code: "c"}}}, suite.Answer{Notices: []suite.Notice{{Code: "c"}, {Code: "c"}}}, "2 notices, not 1"},
		"not silent":       {suite.Expect{Notices: &[]suite.Notice{}}, suite.Answer{Notices: []suite.Notice{{Code: "c"}}}, "c is said"},
		"silent":           {suite.Expect{Silent: []string{"c"}}, suite.Answer{Notices: []suite.Notice{{Code: "c"}}}, "c is said"},
		"says":             {suite.Expect{Says: []string{"c"}}, suite.Answer{}, "c is not said"},
		"order":            {suite.Expect{Ordered: []suite.Notice{{Code: "a"}, {Code: "b"}}}, suite.Answer{Notices: []suite.Notice{{Code: "b"}, {Code: "a"}}}, "out of order"},
		"lost":             {suite.Expect{Lost: []string{"people"}}, suite.Answer{}, "people does not fit"},
		"whole":            {suite.Expect{Whole: true}, suite.Answer{Lost: []string{"people"}}, "people is said not to fit"},
	} {
		v := &suite.Vector{Expect: c.expect}
		got := strings.Join(v.Judge([]suite.Answer{c.answer}), "; ")
		if c.wrong == "" && got != "" || !strings.Contains(got, c.wrong) {
			t.Errorf("%s: %q, want %q", name, got, c.wrong)
		}
	}
	if got := new(suite.Vector).Judge(nil); len(got) != 1 {
		t.Errorf("no answer: %q", got)
	}
}
