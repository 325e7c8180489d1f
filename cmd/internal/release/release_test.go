package release

import (
	"bytes"
	"encoding/json"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The verdicts are those that SPEC.md section 10 asks for.
func TestCompare(t *testing.T) {
	for _, c := range cases.Table[[]struct {
		File, Name  string
		Old, Now    json.RawMessage
		Want, Where string // the verdict, and of what
	}](t, "Compare") {
		t.Run(c.File+"/"+c.Name, func(t *testing.T) {
			got, err := Compare(Files{c.File: c.Old}, Files{c.File: c.Now})
			if err != nil {
				t.Fatal(err)
			}
			if got.Worst().String() != c.Want || len(got) > 0 && got[0].Where != c.Where {
				t.Errorf("want %s at %s, got %+v", c.Want, c.Where, got)
			}
		})
	}
}

func TestFilesThatCannotBeRead(t *testing.T) {
	for name, text := range map[string]string{
		"a.schema.json":     `{"type": "object"}`,
		"b.schema.json":     `{"$id": "https://example.org/b", "properties": {"a": {"$ref": "#/$defs/none"}}}`,
		"vocabulary/a.json": `{}`,
		"rules.json":        `{}`, "context.jsonld": `{"@context": {"a": {"@context": "x"}}}`, "vectors.json": `{`,
	} {
		if _, err := Compare(Files{name: []byte(text)}, nil); err == nil {
			t.Errorf("%s: %s is read", name, text)
		}
	}
}

// What is kept is read again as it was, and is never written over.
func TestKeep(t *testing.T) {
	now, err := Published(os.DirFS("../../.."))
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(t.TempDir(), "1.7")
	if err := now.Keep(folder); err != nil {
		t.Fatal(err)
	}
	old, err := Read(os.DirFS(folder))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := Compare(old, now); err != nil || len(got) > 0 || len(old) != len(now) {
		t.Errorf("%d files of %d, %v: %+v", len(old), len(now), err, got)
	}
	if err := now.Keep(folder); err == nil {
		t.Error("a version that was kept is written over")
	}
	if _, err := Read(os.DirFS(t.TempDir())); err == nil {
		t.Error("an empty folder is taken for a version")
	}
	old["find.schema.json"] = bytes.Replace(old["find.schema.json"], []byte(`"required": ["id"]`),
		[]byte(`"required": ["id", "finder"]`), 1)
	if got, err := Compare(old, now); err != nil || len(got) != 2 || got.Worst() != Breaking {
		t.Errorf("presence loosened: %v %+v", err, got)
	}
	var b strings.Builder
	if err := (Changes{{Breaking, "find", "x"}}).Write(&b); err != nil || !strings.Contains(b.String(), "1 breaking") ||
		!strings.Contains(b.String(), "major") {
		t.Errorf("%v: %s", err, b.String())
	}
}
