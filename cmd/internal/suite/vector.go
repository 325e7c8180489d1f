// Package suite holds the shape of the conformance suite: vectors, and what an implementation says
// to them. The runner and the generator of the suite share it; testdata/suite/README.md says the
// same for strangers.
package suite

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

// Folders are the parts of the suite: required serves MUST, optional SHOULD and MAY and formats
// that one may leave out, proposed what is on trial or rests on a proposal of ours.
func Folders() []string { return []string{"required", "optional", "proposed"} }

// Targets are the conformance targets of SPEC.md section 1.3.
func Targets() []string {
	return []string{"document", "producer", "consumer", "validator", "converter", "normaliser", "redactor", "template",
		"publisher", "linked", "simple"}
}

// A Vector is one case: what is given, and what comes of it.
type Vector struct {
	ID           string   `json:"id"` // opaque
	Requirements []string `json:"requirements"`
	Target       string   `json:"target"`
	Class        string   `json:"class"`
	// pass: the input meets the requirement; fail: it does not, or tempts to break it
	Outcome   string   `json:"outcome"`
	Operation string   `json:"operation"`
	Options   Options  `json:"options,omitzero"`
	Input     *Content `json:"input,omitzero"`
	Files     Files    `json:"files,omitzero"` // what lies in the folder that the runner makes for this vector
	Then      []Step   `json:"then,omitzero"`  // further steps, each on what the one before gave
	Expect    Expect   `json:"expect"`
	Languages []string `json:"languages,omitempty"` // whose words the text has
	Why       string   `json:"why"`
	Source    string   `json:"source"`

	Folder string `json:"-"`
	File   string `json:"-"`
}

// A Step is a further operation.
type Step struct {
	Operation string  `json:"operation"`
	Options   Options `json:"options,omitzero"`
}

// Options are what an operation leaves open, by name.
type Options map[string]any

// Content is what is handed over: JSON, text or bytes; in the files of the suite also a file, and a
// part of it, which the runner puts in its place.
type Content struct {
	JSON    json.RawMessage `json:"json,omitzero"`
	Text    *string         `json:"text,omitzero"`
	Base64  *string         `json:"base64,omitzero"`
	File    string          `json:"file,omitzero"`
	Pointer string          `json:"pointer,omitzero"`
	Change  json.RawMessage `json:"change,omitzero"` // a JSON Patch to the part
}

// A Notice is what is said of the data, where.
type Notice struct {
	Code    string `json:"code"`
	Pointer string `json:"pointer"`
}

// Expect is what comes of a vector. What is not given is not looked at.
type Expect struct {
	Refused  bool                       `json:"refused,omitzero"`  // the work is not done, and it is said why
	Code     string                     `json:"code,omitzero"`     // the code of the refusal
	Value    json.RawMessage            `json:"value,omitzero"`    // the whole of what is given back
	Within   float64                    `json:"within,omitzero"`   // metres that a position of the value may be off
	Members  map[string]json.RawMessage `json:"members,omitzero"`  // some values, by JSON Pointer
	Missing  []string                   `json:"missing,omitzero"`  // JSON Pointers at which there is nothing
	Text     *string                    `json:"text,omitzero"`     // the very text
	Contains []string                   `json:"contains,omitzero"` // what the text has in it
	Lacks    []string                   `json:"lacks,omitzero"`    // what it has not
	Notices  *[]Notice                  `json:"notices,omitzero"`  // all that is said
	Says     []string                   `json:"says,omitzero"`     // codes that are said, beside others
	Silent   []string                   `json:"silent,omitzero"`   // codes that are not
	// notices that come in this order, others between them or not
	Ordered []Notice              `json:"ordered,omitzero"`
	Lost    []string              `json:"lost,omitzero"`    // members that are said not to fit
	Whole   bool                  `json:"whole,omitzero"`   // nothing is said not to fit
	Picture *Picture              `json:"picture,omitzero"` // the output is a picture that shows this
	Files   map[string]FileExpect `json:"files,omitzero"`   // all that lies in the folder at the end, by name
}

// Hand is one request.
type Hand struct {
	ID        string   `json:"id"`
	Operation string   `json:"operation"`
	Options   Options  `json:"options,omitzero"`
	Input     *Content `json:"input,omitzero"`
	Folder    string   `json:"folder,omitzero"` // where the files of the vector lie
}

// Answer is what an implementation says to a request.
type Answer struct {
	ID          string   `json:"id"`
	Output      *Content `json:"output,omitzero"`
	Notices     []Notice `json:"notices,omitzero"`
	Lost        []string `json:"lost,omitzero"` // what the format that was written cannot hold, by member
	Refused     *Refusal `json:"refused,omitzero"`
	Unsupported string   `json:"unsupported,omitzero"` // what it does not do
}

