package find

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"testing"
)

// What a reader makes in memory that was used before is what it makes in fresh memory, one find after the other and
// several at a time; and nothing of one find is left in another that has less.
func TestReuse(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(9, 10))
	var lines, list bytes.Buffer
	lines.WriteString(`{"type":"report","report":{"findslip":"1.0","id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11"}}` + "\n")
	list.WriteString(`{"findslip":"1.0","id":"urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a11","finds":[`)
	n := 6000
	for i := range n {
		v := finds[r.IntN(len(finds))]
		if i%3 == 0 {
			v = changeOne(r, v)
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		lines.WriteString(`{"type":"find","find":` + string(raw) + "}\n")
		if list.Write(raw); i < n-1 {
			list.WriteByte(',')
		}
	}
	lines.WriteString(`{"type":"end","finds":6000}` + "\n")
	list.WriteString("]}")
	for name, open := range map[string]func(Options) (*Stream, error){
		"lines": func(o Options) (*Stream, error) { return DecodeJSONL(bytes.NewReader(lines.Bytes()), o) },
		"list":  func(o Options) (*Stream, error) { return DecodeJSON(bytes.NewReader(list.Bytes()), o) },
	} {
		read := func(o Options, workers int) (out []string) {
			s, err := open(o)
			if err != nil {
				t.Fatal(err)
			}
			for e, err := range s.Map(func(*Entry, bool) bool { return true }).InOrder(workers) {
				if err != nil {
					t.Fatal(err)
				}
				if e.Find == nil {
					out = append(out, "none")
					continue
				}
				text, err := Marshal(e.Find)
				if err != nil {
					text = []byte(err.Error())
				}
				out = append(out, string(text)+string(e.Raw))
				e.Release()
			}
			return out
		}
		want := read(Options{KeepSource: true}, 1)
		if len(want) < n {
			t.Fatalf("%s: %d entries", name, len(want))
		}
		for _, workers := range []int{1, 3} {
			for range 2 { // the second time with much that was used
				got := read(Options{KeepSource: true, Reuse: true}, workers)
				if len(got) != len(want) {
					t.Fatalf("%s, %d workers: %d entries, want %d", name, workers, len(got), len(want))
				}
				for i := range want {
					if got[i] != want[i] {
						t.Fatalf("%s, %d workers: entry %d is\n%s\nwant\n%s", name, workers, i, got[i], want[i])
					}
				}
			}
		}
	}
}
