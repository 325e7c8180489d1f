package find

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// theFinds returns the finds of the shipped reports, valid and invalid, as values.
func theFinds(t testing.TB) []any {
	t.Helper()
	var out []any
	reports, err := cases.Reports(os.DirFS("../.."))
	if err != nil {
		t.Fatal(err)
	}
	for _, raw := range reports {
		var doc map[string]any
		if err := json.Unmarshal(raw, &doc); err != nil {
			t.Fatal(err)
		}
		finds, _ := doc["finds"].([]any)
		out = append(out, finds...)
	}
	if len(out) < 200 {
		t.Fatalf("only %d finds", len(out))
	}
	return out
}

// bothTapes reads a text from the quick tape and from the strict one, and reports whether the quick one takes it.
func bothTapes(t *testing.T, raw []byte) bool {
	t.Helper()
	var quick, strict tape.Tape
	if !quick.Parse(raw) || quick.Nodes[0].Kind != tape.Object {
		return false
	}
	if err := strict.ParseStrict(raw); err != nil {
		t.Fatalf("the quick tape takes what the strict one does not (%v): %s", err, raw)
	}
	var one, two Find
	readObject(&quick, 0, &one)
	readObject(&strict, 0, &two)
	if !reflect.DeepEqual(one, two) {
		t.Fatalf("from the quick tape it is another find:\n%+v\n%+v\n%s", one, two, raw)
	}
	return true
}

// What a find says is the same from either tape; what is read is written as what was read, by the standard
// library's account; nothing is lost; and reading what was written gives the find again. So it is for every find
// of the vectors, and for many that were changed at one place or two.
func TestReadAndWrite(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(5, 6))
	quick := 0
	for i := range 12_000 {
		v := finds[i%len(finds)]
		changed := i >= len(finds)
		if changed {
			for range 1 + r.IntN(2) {
				v = changeOne(r, v)
			}
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if bothTapes(t, raw) && !changed {
			quick++
		}
		var f Find
		if err := DecodeFind(raw, &f); err != nil {
			t.Fatalf("%v: %s", err, raw)
		}
		text, err := Append([]byte("before"), &f)
		if err != nil {
			t.Fatalf("%v: %s", err, raw)
		}
		text = text[len("before"):]
		if want, got := plain(t, raw), plain(t, text); !changed && !reflect.DeepEqual(want, got) {
			t.Fatalf("read and written it says something else:\n%s\n%s", raw, text)
		} else if lost := missing(want, got); lost != "" {
			t.Fatalf("%s is lost:\n%s\n%s", lost, raw, text)
		}
		again := new(Find)
		if err := DecodeFind(text, again); err != nil || !Same(again, &f) {
			t.Fatalf("read again it is another find (%v): %s", err, text)
		}
	}
	if quick*100 < len(finds)*90 {
		t.Errorf("only %d of %d finds of the vectors are read quickly", quick, len(finds))
	}
}

func plain(t *testing.T, raw []byte) map[string]any {
	t.Helper()
	var v map[string]any
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatalf("%v: %s", err, raw)
	}
	strip(v)
	return v
}

// strip takes out members that are null, false or empty text, which say nothing, and rounds numbers to nine places.
func strip(v any) {
	switch v := v.(type) {
	case map[string]any:
		for name, m := range v {
			switch n, ok := m.(float64); {
			case m == nil, m == "", m == false:
				delete(v, name)
			case ok && math.Abs(n) < 1e9:
				v[name] = math.Round(n*1e9) / 1e9
			}
			strip(m)
		}
	case []any:
		for _, m := range v {
			strip(m)
		}
	}
}

// missing names a member of the first object that the second lacks.
func missing(want, got map[string]any) string {
	for name := range want {
		if _, there := got[name]; !there {
			return name
		}
	}
	return ""
}

// oddValues take the place of others.
var oddValues = []any{nil, true, "", "x", "a\"b\\c\n\u00e9\u2028", -1.0, 0.5, 1e300, 123456789.123456789, []any{},
	[]any{nil}, []any{"x"},
	map[string]any{}, map[string]any{"verbatim": "x"}, map[string]any{"x": "y"}}