// Refusal says why the work was not done.
type Refusal struct {
	Code    string `json:"code,omitzero"`
	Message string `json:"message"`
}

// Load reads every vector below testdata/suite of a project, in the order of folders and names.
func Load(project fs.FS) ([]*Vector, error) {
	var all []*Vector
	seen := map[string]string{}
	for _, folder := range Folders() {
		names, err := fs.Glob(project, "testdata/suite/"+folder+"/*.json")
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			some, err := read(project, name)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			for _, v := range some {
				if there := seen[v.ID]; there != "" {
					return nil, fmt.Errorf("%s: the id %s stands in %s as well", name, v.ID, there)
				}
				seen[v.ID] = name
				v.Folder, v.File = folder, name
			}
			all = append(all, some...)
		}
	}
	return all, nil
}

func read(project fs.FS, name string) ([]*Vector, error) {
	raw, err := fs.ReadFile(project, name)
	if err != nil {
		return nil, err
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	var list []*Vector
	if err := dec.Decode(&list); err != nil {
		return nil, err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("there is something behind the list")
	}
	for i, v := range list {
		switch {
		case v == nil || v.ID == "" || v.Operation == "" || v.Why == "" || v.Source == "":
			return nil, fmt.Errorf("vector %d: id, operation, why and source are needed", i+1)
		case !slices.Contains(Targets(), v.Target):
			return nil, fmt.Errorf("%s: %q is no target", v.ID, v.Target)
		case v.Outcome != "pass" && v.Outcome != "fail":
			return nil, fmt.Errorf("%s: the outcome is pass or fail", v.ID)
		case len(v.Requirements) == 0:
			return nil, fmt.Errorf("%s: it serves no requirement", v.ID)
		case len(v.Expect.Files) > 0 != (len(v.Files) > 0):
			return nil, fmt.Errorf("%s: files are given and looked at together", v.ID)
		case v.Expect.empty():
			return nil, fmt.Errorf("%s: nothing is expected", v.ID)
		}
	}
	return list, nil
}

func (e *Expect) empty() bool {
	return !e.Refused && e.Value == nil && len(e.Members) == 0 && len(e.Missing) == 0 && e.Text == nil &&
		len(e.Contains) == 0 &&
		len(e.Lacks) == 0 && len(e.Ordered) == 0 && len(e.Lost) == 0 && !e.Whole && e.Picture == nil && len(e.Files) == 0 &&
		e.Notices == nil && len(e.Says) == 0 && len(e.Silent) == 0
}

// Request makes the first request of a vector, with every file put in its place.
func (v *Vector) Request(project fs.FS) (Hand, error) {
	h := Hand{ID: v.ID, Operation: v.Operation}
	var err error
	if v.Input != nil {
		if h.Input, err = v.Input.resolve(project); err != nil {
			return h, fmt.Errorf("%s: %w", v.ID, err)
		}
	}
	h.Options, err = v.Options.resolve(project)
	if err != nil {
		return h, fmt.Errorf("%s: %w", v.ID, err)
	}
	return h, nil
}

// resolve puts files in the place of {"file": name} among the pictures.
func (o Options) resolve(project fs.FS) (Options, error) {
	if o == nil {
		return nil, nil
	}
	out := Options{}
	for name, value := range o {
		files, ok := value.(map[string]any)
		if !ok || name != "pictures" {
			out[name] = value
			continue
		}
		put := map[string]any{}
		for key, one := range files {
			put[key] = one
			if m, ok := one.(map[string]any); ok && m["file"] != nil {
				raw, err := fs.ReadFile(project, fmt.Sprint(m["file"]))
				if err != nil {
					return nil, err
				}
				put[key] = base64.StdEncoding.EncodeToString(raw)
			}
		}
		out[name] = put
	}
	return out, nil
}

func (c *Content) resolve(project fs.FS) (*Content, error) {
	if c.File == "" {
		return c, nil
	}
	raw, err := fs.ReadFile(project, c.File)
	if err != nil {
		return nil, err
	}
	if path.Ext(c.File) != ".json" && path.Ext(c.File) != ".geojson" {
		text := base64.StdEncoding.EncodeToString(raw)
		return &Content{Base64: &text}, nil
	}
	if c.Pointer == "" {
		return &Content{JSON: raw}, nil
	}
	part, ok := Raw(raw, c.Pointer)
	if !ok {
		return nil, fmt.Errorf("%s has nothing at %s", c.File, c.Pointer)
	}
	if c.Change != nil {
		if part, err = cases.Apply(part, c.Change); err != nil {
			return nil, fmt.Errorf("%s, changed: %w", c.File, err)
		}
	}
	return &Content{JSON: part}, nil
}

// Raw returns the JSON at a pointer as it is written, and whether there is anything.
func Raw(raw json.RawMessage, pointer string) (json.RawMessage, bool) {
	if pointer == "" {
		return raw, len(raw) > 0
	}
	token, rest, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	if rest != "" || strings.HasSuffix(pointer, "/") {
		rest = "/" + rest
	}
	token = strings.NewReplacer("~1", "/", "~0", "~").Replace(token)
	var members map[string]json.RawMessage
	if json.Unmarshal(raw, &members) == nil && members != nil {
		inner, ok := members[token]
		if !ok {
			return nil, false
		}
		return Raw(inner, rest)
	}
	var entries []json.RawMessage
	if json.Unmarshal(raw, &entries) == nil {
		if i, err := strconv.Atoi(token); err == nil && i >= 0 && i < len(entries) {
			return Raw(entries[i], rest)
		}
	}
	return nil, false
}

// Bytes returns what the content is made of.
func (c *Content) Bytes() ([]byte, error) {
	switch {
	case c == nil:
		return nil, nil
	case c.JSON != nil:
		return c.JSON, nil
	case c.Text != nil:
		return []byte(*c.Text), nil
	case c.Base64 != nil:
		return base64.StdEncoding.DecodeString(*c.Base64)
	}
	return nil, nil
}

// Claims are the pieces that an implementation says it does, beside its operations. A list that is missing says:
// all of them.
type Claims struct {
	Codes     []string `json:"codes,omitempty"`     // of notices
	Kinds     []string `json:"kinds,omitempty"`     // of reading
	Languages []string `json:"languages,omitempty"` // whose words are read
	Formats   []string `json:"formats,omitempty"`
	Audiences []string `json:"audiences,omitempty"`
}

// Tests returns the codes of notices that a vector is about: that of its home, else those that it expects or excludes.
func (v *Vector) Tests() []string {
	if v.Input != nil {
		if home, ok := strings.CutPrefix(v.Input.File, "testdata/codes/"); ok {
			return []string{strings.TrimSuffix(path.Base(home), ".json")}
		}
	}
	list := append(slices.Clone(v.Expect.Says), v.Expect.Silent...)
	if v.Expect.Notices != nil {
		for _, n := range *v.Expect.Notices {
			list = append(list, n.Code)
		}
	}
	return list
}

// Lacks says which piece of a vector is not claimed; it is empty where all are.
func (c *Claims) Lacks(v *Vector) string {
	if c == nil {
		return ""
	}
	for _, step := range append([]Step{{v.Operation, v.Options}}, v.Then...) {
		for option, list := range map[string][]string{"from": c.Formats, "to": c.Formats, "audience": c.Audiences,
			"kind": c.Kinds, "language": c.Languages} {
			value, ok := step.Options[option].(string)
			if ok && len(list) > 0 && !slices.Contains(list, value) && !(option == "language" && step.Operation != "read") {
				return "the " + strings.NewReplacer("from", "format", "to", "format", "kind", "reading").Replace(option) + " " +
					value
			}
		}
	}
	if needs := func(language string) bool { return !slices.Contains(c.Languages, language) }; len(c.Languages) > 0 &&
		slices.ContainsFunc(v.Languages, needs) {
		return "the language " + v.Languages[slices.IndexFunc(v.Languages, needs)]
	}
	if v.Operation == "validate" && len(c.Codes) > 0 && len(v.Tests()) == 0 {
		return "what a check says beside notices"
	}
	if tests := v.Tests(); len(c.Codes) > 0 && len(tests) > 0 && !slices.ContainsFunc(tests,
		func(code string) bool { return slices.Contains(c.Codes, code) }) {
		return "the code " + tests[0]
	}
	return ""
}

// Of returns a vector as it is judged under claims: notices under other codes are neither expected nor looked at.
func (c *Claims) Of(v *Vector) *Vector {
	if c == nil || len(c.Codes) == 0 {
		return v
	}
	out := *v
	other := func(code string) bool { return !slices.Contains(c.Codes, code) }
	otherNotice := func(n Notice) bool { return other(n.Code) }
	out.Expect.Says = slices.DeleteFunc(slices.Clone(v.Expect.Says), other)
	out.Expect.Silent = slices.DeleteFunc(slices.Clone(v.Expect.Silent), other)
	out.Expect.Ordered = slices.DeleteFunc(slices.Clone(v.Expect.Ordered), otherNotice)
	if v.Expect.Notices != nil {
		list := slices.DeleteFunc(slices.Clone(*v.Expect.Notices), otherNotice)
		out.Expect.Notices = &list
	}
	return &out
}

// Only returns answers without the notices under codes that are not claimed.
func (c *Claims) Only(answers []Answer) []Answer {
	if c == nil || len(c.Codes) == 0 {
		return answers
	}
	out := slices.Clone(answers)
	for i := range out {
		out[i].Notices = slices.DeleteFunc(slices.Clone(out[i].Notices),
			func(n Notice) bool { return !slices.Contains(c.Codes, n.Code) })
	}
	return out
}
