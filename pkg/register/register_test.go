package register_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/register"
)

// A register is written, read, and united with one of another machine.
func Example() {
	desk, laptop := register.New("2026-04-01T00:00:00Z"), register.New("2026-05-01T00:00:00Z")
	laptop.Add(register.Event{Kind: register.Copy, At: "2026-05-02T00:00:00Z", Audience: "expert",
		Finds: []register.Told{{Find: laptop.Digest("find", "a"), Side: 1_000_000}}})
	lines, err := laptop.Fresh()
	if err != nil {
		fmt.Println(err)
		return
	}
	other := &register.Register{}
	if err := other.Read(bytes.NewReader(lines), limit.Limits{}); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(desk.Union(other), "events more;", desk.Union(other), "the second time")
	fmt.Println("the older secret signs:", desk.Signer() != laptop.Signer())
	fmt.Println("what either told is found:",
		strings.Contains(strings.Join(desk.Digests("find", "a"), " "), laptop.Events[1].Finds[0].Find))
	// Output:
	// 2 events more; 0 the second time
	// the older secret signs: true
	// what either told is found: true
}

func TestRead(t *testing.T) {
	for text, fine := range map[string]bool{"": true, "\n": true,
		"{\"id\":\"a\",\"event\":\"secret\",\"key\":\"00\"}\n": true, "{\"id\":\"a\",\"event\":\"later kind\"}": true,
		"{\"id\":\"a\"": false, "{\"id\":\"a\"}\n": false, "[]\n": false} {
		r := &register.Register{}
		if err := r.Read(strings.NewReader(text), limit.Limits{}); (err == nil) != fine {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestIsName(t *testing.T) {
	for name, want := range map[string]bool{register.Name: true,
		"findslip.register (conflicted copy 2026-05-01).jsonl": true, "Findslip.Register-LAPTOP.jsonl": true,
		"findslip.register.jsonl.lock": true, "season.findslip.jsonl": false, "register.jsonl": false} {
		if register.IsName(name) != want {
			t.Errorf("%s: %v", name, !want)
		}
	}
}

// A find takes few bytes, and the digests of older registers are read still.
func TestDigestsAreShort(t *testing.T) {
	r := register.New("2026-01-01T00:00:00Z")
	e := &register.Event{Signed: r.Signer()}
	told := []register.Told{{ID: "urn:uuid:a"}, {ID: "urn:uuid:b"}}
	for i := range told {
		for _, pointer := range []string{"/name", "/materials/0", "/weight"} {
			r.Note(e, &told[i], pointer, "value")
		}
	}
	if len(e.Leaves) != 3 || len(told[1].Leaves) != 18 {
		t.Errorf("%d names and %q", len(e.Leaves), told[1].Leaves)
	}
	old := &register.Event{Signed: e.Signed}
	long := &register.Told{ID: "urn:uuid:a", Leaves: "/name=" + e.Noted(&told[0])["/name"]}
	for _, c := range []struct {
		e *register.Event
		t *register.Told
	}{{e, &told[0]}, {old, long}} {
		digest := c.e.Noted(c.t)["/name"]
		if !r.Is(digest, c.e, c.t, "/name", "value") || r.Is(digest, c.e, c.t, "/name", "other") ||
			r.Is("", c.e, c.t, "/name", "value") {
			t.Errorf("the digest %q is not known again", digest)
		}
	}
}
