package find

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

// entriesOf returns all that a reader makes of a text, with one worker or with several.
func entriesOf(t *testing.T, text []byte, lines bool, workers int) (header *Report, entries []Entry, failure string) {
	t.Helper()
	var s *Stream
	var err error
	if o := (Options{File: "x", KeepSource: true}); lines {
		s, err = DecodeJSONL(bytes.NewReader(text), o)
	} else if workers == 1 {
		s, err = DecodeJSON(struct {
			*seeker
		}{&seeker{bytes.NewReader(text)}}, o) // which cannot be cut
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

// seeker hides that a reader can read at any place.
type seeker struct{ r *bytes.Reader }

func (s *seeker) Read(p []byte) (int, error)              { return s.r.Read(p) }
func (s *seeker) Seek(o int64, whence int) (int64, error) { return s.r.Seek(o, whence) }

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

// Reports that are cut into pieces of some bytes read as they do when they are read from end to end,
// also where a byte of them is wrong, missing or too many.
func TestPieces(t *testing.T) {
	defer func(n int) { pieceSize = n }(pieceSize)
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
		for i := range 60 {
			pieceSize = []int{1, 40, 700, 5000}[i%4]
			for asLines, original := range map[bool][]byte{false: text, true: lines.Bytes()} {
				sameEntries(t, damaged(r, original, i/4), asLines)
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

// Lists at the edges: none, one, of odd values, with commas that do not belong, cut at every comma.
func TestPiecesAtTheEdges(t *testing.T) {
	defer func(n int) { pieceSize = n }(pieceSize)
	for _, size := range []int{1, 3, 100} {
		pieceSize = size
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
}
