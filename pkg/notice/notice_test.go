package notice

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestComparePointers(t *testing.T) {
	// Array indices are decimal numbers without leading zeros: RFC 6901 section 4.
	ordered := []string{"", "/finds", "/finds/2", "/finds/2/depth", "/finds/2/depth/min", "/finds/10", "/finds/10/a",
		"/people/0"}
	for i, a := range ordered {
		for j, b := range ordered {
			got := ComparePointers(a, b)
			if (got < 0) != (i < j) || (got > 0) != (i > j) {
				t.Errorf("ComparePointers(%q, %q) = %d", a, b, got)
			}
		}
	}
}

func TestEscape(t *testing.T) {
	// The examples of RFC 6901 section 5.
	for token, want := range map[string]string{"a/b": "a~1b", "m~n": "m~0n", "": "", " ": " ", "c%d": "c%d"} {
		if got := Escape(token); got != want {
			t.Errorf("Escape(%q) = %q, want %q", token, got, want)
		}
		if got := Unescape(want); got != token {
			t.Errorf("Unescape(%q) = %q, want %q", want, got, token)
		}
	}
	// RFC 6901 section 4: "~01" is "~1", never "/".
	if got := Unescape("~01"); got != "~1" {
		t.Errorf("Unescape(~01) = %q", got)
	}
}

func TestSortIsOneOrder(t *testing.T) {
	hard := &Kind{Code: "hard", Severity: Error}
	soft := &Kind{Code: "soft", Severity: Info, Caution: true}
	danger := &Kind{Code: "shell", Severity: Warning, Caution: true, Group: "safety"}
	want := List{
		New(danger, "/finds/12", "a"),
		New(hard, "/finds/2", "a"),
		New(soft, "/finds/2", "a"),
		New(soft, "/finds/2", "b"),
		New(hard, "/finds/11/depth", "x"),
	}
	for range 50 {
		got := append(List(nil), want...)
		rand.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
		got.Sort()
		if d := cmp.Diff(want, got); d != "" {
			t.Fatal(d)
		}
	}
	if want.Count(Error) != 2 || want.Count(Warning) != 1 || want.Cautions() != 3 {
		t.Errorf("counts: %d errors, %d warnings, %d cautions", want.Count(Error), want.Count(Warning), want.Cautions())
	}
}

func TestPlace(t *testing.T) {
	for want, l := range map[string]Location{
		"Finds!D7":       {Sheet: "Finds", Cell: "D7", Row: 7, Pointer: "/finds/3/depth"},
		"Finds row 7":    {Sheet: "Finds", Row: 7, Pointer: "/finds/3"},
		"D7":             {Cell: "D7", Row: 7},
		"line 3 /depth":  {Line: 3, Pointer: "/depth"},
		"/finds/3/depth": {Pointer: "/finds/3/depth"},
	} {
		if got := (Notice{Location: l}).Place(); got != want {
			t.Errorf("Place() = %q, want %q", got, want)
		}
	}
}

func TestSeverityText(t *testing.T) {
	for _, s := range []Severity{Error, Warning, Info} {
		got, err := ParseSeverity(s.String())
		if err != nil || got != s {
			t.Errorf("ParseSeverity(%q) = %v, %v", s, got, err)
		}
	}
	if _, err := ParseSeverity("fatal"); err == nil {
		t.Error("ParseSeverity accepts fatal")
	}
}

func TestGrade(t *testing.T) {
	for code, x := range map[string]struct {
		proposals []string
		want      Grade
	}{"unit-missing": {[]string{"8 in"}, Likely}, "code-misspelt": {[]string{"buckle"}, Certain},
		"date-order-unknown": {[]string{"3 April", "4 March"}, OnlyYou}, "finder-missing": {}} {
		n := Notice{Kind: &Kind{Code: code}, Proposals: x.proposals}
		if got := n.Grade(); got != x.want {
			t.Errorf("%s %v: %q, want %q", code, x.proposals, got, x.want)
		}
	}
}
