package schemacheck

import (
	"encoding/json"
	"errors"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/internal/kinds"
)

func TestGate(t *testing.T) {
	long := strings.Repeat("1", 65)
	for _, c := range []struct {
		name, text, code, pointer string
		offset                    int64
	}{
		// I-JSON, RFC 7493 sections 2.1 to 2.3.
		{"name twice", `{"a": 1, "a": 2}`, "json-duplicate-name", "/a", 9},
		{"name twice, one escaped", `{"a": 1, "\u0061": 2}`, "json-duplicate-name", "/a", 9},
		{"name twice, inside", `{"x": [{"b": {}, "b": 2}]}`, "json-duplicate-name", "/x/0/b", 17},
		{"Latin-1", "{\"a\": \"caf\xe9\"}", "json-text-damaged", "/a", 10},
		{"overlong", "{\"a\": \"\xc0\xaf\"}", "json-text-damaged", "/a", 7},
		{"surrogate as bytes", "{\"a\": \"\xed\xa0\x80\"}", "json-text-damaged", "/a", 7},
		{"high surrogate alone", `{"a": "x\ud83d"}`, "json-text-damaged", "/a", 8},
		{"low surrogate alone", `{"a": "\uDE00"}`, "json-text-damaged", "/a", 7},
		{"two high surrogates", `{"a": "\ud83d\ud83d"}`, "json-text-damaged", "/a", 7},
		{"surrogate in a name", `{"\ud83d": 1}`, "json-text-damaged", "", 2},
		// Numbers, RFC 7493 section 2.2.
		{"beyond double precision", `{"a": 1e309}`, "json-number-out-of-range", "/a", 6},
		{"costly", `{"a": [1, 1e10000000]}`, "json-number-out-of-range", "/a/1", 10},
		{"costly and small", `{"a": -1e-10000000}`, "json-number-out-of-range", "/a", 6},
		{"costly zero", `{"a": 0e999999999999999999999}`, "json-number-out-of-range", "/a", 6},
		{"many digits", `{"a": ` + long + `}`, "json-number-out-of-range", "/a", 6},
		// RFC 8259.
		{"cut off", `{"a": [1, 2`, "json-syntax", "/a", 11},
		{"nothing", ``, "json-syntax", "", 0},
		{"blank", " \n", "json-syntax", "", 0},
		{"two values", `{} {}`, "json-syntax", "", 4},
		{"trailing comma", `{"a": 1,}`, "json-syntax", "", 7},
		{"NaN", `{"a": NaN}`, "json-syntax", "/a", 6},
		{"byte order mark", "\xef\xbb\xbf{}", "json-syntax", "", 0},
		{"control character", "{\"a\": \"\x01\"}", "json-syntax", "/a", 7},
		{"leading zero", `[01]`, "json-syntax", "", 2},
		// Limits.
		{"deep", strings.Repeat("[", 65) + strings.Repeat("]", 65), "json-too-large", strings.Repeat("/0", 64), 64},
		{"large", `"` + strings.Repeat("x", 1<<20) + `"`, "json-too-large", "", 1 << 20},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := gate([]byte(c.text), gateLimits{})
			if got == nil {
				t.Fatal("let through")
			}
			type place struct {
				Code, Pointer string
				Offset        int64
			}
			if d := cmp.Diff(place{c.code, c.pointer, c.offset}, place{got.Kind.Code, got.Pointer, got.Offset}); d != "" {
				t.Error(d)
			}
			if n := got.Notice(); n.Kind != got.Kind || n.Message == "" || n.HelpText() == "" {
				t.Errorf("notice: %+v", n)
			}
			if !strings.Contains(got.Error(), c.code) {
				t.Errorf("error: %s", got)
			}
		})
	}
}

func TestGateLetsThrough(t *testing.T) {
	for _, text := range []string{
		`{}`, ` [1, -0.5, 1e308, 5e-308, null, true, ""] `, `"\ud83d\ude00 é ½"`, `{"": {"": 1}}`,
		strings.Repeat("[", 64) + strings.Repeat("]", 64), `"` + strings.Repeat("x", 1<<20-2) + `"`,
	} {
		if got := gate([]byte(text), gateLimits{}); got != nil {
			t.Errorf("%.40s: %v", text, got)
		}
	}
	big := `"` + strings.Repeat("x", 1<<20) + `"`
	if got := gate([]byte(big), gateLimits{RecordBytes: -1}); got != nil {
		t.Error(got)
	}
	if got := gate([]byte(`[[1]]`), gateLimits{Depth: 1}); got == nil || got.Kind != &kinds.JsonTooLarge {
		t.Errorf("a limit of one: %v", got)
	}
}

