package release

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func schemasOf(t *testing.T, texts ...string) schemas {
	t.Helper()
	s := schemas{}
	for _, text := range texts {
		if err := s.add([]byte(text)); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
	}
	return s
}

// object of a schema with members as they stand between braces, and what else it says.
func with(members, more string) string {
	return fmt.Sprintf(`{"$id": "https://example.org/1/thing", "type": "object", "properties": {%s}%s}`, members, more)
}

// The verdicts are those that SPEC.md section 10 asks for.
func TestSchemaChanges(t *testing.T) {
	defs := `, "$defs": {"size": {"type": "object", "properties": {"min": {"type": "number", "minimum": %s}}}}`
	for _, c := range []struct {
		name, old, now string
		want           Verdict
		where, what    string
	}{
		{"the same", with(`"a": {"type": "string"}`, ""), with(`"a": {"type": "string"}`, ""), 0, "", ""},
		{"a member gone", with(`"a": {}, "b": {}`, ""), with(`"a": {}`, ""), Breaking, "thing/b", "gone"},
		{"a member on trial gone", with(`"a": {}, "b": {"x-trial": true}`, ""), with(`"a": {}`, ""), Compatible, "thing/b", "on trial"},
		{"a new member", with(`"a": {}`, ""), with(`"a": {}, "b": {}`, ""), Compatible, "thing/b", "new member"},
		{"a new member in between", with(`"a": {}, "c": {}`, ""), with(`"a": {}, "b": {}, "c": {}`, ""), Compatible, "thing/b", "new member"},
		{"another order", with(`"a": {}, "b": {}`, ""), with(`"b": {}, "a": {}`, ""), Breaking, "thing", "order"},
		{"presence tightened", with(`"a": {}`, ""), with(`"a": {}`, `, "required": ["a"]`), Breaking, "thing/a", "must be given"},
		{"presence loosened", with(`"a": {}`, `, "required": ["a"]`), with(`"a": {}`, ""), Breaking, "thing/a", "left out"},
		{"presence beside another", with(`"a": {}, "b": {}`, ""), with(`"a": {}, "b": {}`, `, "dependentRequired": {"a": ["b"]}`), Breaking, "thing/b", "beside a"},
		{"type narrowed", with(`"a": {"type": ["string", "null"]}`, ""), with(`"a": {"type": "string"}`, ""), Breaking, "thing/a", "narrowed: type null"},
		{"number to integer", with(`"a": {"type": "number"}`, ""), with(`"a": {"type": "integer"}`, ""), Breaking, "thing/a", "narrowed: type number"},
		{"integer to number", with(`"a": {"type": "integer"}`, ""), with(`"a": {"type": "number"}`, ""), Breaking, "thing/a", "widened: type number"},
		{"type asked for", with(`"a": {}`, ""), with(`"a": {"type": "string"}`, ""), Breaking, "thing/a", "narrowed"},
		{"pattern changed", with(`"a": {"pattern": "^a"}`, ""), with(`"a": {"pattern": "^b"}`, ""), Breaking, "thing/a", "pattern changed"},
		{"pattern new", with(`"a": {}`, ""), with(`"a": {"pattern": "^b"}`, ""), Breaking, "thing/a", "narrowed: pattern"},
		{"format gone", with(`"a": {"format": "date"}`, ""), with(`"a": {}`, ""), Breaking, "thing/a", "widened: format"},
		{"upper limit falls", with(`"a": {"maximum": 10}`, ""), with(`"a": {"maximum": 9}`, ""), Breaking, "thing/a", "narrowed: maximum"},
		{"upper limit rises", with(`"a": {"maximum": 10}`, ""), with(`"a": {"maximum": 11}`, ""), Breaking, "thing/a", "widened: maximum"},
		{"lower limit rises", with(`"a": {"minLength": 1}`, ""), with(`"a": {"minLength": 2}`, ""), Breaking, "thing/a", "narrowed: minLength"},
		{"one number written otherwise", with(`"a": {"maximum": 10}`, ""), with(`"a": {"maximum": 1e1}`, ""), 0, "", ""},
		{"closed list loses a code", with(`"a": {"enum": ["x", "y"]}`, ""), with(`"a": {"enum": ["x"]}`, ""), Breaking, "thing/a", "narrowed: enum y"},
		{"closed list grows", with(`"a": {"enum": ["x"]}`, ""), with(`"a": {"enum": ["x", "y"]}`, ""), Breaking, "thing/a", "widened: enum y"},
		{"open to closed", with(`"a": {"type": "string"}`, ""), with(`"a": {"type": "string", "enum": ["x"]}`, ""), Breaking, "thing/a", "open to closed"},
		{"closed to open", with(`"a": {"type": "string", "enum": ["x"]}`, ""), with(`"a": {"type": "string"}`, ""), Breaking, "thing/a", "closed to open"},
		{"unknown members shut out", with(`"a": {}`, ""), with(`"a": {}`, `, "additionalProperties": false`), Breaking, "thing/additionalProperties", "narrowed"},
		{"entries narrowed", with(`"a": {"items": {"type": ["string", "number"]}}`, ""), with(`"a": {"items": {"type": "number"}}`, ""), Breaking, "thing/a/#", "narrowed: type string"},
		{"a choice more", with("", `, "anyOf": [{"required": ["a"]}]`), with("", `, "anyOf": [{"required": ["a"]}, {"required": ["b"]}]`), Breaking, "thing", "branches"},
		{"a condition", with("", `, "if": {"required": ["a"]}, "then": {"required": ["b"]}`), with("", `, "if": {"required": ["a"]}, "then": {"required": ["c"]}`), Breaking, "thing/then/b", "left out"},
		{"a keyword not known here", with(`"a": {}`, ""), with(`"a": {"uniqueItems": true}`, ""), Breaking, "thing/a", "uniqueItems"},
		{"another dialect", with("", `, "$schema": "x"`), with("", `, "$schema": "y"`), Breaking, "thing", "$schema"},
		{"a shape reached by a reference", with(`"a": {"$ref": "#/$defs/size"}`, fmt.Sprintf(defs, "0")), with(`"a": {"$ref": "#/$defs/size"}`, fmt.Sprintf(defs, "1")), Breaking, "thing/a/min", "narrowed: minimum"},
		{"a shape reached from trial alone", with(`"a": {"$ref": "#/$defs/size", "x-trial": true}`, fmt.Sprintf(defs, "0")), with(`"a": {"$ref": "#/$defs/size", "x-trial": true}`, fmt.Sprintf(defs, "1")), Compatible, "thing/a/min", "on trial"},
		{"a shape reached from trial and elsewhere", with(`"a": {"$ref": "#/$defs/size", "x-trial": true}, "b": {"$ref": "#/$defs/size"}`, fmt.Sprintf(defs, "0")), with(`"a": {"$ref": "#/$defs/size", "x-trial": true}, "b": {"$ref": "#/$defs/size"}`, fmt.Sprintf(defs, "1")), Breaking, "thing/b/min", "narrowed: minimum"},
		{"a shape that nothing refers to", with("", fmt.Sprintf(defs, "0")), with("", fmt.Sprintf(defs, "1")), Breaking, "thing#size/min", "narrowed"},
		{"a shape gone", with("", fmt.Sprintf(defs, "0")), with("", ""), Breaking, "thing", "shape size"},
		{"a reference written out", with(`"a": {"$ref": "#/$defs/size"}`, fmt.Sprintf(defs, "0")), with(`"a": {"type": "object", "properties": {"min": {"type": "number", "minimum": 0}}}`, fmt.Sprintf(defs, "0")), 0, "", ""},
		{"put on trial", with(`"a": {}`, ""), with(`"a": {"x-trial": true}`, ""), Breaking, "thing/a", "put on trial"},
		{"off trial", with(`"a": {"x-trial": true}`, ""), with(`"a": {}`, ""), Compatible, "thing/a", "no longer on trial"},
		{"no longer private", with(`"a": {"x-private": true}`, ""), with(`"a": {}`, ""), Breaking, "thing/a", "private"},
		{"other words", with(`"a": {"description": "one"}`, ""), with(`"a": {"description": "two"}`, ""), Documentation, "thing/a", "description"},
		{"true to a schema", with(`"a": true`, ""), with(`"a": {"type": "string"}`, ""), Breaking, "thing/a", "was the schema true"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := compareSchemas(schemasOf(t, c.old), schemasOf(t, c.now))
			if got.Worst() != c.want {
				t.Fatalf("%v, want %v: %+v", got.Worst(), c.want, got)
			}
			if c.want == 0 {
				return
			}
			if got[0].Where != c.where || !strings.Contains(got[0].What, c.what) {
				t.Errorf("%+v, want %s: %s", got[0], c.where, c.what)
			}
		})
	}
}

