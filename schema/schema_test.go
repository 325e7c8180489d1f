package schema

import (
	"bytes"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"
)

// Every schema is a valid schema of the dialect that it names: JSON Schema 2020-12, as carried by
// the validator library.
func TestSchemasAreValidSchemas(t *testing.T) {
	c := jsonschema.NewCompiler()
	c.LoadURL = func(s string) (io.ReadCloser, error) {
		t.Errorf("compiling asks for %s; nothing may be fetched", s)
		return nil, io.ErrUnexpectedEOF
	}
	for _, name := range Names() {
		text, _ := Text(name)
		if err := c.AddResource(ID(name), bytes.NewReader(text)); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range Names() {
		if _, err := c.Compile(ID(name)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		root, err := Root(name)
		if err != nil {
			t.Fatal(err)
		}
		if root.ID != ID(name) || root.Dialect != Draft {
			t.Errorf("%s: $id %q, $schema %q", name, root.ID, root.Dialect)
		}
	}
}

func TestTextIsACopy(t *testing.T) {
	a, _ := Text("find")
	a[0] = 'x'
	if b, _ := Text("find"); b[0] != '{' {
		t.Error("a caller can change the embedded schema")
	}
	if _, ok := Text("nothing"); ok {
		t.Error("there is no schema called nothing")
	}
	if _, err := Root("nothing"); err == nil {
		t.Error("there is no tree called nothing")
	}
}

// Every member has a title and a description, so that the specification and the messages can be
// made of them.
func TestEveryMemberIsDescribed(t *testing.T) {
	for _, name := range Names() {
		root, err := Root(name)
		if err != nil {
			t.Fatal(err)
		}
		root.Walk(func(n *Node) {
			for _, m := range append(slices.Clone(n.Properties), n.Defs...) {
				if strings.HasPrefix(m.Node.Title, " ") {
					t.Errorf("%s: %s: title %q", name, m.Name, m.Node.Title)
				}
				// The members inside if and then only repeat a name to say more about it.
				if m.Node.Title == "" && m.Node.Description == "" && (n == root || n.Title != "") {
					t.Errorf("%s: %s of %q has neither title nor description", name, m.Name, n.Title)
					continue
				}
				if m.Node.Title != "" && !strings.HasSuffix(m.Node.Description, ".") && !strings.HasSuffix(m.Node.Description,
					"..") {
					t.Errorf("%s: description of %s is no sentence: %q", name, m.Name, m.Node.Description)
				}
			}
		})
	}
}

// The house forbids keywords that give messages nobody can use or that close the door on members
// of a later version.
func TestKeywordsOfTheHouse(t *testing.T) {
	for _, name := range Names() {
		root, err := Root(name)
		if err != nil {
			t.Fatal(err)
		}
		root.Walk(func(n *Node) {
			if len(n.OneOf) > 0 {
				t.Errorf("%s: %q uses oneOf", name, n.Title)
			}
			if name != "simple" && n.AdditionalProperties != nil && n.AdditionalProperties.Never { // a subset says what is in it
				t.Errorf("%s: %q refuses unknown members", name, n.Title)
			}
			if n.Pattern == "" {
				return
			}
			if n.Form == "" && n.Follow().Form == "" {
				t.Errorf("%s: %q has a pattern and no x-form", name, n.Title)
			}
			p := regexp.MustCompile(n.Pattern)
			for _, e := range n.Examples {
				if !p.MatchString(e) {
					t.Errorf("%s: specimen %q of %q does not match its pattern", name, e, n.Title)
				}
			}
			if len(n.Examples) == 0 {
				t.Errorf("%s: %q has a pattern and no specimen", name, n.Title)
			}
			if !strings.HasPrefix(n.Pattern, "^") || !strings.HasSuffix(n.Pattern, "$") {
				t.Errorf("%s: pattern of %q is not anchored", name, n.Title)
			}
		})
	}
}

// Node reads every keyword that the schemas use: a keyword it did not know would be lost to the
// messages and to the tests above.
func TestNodeKnowsEveryKeyword(t *testing.T) {
	for _, name := range Names() {
		text, _ := Text(name)
		root := new(Node)
		if err := json.Unmarshal(text, root, json.RejectUnknownMembers(true)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestAt(t *testing.T) {
	root, err := Root("find")
	if err != nil {
		t.Fatal(err)
	}
	for pointer, want := range map[string]string{
		"":                                  "Find",
		"/properties/depth":                 "Depth",
		"/$defs/depth/properties/min":       "Smallest",
		"/$defs/point/prefixItems/1":        "Latitude",
		"/$defs/absent/propertyNames":       "Name of a missing member",
		"/$defs/polygon/items/$ref/nothing": "",
	} {
		got := ""
		if n := root.At(pointer); n != nil {
			got = n.Title
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("At(%q): %s", pointer, d)
		}
	}
	if got := root.Child("otherDepths").Child("3").Child("basis").Title; got != "How it was known" {
		t.Errorf("child by child: %q", got)
	}
}

func TestReadRefusesWhatIsNotThere(t *testing.T) {
	for _, text := range []string{
		`{"$id": "https://example.org/a", "$ref": "file:///etc/hostname"}`,
		`{"$id": "https://example.org/a", "$ref": "#/$defs/none"}`,
		`{"title": "no id"}`,
		`{"$id": "https://example.org/a", "type": 7}`,
		`[`,
	} {
		if _, err := Read([]byte(text)); err == nil {
			t.Errorf("Read(%s) is content", text)
		}
	}
}