// FuzzGate holds the gate to its promise: it never panics, and what it lets through is JSON for the
// standard library too and never stops the schema engine.
func FuzzGate(f *testing.F) {
	for _, s := range []string{
		`{"id": "urn:uuid:0190f3c2-5b7e-7a41-8c1d-2f6a9e0b4d37", "number": "1", "depth": {"min": 1e308, "unit": "cm"}}`,
		`{"count": {"min": 1e10000000}}`, `{"a": "\ud83d"}`, `{"a": 1, "a": 2}`, "{\"a\": \"\xff\"}", `[[[[1]]]]`,
		`{"position": {"longitude": -0, "latitude": 1e-300}, "absent": {"/~1%25 ": "withheld"}, "": {}}`,
		`{"media": [{"file": "a/../b"}], "materials": [[]], "kind": ["lot"]}`,
	} {
		f.Add([]byte(s))
	}
	schemas, err := New()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		if gate(raw, gateLimits{}) != nil {
			return
		}
		if !json.Valid(raw) {
			t.Fatal("let through what is not JSON")
		}
		for _, name := range []string{"find", "report", "notices"} {
			if _, err := schemas.Document(raw, name); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			schemas.UnknownMembers(raw, name)
		}
	})
}

// The facts about the engine that these guards answer were found in the source of
// santhosh-tekuri/jsonschema v5.3.1. Each test first shows that the engine alone behaves badly, so
// that it says so when a guard is no longer needed.

func newEngine(t *testing.T, text string) *engine {
	t.Helper()
	engines, err := newEngines(
		[]byte(`{"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "https://example.org/s", ` + text + `}`))
	if err != nil {
		t.Fatal(err)
	}
	return engines["https://example.org/s"]
}

func compiledOf(t testing.TB, e *engine) *jsonschema.Schema {
	t.Helper()
	compiled, err := e.compiled()
	if err != nil {
		t.Fatal(err)
	}
	return compiled
}

func pointersOf(list []SchemaError) []string {
	var out []string
	for _, e := range list {
		out = append(out, e.Pointer)
	}
	return out
}

func messagesOf(list []SchemaError) []string {
	var out []string
	for _, e := range list {
		out = append(out, e.Message)
	}
	return out
}

func TestGuardNumbersThatStopTheEngine(t *testing.T) {
	e := newEngine(t, `"type": "integer", "minimum": 0`)
	for name, value := range map[string]any{
		"huge literal": json.Number("1e10000000"), "infinite": math.Inf(1), "no number": math.NaN(),
	} {
		panicked := func() (p bool) {
			defer func() { p = recover() != nil }()
			_ = compiledOf(t, e).Validate(value)
			return false
		}()
		if !panicked {
			t.Errorf("%s: the engine alone no longer panics", name)
		}
		if _, err := validateSafely(compiledOf(t, e), value); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	schemas, err := New()
	if err != nil {
		t.Fatal(err)
	}
	var refused *GateError
	if _, err := schemas.Document([]byte(`{"count": {"min": 1e10000000}}`), "find"); !errors.As(err, &refused) ||
		refused.Kind != &kinds.JsonNumberOutOfRange {
		t.Errorf("a huge literal passes the gate: %v", err)
	}
}

func TestGuardOrder(t *testing.T) {
	e := newEngine(t, `"title": "T", "type": "object", "properties": {"a": {"type": "string"}, "b": {"type": "string"}, `+
		`"c": {"type": "string"}, "d": {"type": "object", "additionalProperties": false}}`)
	raw := []byte(`{"c": 1, "a": 2, "b": 3, "d": {"z": 1, "y": 2, "x": 3}}`)
	var value any
	if err := json.Unmarshal(raw, &value); err != nil {
		t.Fatal(err)
	}
	alone := map[string]bool{}
	var first []SchemaError
	for range 200 {
		err := compiledOf(t, e).Validate(value)
		var failed *jsonschema.ValidationError
		if !errors.As(err, &failed) {
			t.Fatal(err)
		}
		text, _ := json.Marshal(failed.BasicOutput())
		alone[string(text)] = true
		got, err := judgeText(t, e, string(raw))
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = got
		}
		if d := cmp.Diff(first, got); d != "" {
			t.Fatal(d)
		}
	}
	if len(alone) < 2 {
		t.Error("the engine alone now has one order")
	}
	if d := cmp.Diff([]string{"/a", "/b", "/c", "/d", "/d", "/d"}, pointersOf(first)); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]string{`T: "x" may not stand here`, `T: "y" may not stand here`, `T: "z" may not stand here`},
		messagesOf(first)[3:]); d != "" {
		t.Error(d)
	}
}

