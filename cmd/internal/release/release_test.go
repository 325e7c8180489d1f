package release

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// with is a schema of a thing with members as they stand between braces, and what else it says.
func with(members, more string) string {
	return fmt.Sprintf(`{"$id": "https://example.org/1/thing", "type": "object", "properties": {%s}%s}`, members, more)
}

func defs(minimum int) string {
	return fmt.Sprintf(`, "$defs": {"size": {"type": "object", "properties": {"min": {"type": "number", "minimum": %d}}}}`,
		minimum)
}

func list(open bool, concepts ...string) string {
	return fmt.Sprintf(`{"list": "thing", "open": %t, "concepts": [%s]}`, open, strings.Join(concepts, ","))
}

func context(terms string) string {
	return `{"@context": {"@version": 1.1, "@vocab": "https://example.org/terms#", "dc": "http://purl.org/dc/terms/", "other": "http://example.org/other#"` + terms + `}}`
}

const (
	refSize = `"a": {"$ref": "#/$defs/size"}`
	onTrial = `"a": {"$ref": "#/$defs/size", "x-trial": true}`
	brass   = `{"code": "brass", "prefLabel": {"en": "brass"}, "altLabel": {"de": ["Messing"]}, "density": {"low": 8}}`
	iron    = `{"code": "iron", "prefLabel": {"en": "iron"}, "caution": "sharp"}`
	terms   = `, "title": "dc:title", "find": {"@id": "dc:hasPart", "@type": "@id", "@context": {"name": "dc:title"}}`
	plain   = `{"code": "x-y", "severity": "warning", "spec": "5.1", "title": "t"}`
	asked   = `{"id": "h-1", "folder": "optional", "operation": "read", "outcome": "pass", "requirements": ["4.1-1"]}`
)