// changeOne changes one place of a copy of a value.
func changeOne(r *rand.Rand, v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		var names []string
		for k, m := range v {
			out[k] = m
			names = append(names, k)
		}
		slices.Sort(names)
		if len(names) == 0 || r.IntN(12) == 0 {
			odd := []string{"odd", "verbatim", "min", "extensions", "absent", "columns"}
			out[odd[r.IntN(len(odd))]] = oddValues[r.IntN(len(oddValues))]
			return out
		}
		k := names[r.IntN(len(names))]
		if r.IntN(6) == 0 {
			out[k] = oddValues[r.IntN(len(oddValues))]
		} else {
			out[k] = changeOne(r, v[k])
		}
		return out
	case []any:
		out := slices.Clone(v)
		if len(v) > 0 && r.IntN(3) > 0 {
			i := r.IntN(len(v))
			out[i] = changeOne(r, v[i])
			return out
		}
		return append(out, oddValues[r.IntN(len(oddValues))])
	}
	return oddValues[r.IntN(len(oddValues))]
}

// What is no quick text is read all the same, and says the same; what is cut off anywhere is an error and never
// half a find.
func TestDecodeFind(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"escapes in names":  {`{"n\u0061me":"x","odd\"":{"a":1}}`, `{"name":"x","odd\"":{"a":1}}`},
		"a surrogate pair":  {`{"name":"\ud83d\udd14"}`, `{"name":"🔔"}`},
		"an exponent":       {`{"weight":{"min":1.5e1,"unit":"g"}}`, `{"weight":{"min":15,"unit":"g"}}`},
		"many digits":       {`{"weight":{"min":1.00000000000000000000001}}`, `{"weight":{"min":1}}`},
		"too large":         {`{"weight":{"min":1e300},"name":"x"}`, `{"name":"x","weight":{"min":1e300}}`},
		"nulls":             {`{"name":null,"depth":null,"materials":[null],"humanRemains":null}`, `{"materials":[{}]}`},
		"deep extensions":   {`{"extensions":{"a":` + strings.Repeat("[", 100) + strings.Repeat("]", 100) + `}}`, ``},
		"what does not fit": {`{"depth":{"min":"8 in"},"name":"x","new":1}`, `{"name":"x","new":1,"depth":{"min":"8 in"}}`},
		"a list of something": {`{"replaces":["a",1],"materials":[{"code":"iron"},7]}`,
			`{"replaces":["a",1],"materials":[{"code":"iron"},7]}`},
	} {
		t.Run(name, func(t *testing.T) {
			f := new(Find)
			if err := DecodeFind([]byte(c.text), f); err != nil {
				t.Fatal(err)
			}
			want := c.want
			if want == "" {
				want = c.text
			}
			if got, err := Marshal(f); err != nil || string(got) != want {
				t.Errorf("%s, want %s (%v)", got, want, err)
			}
			for cut := range len(c.text) {
				if err := DecodeFind([]byte(c.text[:cut]), new(Find)); err == nil {
					t.Errorf("cut off behind %d bytes it is no error: %s", cut, c.text[:cut])
				}
			}
		})
	}
	for _, text := range []string{`[]`, `7`, `{} {}`, `{"name":"x","name":"y"}`, "{\"name\":\"\xff\"}",
		`{"name":"\ud800"}`} {
		if DecodeFind([]byte(text), new(Find)) == nil {
			t.Errorf("%q is no error", text)
		}
	}
}

func FuzzDecodeFind(f *testing.F) {
	for i, v := range theFinds(f) {
		if i%40 == 0 {
			raw, _ := json.Marshal(v)
			f.Add(raw)
		}
	}
	f.Add([]byte(` { "id" : "x" , "extensions" : { "a" : [ 1 , 2 ] } , "absent":{} } `))
	f.Fuzz(func(t *testing.T, raw []byte) {
		bothTapes(t, raw)
		var found Find
		if DecodeFind(raw, &found) != nil {
			return
		}
		text, err := Append(nil, &found)
		if err == nil && !json.Valid(text) {
			t.Fatalf("written as what is no JSON: %s", text)
		}
	})
}