func TestGuardPointers(t *testing.T) {
	const name = "a b/ø~%41"
	e := newEngine(t, `"properties": {"a b/ø~%41": {"type": "string"}}`)
	err := compiledOf(t, e).Validate(map[string]any{name: true})
	var failed *jsonschema.ValidationError
	if !errors.As(err, &failed) {
		t.Fatal(err)
	}
	for len(failed.Causes) > 0 {
		failed = failed.Causes[0]
	}
	const want = "/a b~1ø~0%41" // RFC 6901 sections 3 and 4
	if failed.InstanceLocation == want {
		t.Error("the engine alone no longer percent-encodes")
	}
	if plain, _ := url.PathUnescape(failed.InstanceLocation); plain != want {
		t.Errorf("percent-decoded: %q", plain)
	}
	got, err := judgeText(t, e, `{"a b/ø~%41": true}`)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 1 || got[0].Pointer != want || got[0].SchemaPath != "https://example.org/s#/properties"+want+"/type" {
		t.Errorf("%+v", got)
	}
	if got := pointerTokens("/"); len(got) != 1 || got[0] != "" {
		t.Errorf("a member without a name: %q", got)
	}
}

func TestGuardMissingNames(t *testing.T) {
	// A name with a comma and quotes cannot be taken from the engine's English sentence.
	e := newEngine(t, `"title": "T", "required": ["a', 'b", "c", "d"], "dependentRequired": {"d": ["x", "c"], "e": ["x"]}`)
	got, err := judgeText(t, e, `{"d": 1, "e": 2}`)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{`T: "c" is missing beside the rest`, `T: "x" is missing beside the rest`, `T: "a', 'b" is missing`,
		`T: "c" is missing`}
	if d := cmp.Diff(want, messagesOf(got)); d != "" {
		t.Error(d)
	}
}

func TestGuardNothingIsLoaded(t *testing.T) {
	file := filepath.Join(t.TempDir(), "other.json")
	if err := os.WriteFile(file, []byte(`{"type": "string"}`), 0o600); err != nil {
		t.Fatal(err)
	}
	ref := "file://" + filepath.ToSlash(file)
	text := `{"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": "https://example.org/s", "$ref": "` + ref +
		`"}`
	open := jsonschema.NewCompiler()
	if err := open.AddResource("https://example.org/s", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	if _, err := open.Compile("https://example.org/s"); err != nil {
		t.Errorf("the engine alone no longer reads local files: %v", err)
	}
	shut := newCompiler()
	if err := shut.AddResource("https://example.org/s", strings.NewReader(text)); err != nil {
		t.Fatal(err)
	}
	if _, err := shut.Compile("https://example.org/s"); err == nil || !strings.Contains(err.Error(),
		"nothing is fetched") {
		t.Errorf("a local file was opened: %v", err)
	}
	if _, err := newEngines([]byte(text)); err == nil {
		t.Error("a reference to a local file is accepted")
	}
}

func TestGuardDepth(t *testing.T) {
	schemas, err := New()
	if err != nil {
		t.Fatal(err)
	}
	nested := func(n int) []byte {
		return []byte(`{"x":` + strings.Repeat("[", n-1) + strings.Repeat("]", n-1) + `}`)
	}
	if _, err := schemas.Document(nested(64), "find"); err != nil {
		t.Errorf("64 deep: %v", err)
	}
	for _, n := range []int{65, 5000, 500000} {
		var refused *GateError
		if _, err := schemas.Document(nested(n), "find"); !errors.As(err, &refused) || refused.Kind != &kinds.JsonTooLarge {
			t.Errorf("%d deep: %v", n, err)
		}
	}
}

// JSON Schema Validation 2020-12 section 7.2.1: formats are annotations unless asserted.
func TestGuardFormatsAreAsserted(t *testing.T) {
	e := newEngine(t, `"format": "date"`)
	got, err := e.judge("2026-02-30")
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 1 || got[0].Code != "schema-pattern" {
		t.Errorf("%+v", got)
	}
	if _, err := newEngines([]byte(`{"$id": "https://example.org/s"}`)); err == nil {
		t.Error("a schema without $schema is accepted")
	}
}

// judgeText judges a JSON text.
func judgeText(t *testing.T, e *engine, text string) ([]SchemaError, error) {
	t.Helper()
	var value any
	if err := json.Unmarshal([]byte(text), &value); err != nil {
		t.Fatal(err)
	}
	return e.judge(value)
}