func TestSchemasComeAndGo(t *testing.T) {
	one := with("", "")
	other := strings.Replace(one, "thing", "other", 1)
	if got := compareSchemas(schemasOf(t, one, other), schemasOf(t, one)); got.Worst() != Breaking || got[0].Where != "other" {
		t.Errorf("%+v", got)
	}
	if got := compareSchemas(schemasOf(t, one), schemasOf(t, one, other)); got.Worst() != Compatible {
		t.Errorf("%+v", got)
	}
	circle := with(`"again": {"$ref": "#"}`, "")
	if got := compareSchemas(schemasOf(t, circle), schemasOf(t, circle)); len(got) > 0 {
		t.Errorf("%+v", got)
	}
	snake := with(`"a": {"$ref": "#/properties/a"}`, "")
	if got := compareSchemas(schemasOf(t, snake), schemasOf(t, snake)); got.Worst() != Breaking {
		t.Errorf("a reference to itself: %+v", got)
	}
}

func listOf(t *testing.T, open bool, concepts string) map[string]*list {
	t.Helper()
	l, err := readList(fmt.Appendf(nil, `{"list": "thing", "open": %t, "concepts": [%s]}`, open, concepts))
	if err != nil {
		t.Fatal(err)
	}
	return map[string]*list{"thing": l}
}