// entriesOf returns all that a reader makes of a text, with one worker or with several.
func entriesOf(t *testing.T, text []byte, lines bool, workers int) (header *Report, entries []Entry, failure string) {
	t.Helper()
	var s *Stream
	var err error
	if o := (Options{File: "x", KeepSource: true}); lines {
		s, err = DecodeJSONL(bytes.NewReader(text), o)
	} else {
		s, err = DecodeJSON(bytes.NewReader(text), o)
	}
	if err != nil {
		return nil, nil, err.Error()
	}
	s = s.Map(func(e *Entry, inOrder bool) bool {
		if !inOrder && len(e.Find.Number)%3 == 1 {
			return false // waits for its turn
		}
		e.Notices.Add()
		return true
	})
	for e, err := range s.InOrder(workers) {
		if err != nil {
			return s.Report, entries, err.Error()
		}
		one := *e
		one.tape, one.at = nil, 0
		entries = append(entries, one)
	}
	return s.Report, entries, ""
}

func sameEntries(t *testing.T, text []byte, lines bool) {
	t.Helper()
	head, want, failure := entriesOf(t, text, lines, 1)
	head3, got, failure3 := entriesOf(t, text, lines, 3)
	if failure != failure3 || !reflect.DeepEqual(head, head3) || len(want) != len(got) {
		t.Fatalf("one worker: %d entries, %q; three: %d, %q\n%s", len(want), failure, len(got), failure3, text)
	}
	for i := range want {
		if !reflect.DeepEqual(want[i], got[i]) {
			t.Fatalf("entry %d differs:\n%+v\n%+v\n%s", i, want[i], got[i], text)
		}
	}
}

// Several workers pass on what one does, also where a byte of the text is wrong, missing or too many.
func TestWorkers(t *testing.T) {
	names, err := filepath.Glob("../../testdata/valid/*.findslip.json")
	if err != nil || len(names) < 3 {
		t.Fatalf("%d reports: %v", len(names), err)
	}
	r := rand.New(rand.NewPCG(11, 12))
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		stream, err := DecodeJSON(bytes.NewReader(text), Options{})
		if err != nil {
			t.Fatal(err)
		}
		var lines bytes.Buffer
		if err := EncodeJSONL(&lines, stream); err != nil {
			t.Fatal(err)
		}
		for i := range 20 {
			for asLines, original := range map[bool][]byte{false: text, true: lines.Bytes()} {
				sameEntries(t, damaged(r, original, i), asLines)
			}
		}
	}
}

// damaged changes a few bytes of a text.
func damaged(r *rand.Rand, text []byte, times int) []byte {
	out := bytes.Clone(text)
	for range min(times, 2) {
		i := r.IntN(len(out))
		switch r.IntN(4) {
		case 0:
			out[i] = "{}[],:\"\\ \n0x\xff"[r.IntN(13)]
		case 1:
			out = append(out[:i], out[i+1:]...)
		case 2:
			out = append(out[:i+1], out[i:]...)
		default:
			out = out[:i]
		}
	}
	return out
}

// Lists at the edges: none, one, of odd values, with commas that do not belong.
func TestWorkersAtTheEdges(t *testing.T) {
	for _, finds := range []string{`[]`, `[ ]`, `[{}]`, `[{},{}]`, `[{},]`, `[,{}]`, `[{},,{}]`, `[1,null,"x"]`,
		`[{"number":"1"} {"number":"2"}]`, `{}`, `null`, `[[],[1,2]]`, `[{"number":"1e5","count":{"min":1e2}}]`,
		`[{"finds":[1,2]}]`, `[`, `[{}`, `[{}}`, `[{"a":1,"a":2}]`} {
		for _, form := range []string{`{"findslip":"1.0","finds":%s}`, `{"finds":%s,"findslip":"1.0"}`,
			"\xef\xbb\xbf{\"people\":[{\"id\":\"finds\"}],\"findslip\":\"1.0\",\"finds\" : %s , \"title\":\"x\"} \n",
			`{"findslip":"1.0","x":{"finds":[1]},"finds":%s}`, `{"findslip":"1.0","finds":%s} x`,
			`{"findslip":"1.0","finds":%s,"finds":[]}`, `{"findslip":"1.0","t":"finds","x":[],"finds":%s}`} {
			sameEntries(t, fmt.Appendf(nil, form, finds), false)
		}
	}
}