// The verdicts are those that SPEC.md section 10 asks for.
func TestCompare(t *testing.T) {
	swap := strings.NewReplacer
	for _, c := range []struct {
		file, name, old, now string
		want                 Verdict
		where                string
	}{
		{"thing.schema.json", "the same", with(`"a": {"type": "string"}`, ""), with(`"a": {"type": "string"}`, ""), 0, ""},
		{"thing.schema.json", "a member gone", with(`"a": {}, "b": {}`, ""), with(`"a": {}`, ""), Breaking, "thing/b"},
		{"thing.schema.json", "a member on trial gone", with(`"a": {}, "b": {"x-trial": true}`, ""), with(`"a": {}`, ""),
			Compatible, "thing/b"},
		{"thing.schema.json", "a new member", with(`"a": {}`, ""),
			with(`"a": {}, "b": {"type": "object", "properties": {"c": {}}}`, ""), Compatible, "thing/b"},
		{"thing.schema.json", "a new member in between", with(`"a": {}, "c": {}`, ""), with(`"a": {}, "b": {}, "c": {}`, ""),
			Compatible, "thing/b"},
		{"thing.schema.json", "a new member that must be given", with(`"a": {}`, ""),
			with(`"a": {}, "b": {}`, `, "required": ["b"]`), Breaking, "thing"},
		{"thing.schema.json", "another order", with(`"a": {}, "b": {}`, ""), with(`"b": {}, "a": {}`, ""), Breaking, "thing"},
		{"thing.schema.json", "presence tightened", with(`"a": {}`, ""), with(`"a": {}`, `, "required": ["a"]`), Breaking,
			"thing"},
		{"thing.schema.json", "presence loosened", with(`"a": {}`, `, "required": ["a"]`), with(`"a": {}`, ""), Breaking,
			"thing"},
		{"thing.schema.json", "presence beside another", with(`"a": {}, "b": {}`, ""),
			with(`"a": {}, "b": {}`, `, "dependentRequired": {"a": ["b"]}`), Breaking, "thing"},
		{"thing.schema.json", "type narrowed", with(`"a": {"type": ["string", "null"]}`, ""),
			with(`"a": {"type": "string"}`, ""), Breaking, "thing/a"},
		{"thing.schema.json", "type asked for", with(`"a": {}`, ""), with(`"a": {"type": "string"}`, ""), Breaking,
			"thing/a"},
		{"thing.schema.json", "pattern changed", with(`"a": {"pattern": "^a"}`, ""), with(`"a": {"pattern": "^b"}`, ""),
			Breaking, "thing/a"},
		{"thing.schema.json", "format gone", with(`"a": {"format": "date"}`, ""), with(`"a": {}`, ""), Breaking, "thing/a"},
		{"thing.schema.json", "a limit changed", with(`"a": {"maximum": 10}`, ""), with(`"a": {"maximum": 11}`, ""), Breaking,
			"thing/a"},
		{"thing.schema.json", "one number written otherwise", with(`"a": {"maximum": 10}`, ""),
			with(`"a": {"maximum": 1e1}`, ""), 0, ""},
		{"thing.schema.json", "closed list loses a code", with(`"a": {"enum": ["x", "y"]}`, ""),
			with(`"a": {"enum": ["x"]}`, ""), Breaking, "thing/a"},
		{"thing.schema.json", "codes in another order", with(`"a": {"enum": ["x", "y"]}`, ""),
			with(`"a": {"enum": ["y", "x"]}`, ""), 0, ""},
		{"thing.schema.json", "open to closed", with(`"a": {"type": "string"}`, ""),
			with(`"a": {"type": "string", "enum": ["x"]}`, ""), Breaking, "thing/a"},
		{"thing.schema.json", "unknown members shut out", with(`"a": {}`, ""),
			with(`"a": {}`, `, "additionalProperties": false`), Breaking, "thing"},
		{"thing.schema.json", "entries narrowed", with(`"a": {"items": {"type": ["string", "number"]}}`, ""),
			with(`"a": {"items": {"type": "number"}}`, ""), Breaking, "thing/a/#"},
		{"thing.schema.json", "a choice more", with("", `, "anyOf": [{"required": ["a"]}]`),
			with("", `, "anyOf": [{"required": ["a"]}, {"required": ["b"]}]`), Breaking, "thing"},
		{"thing.schema.json", "a keyword not known here", with(`"a": {}`, ""), with(`"a": {"uniqueItems": true}`, ""),
			Breaking, "thing/a"},
		{"thing.schema.json", "a shape reached by a reference", with(refSize, defs(0)), with(refSize, defs(1)), Breaking,
			"thing/a/min"},
		{"thing.schema.json", "a shape reached from trial alone", with(onTrial, defs(0)), with(onTrial, defs(1)), Compatible,
			"thing/a/min"},
		{"thing.schema.json", "from trial and elsewhere", with(onTrial+`, "b": {"$ref": "#/$defs/size"}`, defs(0)),
			with(onTrial+`, "b": {"$ref": "#/$defs/size"}`, defs(1)), Breaking, "thing/b/min"},
		{"thing.schema.json", "a shape that nothing refers to", with("", defs(0)), with("", defs(1)), Breaking,
			"thing#size/min"},
		{"thing.schema.json", "a shape gone", with("", defs(0)), with("", ""), Breaking, "thing#size"},
		{"thing.schema.json", "a circle", with(`"again": {"$ref": "#"}`, ""), with(`"again": {"$ref": "#"}`, ""), 0, ""},
		{"thing.schema.json", "put on trial", with(`"a": {}`, ""), with(`"a": {"x-trial": true}`, ""), Breaking, "thing/a"},
		{"thing.schema.json", "off trial", with(`"a": {"x-trial": true}`, ""), with(`"a": {}`, ""), Compatible, "thing/a"},
		{"thing.schema.json", "no longer private", with(`"a": {"x-private": true}`, ""), with(`"a": {}`, ""), Breaking,
			"thing/a"},
		{"thing.schema.json", "other words", with(`"a": {"description": "one"}`, ""), with(`"a": {"description": "two"}`, ""),
			Documentation, "thing/a"},
		{"thing.schema.json", "true to a schema", with(`"a": true`, ""), with(`"a": {"type": "string"}`, ""), Breaking,
			"thing/a"},
		{"vocabulary/thing.json", "the same", list(true, brass, iron), list(true, iron, brass), 0, ""},
		{"vocabulary/thing.json", "a code gone", list(true, brass, iron), list(true, brass), Breaking, "list thing iron"},
		{"vocabulary/thing.json", "a new code, open", list(true, brass), list(true, brass, iron), Compatible,
			"list thing iron"},
		{"vocabulary/thing.json", "a new code, closed", list(false, brass), list(false, brass, iron), Breaking,
			"list thing iron"},
		{"vocabulary/thing.json", "open to closed", list(true, brass), list(false, brass), Breaking, "list thing"},
		{"vocabulary/thing.json", "closed to open", list(false, brass), list(true, brass), Breaking, "list thing"},
		{"vocabulary/thing.json", "a word for another code", list(true, brass, iron),
			list(true, swap("Messing", "x").Replace(brass),
				swap(`"caution"`, `"altLabel": {"de": ["Messing"]}, "caution"`).Replace(iron)), Breaking, "list thing"},
		{"vocabulary/thing.json", "a word more", list(true, brass),
			list(true, swap(`["Messing"]`, `["Messing", "Gelbguss"]`).Replace(brass)), Compatible, "list thing"},
		{"vocabulary/thing.json", "a word less", list(true, brass), list(true, swap(`["Messing"]`, `[]`).Replace(brass)),
			Compatible, "list thing"},
		{"vocabulary/thing.json", "another figure", list(true, brass), list(true, swap("8", "9").Replace(brass)), Compatible,
			"list thing brass"},
		{"vocabulary/thing.json", "a caution gone", list(true, iron),
			list(true, swap(`, "caution": "sharp"`, "").Replace(iron)), Breaking, "list thing iron"},
		{"vocabulary/thing.json", "a scope note", list(true, iron),
			list(true, swap(`"caution"`, `"scopeNote": "n", "caution"`).Replace(iron)), Documentation, "list thing iron"},
		{"rules.json", "gone", "[" + plain + "]", "[]", Breaking, "rule x-y"},
		{"rules.json", "new", "[]", "[" + plain + "]", Compatible, "rule x-y"},
		{"rules.json", "raised", "[" + plain + "]", swap("warning", "error").Replace("[" + plain + "]"), Breaking,
			"rule x-y"},
		{"rules.json", "lowered", "[" + plain + "]", swap("warning", "info").Replace("[" + plain + "]"), Compatible,
			"rule x-y"},
		{"rules.json", "a caution now", "[" + plain + "]",
			swap(`"spec"`, `"caution": true, "spec"`).Replace("[" + plain + "]"), Compatible, "rule x-y"},
		{"rules.json", "a caution no more", swap(`"spec"`, `"caution": true, "spec"`).Replace("[" + plain + "]"),
			"[" + plain + "]", Breaking, "rule x-y"},
		{"rules.json", "another section", "[" + plain + "]", swap("5.1", "5.2").Replace("[" + plain + "]"), Documentation,
			"rule x-y"},
		{"context.jsonld", "written out", context(terms),
			context(swap(`"dc:title", "find"`, `{"@id": "http://purl.org/dc/terms/title"}, "find"`).Replace(terms)), 0, ""},
		{"context.jsonld", "a term gone", context(terms), context(swap(`, "title": "dc:title"`, "").Replace(terms)), Breaking,
			"context title"},
		{"context.jsonld", "another type", context(terms), context(swap(`"@type": "@id"`, `"@type": "@json"`).Replace(terms)),
			Breaking, "context find"},
		{"context.jsonld", "within another term", context(terms),
			context(swap(`{"name": "dc:title"}`, `{"name": "dc:subject"}`).Replace(terms)), Breaking, "context find/name"},
		{"context.jsonld", "a prefix that means something else", context(terms),
			context(terms + `, "dc": "http://purl.org/dc/elements/1.1/"`), Breaking, "context find"},
		{"context.jsonld", "a prefix more", context(terms), context(terms + `, "crm": "http://www.cidoc-crm.org/cidoc-crm/"`),
			0, ""},
		{"context.jsonld", "a new term", context(terms), context(terms + `, "notes": "dc:description"`), Compatible,
			"context notes"},
		{"vectors.json", "not asked any more", "[" + asked + "]", "[]", Compatible, "vector h-1"},
		{"vectors.json", "given out again", "[" + asked + "]", swap("read", "convert").Replace("[" + asked + "]"), Breaking,
			"vector h-1"},
		{"vectors.json", "required now", "[" + asked + "]", swap("optional", "required").Replace("[" + asked + "]"), Breaking,
			"vector h-1"},
		{"vectors.json", "on trial now", "[" + asked + "]", swap("optional", "proposed").Replace("[" + asked + "]"),
			Compatible, "vector h-1"},
		{"vectors.json", "for another sentence", "[" + asked + "]", swap("4.1-1", "4.1-2").Replace("[" + asked + "]"),
			Documentation, "vector h-1"},
	} {
		t.Run(c.file+"/"+c.name, func(t *testing.T) {
			got, err := Compare(Files{c.file: []byte(c.old)}, Files{c.file: []byte(c.now)})
			if err != nil {
				t.Fatal(err)
			}
			if got.Worst() != c.want || c.want != 0 && got[0].Where != c.where {
				t.Errorf("want %v at %s, got %+v", c.want, c.where, got)
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