func TestListChanges(t *testing.T) {
	brass := `{"code": "brass", "prefLabel": {"en": "brass"}, "altLabel": {"de": ["Messing"]}, "density": {"low": 8}}`
	iron := `{"code": "iron", "prefLabel": {"en": "iron"}, "caution": "sharp"}`
	both := brass + "," + iron
	for _, c := range []struct {
		name       string
		open       bool
		old        string
		openNow    bool
		now        string
		want       Verdict
		where, say string
	}{
		{"the same", true, both, true, both, 0, "", ""},
		{"a code gone", true, both, true, brass, Breaking, "list thing iron", "gone"},
		{"a code renamed", true, both, true, brass + "," + strings.Replace(iron, `"iron"`, `"ferrum"`, 1), Breaking, "list thing iron", "renamed to ferrum"},
		{"a new code, open", true, brass, true, both, Compatible, "list thing iron", "new code"},
		{"a new code, closed", false, brass, false, both, Breaking, "list thing iron", "closed list"},
		{"open to closed", true, both, false, both, Breaking, "list thing", "open to closed"},
		{"closed to open", false, both, true, both, Breaking, "list thing", "closed to open"},
		{"a word given to another code", true, both, true, strings.Replace(brass, "Messing", "x", 1) + "," + strings.Replace(iron, `"caution"`, `"altLabel": {"de": ["Messing"]}, "caution"`, 1), Breaking, "list thing brass", "stand for iron"},
		{"a word more", true, both, true, strings.Replace(both, `["Messing"]`, `["Messing", "Gelbguss"]`, 1), Compatible, "list thing brass", "Gelbguss"},
		{"a word less", true, both, true, strings.Replace(both, `["Messing"]`, `[]`, 1), Compatible, "list thing brass", "no longer read"},
		{"another figure", true, both, true, strings.Replace(both, `8`, `9`, 1), Compatible, "list thing brass", "density"},
		{"a caution gone", true, both, true, strings.Replace(both, `, "caution": "sharp"`, "", 1), Breaking, "list thing iron", "caution is gone"},
		{"a scope note", true, both, true, strings.Replace(both, `"caution"`, `"scopeNote": "n", "caution"`, 1), Documentation, "list thing iron", "scope note"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := compareLists(listOf(t, c.open, c.old), listOf(t, c.openNow, c.now))
			if got.Worst() != c.want {
				t.Fatalf("%v, want %v: %+v", got.Worst(), c.want, got)
			}
			if c.want != 0 && (got[0].Where != c.where || !strings.Contains(got[0].What, c.say)) {
				t.Errorf("%+v, want %s: %s", got[0], c.where, c.say)
			}
		})
	}
	if got := compareLists(listOf(t, true, both), nil); got.Worst() != Breaking {
		t.Errorf("a list gone: %+v", got)
	}
	if got := compareLists(nil, listOf(t, true, both)); got.Worst() != Compatible {
		t.Errorf("a new list: %+v", got)
	}
}

