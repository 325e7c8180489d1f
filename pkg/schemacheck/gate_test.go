package schemacheck

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
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
		{"Latin-1", "{\"a\": \"caf\xe9\"}", "json-invalid-utf8", "/a", 10},
		{"overlong", "{\"a\": \"\xc0\xaf\"}", "json-invalid-utf8", "/a", 7},
		{"surrogate as bytes", "{\"a\": \"\xed\xa0\x80\"}", "json-invalid-utf8", "/a", 7},
		{"high surrogate alone", `{"a": "x\ud83d"}`, "json-lone-surrogate", "/a", 8},
		{"low surrogate alone", `{"a": "\uDE00"}`, "json-lone-surrogate", "/a", 7},
		{"two high surrogates", `{"a": "\ud83d\ud83d"}`, "json-lone-surrogate", "/a", 7},
		{"surrogate in a name", `{"\ud83d": 1}`, "json-lone-surrogate", "", 2},
		// Numbers, RFC 7493 section 2.2.
		{"beyond double precision", `{"a": 1e309}`, "json-number-out-of-range", "/a", 6},
		{"costly", `{"a": [1, 1e10000000]}`, "json-number-out-of-range", "/a/1", 10},
		{"costly and small", `{"a": -1e-10000000}`, "json-number-out-of-range", "/a", 6},
		{"costly nought", `{"a": 0e999999999999999999999}`, "json-number-out-of-range", "/a", 6},
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
		{"leading nought", `[01]`, "json-syntax", "", 2},
		// Limits.
		{"deep", strings.Repeat("[", 65) + strings.Repeat("]", 65), "json-too-deep", strings.Repeat("/0", 64), 64},
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
	if got := gate([]byte(`[[1]]`), gateLimits{Depth: 1}); got == nil || got.Kind != jsonTooDeep {
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
