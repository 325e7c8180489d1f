package tape

import (
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"
)

// value makes of a node what the strict parser makes of its text.
func value(t *testing.T, p *Tape, i uint32) any {
	n := p.Nodes[i]
	switch n.Kind {
	case Null:
		return nil
	case False, True:
		return n.Kind == True
	case Number:
		exact, err := strconv.ParseFloat(string(p.Bytes(i)), 64)
		if err != nil {
			t.Fatal(err)
		}
		if f, ok := p.Float(i); ok && f != exact {
			t.Fatalf("%s is read as %v", p.Bytes(i), f)
		}
		return exact
	case String:
		return string(p.AppendString(nil, i))
	case Array:
		out := []any{}
		for at := i + 1; at < n.Next; at = p.Nodes[at].Next {
			out = append(out, value(t, p, at))
		}
		if len(out) != int(n.Count) {
			t.Fatalf("%d items are counted as %d", len(out), n.Count)
		}
		return out
	case Object:
		out := map[string]any{}
		for at := i + 1; at < n.Next; at = p.Nodes[at+1].Next {
			if p.Nodes[at].Kind != Name {
				t.Fatalf("node %d is no name: %+v", at, p.Nodes[at])
			}
			out[string(p.Bytes(at))] = value(t, p, at+1)
		}
		if len(out) != int(n.Count) {
			t.Fatalf("%d members are counted as %d", len(out), n.Count)
		}
		return out
	}
	t.Fatalf("node %d is of no kind: %+v", i, n)
	return nil
}

// check holds the tape to the strict parser: what it takes, that takes too, and says the same.
func check(t *testing.T, text []byte) bool {
	t.Helper()
	var p Tape
	if !p.Parse(text) {
		return false
	}
	var want any
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatalf("the tape takes what is no strict JSON (%v): %q", err, text)
	}
	if got := value(t, &p, 0); !reflect.DeepEqual(want, got) {
		t.Fatalf("%q is read as %v, by the parser as %v", text, got, want)
	}
	return true
}

func deep(n int) string { return strings.Repeat("[", n) + strings.Repeat("]", n) }

var cases = []struct {
	text  string
	taken bool
}{
	{`{}`, true}, {`[]`, true}, {` [ 1 , -0.5 , 120 ] `, true}, {`null`, true}, {`true`, true}, {`false`, true},
	{`"x"`, true}, {`0`, true}, {`-0`, true},
	{`{"a":1,"b":{"a":2},"c":[{"a":3}]}`, true}, {"\t{\n\"a\"\r:\t1\n}\n", true},
	{`"\"\\\/\b\f\n\r\t\u0041\u00e9\uFFFD"`, true}, {`"grün und 日本"`, true},
	{`"0123456é"`, true}, {`"01234567\n9"`, true}, {"\"\x7f\"", true}, {deep(64), true},
	// RFC 8259: no JSON.
	{``, false}, {` `, false}, {`{`, false}, {`[1,]`, false}, {`{"a":1,}`, false}, {`{"a"}`, false}, {`{a:1}`, false},
	{`[1 2]`, false}, {`01`, false}, {`1.`, false}, {`.5`, false},
	{`+1`, false}, {`-`, false}, {`NaN`, false}, {`nul`, false}, {`truex`, false}, {`"a`, false}, {`"a\"`, false},
	{`"\x41"`, false}, {`"\u12"`, false}, {"\"a\nb\"", false},
	{"\"0123456\x01\"", false}, {`{} {}`, false}, {`]`, false}, {`[}`, false}, {"\"\x00\"", false},
	// RFC 7493: no I-JSON.
	{"\"\xff\"", false}, {"\"0123456789\xc3\"", false}, {`"\ud800"`, false}, {`"\udc00\ud800"`, false},
	{`{"a":1,"a":2}`, false}, {"\xef\xbb\xbf{}", false},
	{`{"b":0,"a":1,"c":{},"a":2}`, false},
	// JSON that is left to others.
	{`"\ud83d\ude00"`, false}, {`{"\u0061":1}`, false}, {`1e3`, false}, {`123456789012345678`, false}, {deep(65), false},
}

func TestParse(t *testing.T) {
	for _, c := range cases {
		if got := check(t, []byte(c.text)); got != c.taken {
			t.Errorf("%q: taken %v, want %v", c.text, got, c.taken)
		}
	}
}

// Every shipped report is taken, and reads as it is.
func TestParseReports(t *testing.T) {
	names, err := filepath.Glob("../../../testdata/*/*.json")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d files: %v", len(names), err)
	}
	taken := 0
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if check(t, text) {
			taken++
		}
	}
	if taken*10 < len(names)*8 {
		t.Errorf("only %d of %d files are taken", taken, len(names))
	}
}

// Objects of many members, among them two of one name at any distance.
func TestNamesTwice(t *testing.T) {
	for n := 1; n < 200; n += 7 {
		var b strings.Builder
		for i := range n {
			b.WriteString(`"name` + strconv.Itoa(i) + `":{"x":1},`)
		}
		if !check(t, []byte("{"+b.String()+`"last":0}`)) {
			t.Errorf("%d members are not taken", n)
		}
		for i := 0; i < n; i += 5 {
			if check(t, []byte("{"+b.String()+`"name`+strconv.Itoa(i)+`":0}`)) {
				t.Errorf("%d members: name %d stands twice and is taken", n, i)
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, c := range cases {
		f.Add([]byte(c.text))
	}
	f.Fuzz(func(t *testing.T, text []byte) { check(t, text) })
}