func TestRuleChanges(t *testing.T) {
	plain := rule{Code: "x-y", Severity: "warning", Spec: "5.1", Title: "t"}
	change := func(edit func(*rule)) map[string]rule {
		r := plain
		edit(&r)
		return map[string]rule{r.Code: r}
	}
	for _, c := range []struct {
		name string
		old  map[string]rule
		now  map[string]rule
		want Verdict
	}{
		{"the same", change(func(*rule) {}), change(func(*rule) {}), 0},
		{"gone", change(func(*rule) {}), map[string]rule{}, Breaking},
		{"new", map[string]rule{}, change(func(*rule) {}), Compatible},
		{"raised", change(func(*rule) {}), change(func(r *rule) { r.Severity = "error" }), Breaking},
		{"lowered", change(func(*rule) {}), change(func(r *rule) { r.Severity = "info" }), Compatible},
		{"a caution no more", change(func(r *rule) { r.Caution = true }), change(func(*rule) {}), Breaking},
		{"a caution now", change(func(*rule) {}), change(func(r *rule) { r.Caution = true }), Compatible},
		{"another section", change(func(*rule) {}), change(func(r *rule) { r.Spec = "5.2" }), Documentation},
	} {
		if got := compareRules(c.old, c.now); got.Worst() != c.want {
			t.Errorf("%s: %v, want %v", c.name, got.Worst(), c.want)
		}
	}
}

func TestContextChanges(t *testing.T) {
	context := func(terms string) string {
		return `{"@context": {"@version": 1.1, "@vocab": "https://example.org/terms#", "dc": "http://purl.org/dc/terms/", "other": "http://example.org/other#"` + terms + `}}`
	}
	plain := `, "title": "dc:title", "find": {"@id": "dc:hasPart", "@type": "@id", "@context": {"name": "dc:title"}}`
	for _, c := range []struct {
		name, old, now string
		want           Verdict
		where          string
	}{
		{"the same", plain, plain, 0, ""},
		{"the same, written out", plain, strings.Replace(plain, `"dc:title", "find"`, `{"@id": "http://purl.org/dc/terms/title"}, "find"`, 1), 0, ""},
		{"a term gone", plain, strings.Replace(plain, `, "title": "dc:title"`, "", 1), Breaking, "context title"},
		{"another address", plain, strings.Replace(plain, "dc:title", "other:title", 1), Breaking, "context title"},
		{"another type", plain, strings.Replace(plain, `"@type": "@id"`, `"@type": "@json"`, 1), Breaking, "context find"},
		{"within another term", plain, strings.Replace(plain, `{"name": "dc:title"}`, `{"name": "dc:subject"}`, 1), Breaking, "context find/name"},
		{"within another term, gone", plain, strings.Replace(plain, `{"name": "dc:title"}`, `{}`, 1), Breaking, "context find/name"},
		{"the prefix means something else", plain, plain + `, "dc": "http://purl.org/dc/elements/1.1/"`, Breaking, "context find"},
		{"another home of what has no term", plain, plain + `, "@vocab": "https://example.org/others#"`, Breaking, "context @vocab"},
		{"a prefix more", plain, plain + `, "crm": "http://www.cidoc-crm.org/cidoc-crm/"`, 0, ""},
		{"a new term", plain, plain + `, "notes": "dc:description"`, Compatible, "context notes"},
	} {
		old, err := readTerms([]byte(context(c.old)))
		if err != nil {
			t.Fatal(err)
		}
		now, err := readTerms([]byte(context(c.now)))
		if err != nil {
			t.Fatal(err)
		}
		got := compareTerms(old, now)
		if got.Worst() != c.want || c.want != 0 && got[0].Where != c.where {
			t.Errorf("%s: %v, want %v at %s: %+v", c.name, got.Worst(), c.want, c.where, got)
		}
	}
	for _, text := range []string{"", "{}", `{"@context": {"a": {"@context": "x"}}}`, `{"@context": "http://example.org"}`} {
		if _, err := readTerms([]byte(text)); err == nil {
			t.Errorf("%s is taken for a context", text)
		}
	}
}

