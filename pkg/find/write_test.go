package find

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/internal/tape"
)

// wroteBothWays writes a find quickly and by the JSON library, and tells whether it could be laid on a tape.
func wroteBothWays(t *testing.T, f *Find) bool {
	t.Helper()
	want, wantErr := marshal(f)
	got, err := Append([]byte("before"), f)
	if (err == nil) != (wantErr == nil) {
		t.Fatalf("the error is %v, by the library %v", err, wantErr)
	}
	if err == nil && string(got) != "before"+string(want) {
		t.Fatalf("written quickly it is another text:\n%s\n%s", got, want)
	}
	var laid, read tape.Tape
	if !Lay(&laid, f, Members{}) {
		return false
	}
	if wantErr != nil || !bytes.Equal(laid.Text, want) {
		t.Fatalf("laid on a tape it is another text (%v):\n%s\n%s", wantErr, laid.Text, want)
	}
	if !read.Parse(want) {
		t.Fatalf("the tape does not take its own text: %s", want)
	}
	if d := cmp.Diff(read.Nodes, laid.Nodes); d != "" {
		t.Fatalf("the nodes are not those that are read: %s\n%s", d, want)
	}
	return true
}

// oddTexts take the place of texts: escapes, other scripts, what is no UTF-8.
var oddTexts = []string{"\x00", "\x1f1234567", "12345678\"", "\\", "a/b", "</x>&", "\u007f", "\u2028\u2029", "grün", "1234567é", "日本", "\U0001F514", "\ufffd", "\ufffe", "\xff", "12345678\xc3", "\xed\xa0\x80", "tab\there", "\b\f\n\r"}

// What is written quickly is what the library writes, for every find of the vectors and for many that
// were changed; and the tape is that of the text.
func TestWriteQuickly(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(7, 8))
	quick := 0
	for i := range 20_000 {
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
		var f Find
		DecodeFind(raw, &f)
		if changed && i%3 == 0 {
			odd := oddTexts[r.IntN(len(oddTexts))]
			switch r.IntN(4) {
			case 0:
				f.Name = odd
			case 1:
				f.Absent = map[string]string{odd: "x", "/depth": odd, "\uffff": "", "\U00010000": ""}
			case 2:
				f.Materials = []Material{{Term: Term{Verbatim: odd + f.Name}}, {}}
			case 3:
				f.Columns = map[string]string{odd: odd}
			}
		}
		if wroteBothWays(t, &f) && !changed {
			quick++
		}
	}
	if quick*100 < len(finds)*90 {
		t.Errorf("only %d of %d finds of the vectors are written quickly", quick, len(finds))
	}
}

// Members that are given and empty, numbers of every length, and what is too much for a tape.
func TestWriteQuicklyAtTheEdges(t *testing.T) {
	yes, many := true, map[string]string{}
	for i := range 1500 {
		many[strings.Repeat("x", i+1)] = "y"
	}
	for name, c := range map[string]struct {
		f     Find
		taped bool
	}{
		"nothing":         {Find{}, true},
		"empty":           {Find{Found: &Found{}, Materials: []Material{}, Absent: map[string]string{}, Columns: map[string]string{}}, true},
		"empty elements":  {Find{Materials: []Material{{}, {}}, Replaces: []string{"", "x"}}, true},
		"flags":           {Find{HumanRemains: &yes, Dimensions: &Dimensions{Surviving: new(bool)}}, true},
		"an embedded":     {Find{Depth: &Depth{Quantity: Quantity{Approximate: true, Min: Int(0)}, Why: "x"}}, true},
		"numbers":         {Find{Position: &Position{Longitude: Float(-179.999999999), Latitude: Float(-0.000000001), Uncertainty: Int(-5)}}, true},
		"too many digits": {Find{Position: &Position{Longitude: Float(-1234567.123456789)}}, false},
		"a long number":   {Find{Position: &Position{Longitude: NumberOf(-123456_123456789), Latitude: NumberOf(-1234567_123456780)}}, true},
		"the largest":     {Find{Weight: &Quantity{Min: NumberOf(-9223372036854775807), Max: NumberOf(-9223372036854775808)}}, false},
		"extensions":      {Find{Extensions: []byte(`{ "x" : 1 }`)}, false},
		"no JSON":         {Find{Extensions: []byte(`{`)}, false},
		"empty JSON":      {Find{Extensions: []byte{}}, false},
		"unknown members": {Find{Depth: &Depth{Quantity: Quantity{Unknown: []byte(`{"x":1}`)}}}, false},
		"unknown empty":   {Find{Unknown: []byte(`{}`)}, false},
		"an area":         {Find{Position: &Position{Area: &Area{Type: "Polygon"}}}, false},
		"many columns":    {Find{Columns: many}, false},
		"a name to quote": {Find{Columns: map[string]string{`a"b`: "x"}}, false},
		"no UTF-8":        {Find{Name: "caf\xe9"}, false},
	} {
		t.Run(name, func(t *testing.T) {
			if got := wroteBothWays(t, &c.f); got != c.taped {
				t.Errorf("laid on a tape: %v, want %v", got, c.taped)
			}
		})
	}
}

func FuzzWriteQuickly(f *testing.F) {
	for i, v := range theFinds(f) {
		if i%40 == 0 {
			raw, _ := json.Marshal(v)
			f.Add(raw, "grün \"x\"")
		}
	}
	f.Fuzz(func(t *testing.T, raw []byte, text string) {
		var found Find
		DecodeFind(raw, &found)
		wroteBothWays(t, &found)
		found.Name, found.Columns = text, map[string]string{text: text, "x": text}
		wroteBothWays(t, &found)
	})
}

func BenchmarkWriteFind(b *testing.B) {
	report, err := os.ReadFile("../../testdata/valid/typical.findslip.json")
	if err != nil {
		b.Fatal(err)
	}
	var doc struct {
		Finds []json.RawMessage `json:"finds"`
	}
	if err := json.Unmarshal(report, &doc); err != nil {
		b.Fatal(err)
	}
	f := new(Find)
	DecodeFind([]byte(doc.Finds[0]), f)
	b.Run("Append", func(b *testing.B) {
		b.ReportAllocs()
		var text []byte
		for range b.N {
			text, _ = Append(text[:0], f)
		}
	})
	b.Run("Lay", func(b *testing.B) {
		b.ReportAllocs()
		var t tape.Tape
		for range b.N {
			Lay(&t, f, Members{})
		}
	})
	b.Run("the library", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			if _, err := marshal(f); err != nil {
				b.Fatal(err)
			}
		}
	})
}
