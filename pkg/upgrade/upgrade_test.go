package upgrade_test

import (
	"encoding/json"
	"errors"
	"os"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/upgrade"
)

// vector is one entry of testdata/vectors/upgrade.json.
type vector struct {
	ID     string
	Input  json.RawMessage
	Expect struct {
		Report  any
		Notices []said
		Error   string
	}
	Why, Source string
}

type said struct{ Code, Pointer string }

func vectors(t testing.TB) []vector {
	t.Helper()
	raw, err := os.ReadFile("../../testdata/vectors/upgrade.json")
	if err != nil {
		t.Fatal(err)
	}
	var out []vector
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	if len(out) < 30 {
		t.Fatalf("only %d vectors", len(out))
	}
	return out
}

func TestVectors(t *testing.T) {
	seen := map[string]bool{}
	for _, v := range vectors(t) {
		r, err := upgrade.Report(v.Input)
		var refused *find.ReadError
		if errors.As(err, &refused) {
			if refused.Code != v.Expect.Error {
				t.Errorf("%s (%s): refused with %s, want %q", v.ID, v.Why, refused.Code, v.Expect.Error)
			}
			continue
		}
		if err != nil || v.Expect.Error != "" {
			t.Errorf("%s (%s): error %v, want %q", v.ID, v.Why, err, v.Expect.Error)
			continue
		}
		var got any
		if err := json.Unmarshal(r.Text, &got); err != nil {
			t.Errorf("%s: what comes out is no JSON: %v", v.ID, err)
			continue
		}
		if d := cmp.Diff(v.Expect.Report, got); d != "" {
			t.Errorf("%s (%s): %s", v.ID, v.Why, d)
		}
		list := []said{}
		for _, n := range r.Notices {
			list = append(list, said{n.Kind.Code, n.Pointer})
			seen[n.Kind.Code] = true
		}
		if d := cmp.Diff(v.Expect.Notices, list); d != "" {
			t.Errorf("%s (%s): notices %s", v.ID, v.Why, d)
		}
		again, err := upgrade.Report(r.Text)
		if err != nil || len(again.Notices) > 0 || string(again.Text) != string(r.Text) {
			t.Errorf("%s: what was upgraded is not left alone (%v)", v.ID, err)
		}
	}
	for _, k := range upgrade.Kinds() {
		if !seen[k.Code] {
			t.Errorf("no vector draws %s", k.Code)
		}
	}
}

// What is no JSON, or says a thing twice, is refused and never half read.
func TestBroken(t *testing.T) {
	for _, text := range []string{"", " ", "{", `{"findslip":"0.9"`, `{"findslip":"0.9"}}`, `{"findslip":"0.9","findslip":"1.0"}`,
		`{"findslip":"0.9","finds":[{"id":"a","id":"b"}]}`, "{\"findslip\":\"0.9\",\"title\":\"\xff\"}", `{"findslip":"0.9","title":"\ud800"}`, "nonsense"} {
		var refused *find.ReadError
		if r, err := upgrade.Report([]byte(text)); !errors.As(err, &refused) || refused.Msg == "" {
			t.Errorf("%q: %v, %v", text, r, err)
		}
	}
	if r, err := upgrade.Report([]byte("\ufeff{\"findslip\":\"0.9\"}")); err != nil || r.From != upgrade.Draft {
		t.Errorf("a byte order mark: %v", err)
	}
}

func FuzzReport(f *testing.F) {
	for _, v := range vectors(f) {
		f.Add([]byte(v.Input))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := upgrade.Report(text)
		if err != nil {
			return
		}
		if r.From != upgrade.Draft {
			return
		}
		again, err := upgrade.Report(r.Text)
		if err != nil || len(again.Notices) > 0 {
			t.Fatalf("what was upgraded is not left alone: %v", err)
		}
		if !slices.ContainsFunc([]byte(r.Text), func(b byte) bool { return b == '{' }) {
			t.Fatal("a report is an object")
		}
	})
}