func TestVectorChanges(t *testing.T) {
	plain := vector{ID: "h-1", Folder: "optional", Operation: "read", Outcome: "pass", Requirements: []string{"4.1-1"}}
	change := func(edit func(*vector)) map[string]vector {
		v := plain
		edit(&v)
		return map[string]vector{v.ID: v}
	}
	old := change(func(*vector) {})
	for name, c := range map[string]struct {
		now  map[string]vector
		want Verdict
	}{
		"the same":             {change(func(*vector) {}), 0},
		"not asked any more":   {map[string]vector{}, Compatible},
		"given out again":      {change(func(v *vector) { v.Operation = "convert" }), Breaking},
		"the contrary":         {change(func(v *vector) { v.Outcome = "fail" }), Breaking},
		"required now":         {change(func(v *vector) { v.Folder = "required" }), Breaking},
		"on trial now":         {change(func(v *vector) { v.Folder = "proposed" }), Compatible},
		"for another sentence": {change(func(v *vector) { v.Requirements = []string{"4.1-2"} }), Documentation},
	} {
		if got := compareVectors(old, c.now); got.Worst() != c.want {
			t.Errorf("%s: %v, want %v", name, got.Worst(), c.want)
		}
	}
	if got := compareVectors(nil, old); got.Worst() != Compatible {
		t.Errorf("a new vector: %+v", got)
	}
}

// What is kept is read again as it was, a draft is kept anew, and a release is never written over.
func TestKeep(t *testing.T) {
	files, err := Published(os.DirFS("../../.."))
	if err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(t.TempDir(), "1.7")
	if err := files.Keep(folder); err != nil {
		t.Fatal(err)
	}
	old, err := Read(os.DirFS(folder))
	if err != nil {
		t.Fatal(err)
	}
	now, err := Read(files)
	if err != nil {
		t.Fatal(err)
	}
	if got := Compare(old, now); len(got) > 0 || len(now.terms) < 50 || len(now.vectors) < 1000 {
		t.Errorf("%d terms, %d vectors: %+v", len(now.terms), len(now.vectors), got)
	}
	if err := files.Keep(folder); err == nil {
		t.Error("a release is written over")
	}
	gone := filepath.Join(folder, "vocabulary", "gone.json")
	for _, name := range []string{filepath.Join(folder, Draft), gone} {
		if err := os.WriteFile(name, []byte("{}"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := files.Keep(folder); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(gone); err == nil {
		t.Error("a list that is no more stays in the draft")
	}
	if _, err := os.Stat(filepath.Join(folder, Draft)); err != nil {
		t.Error("the draft is no draft any more")
	}
	if _, err := Read(os.DirFS(t.TempDir())); err == nil {
		t.Error("an empty folder is taken for a release")
	}
}
