package notice

import (
	"fmt"
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
	}{"unit-missing": {[]string{"8 in"}, Likely}, "code-not-listed": {[]string{"buckle"}, Certain},
		"date-order-unknown": {[]string{"3 April", "4 March"}, OnlyYou}, "finder-missing": {}} {
		n := Notice{Kind: &Kind{Code: code}, Proposals: x.proposals}
		if got := n.Grade(); got != x.want {
			t.Errorf("%s %v: %q, want %q", code, x.proposals, got, x.want)
		}
	}
}

var (
	deep  = &Kind{Code: "depth-implausible", Severity: Warning}
	wrong = &Kind{Code: "date-impossible", Severity: Error}
)

// Figures and quoted words are no part of what groups; the code, the field and the sentence are.
func TestGroups(t *testing.T) {
	var g Groups
	at := func(k *Kind, pointer, heading, message, written string, row int) {
		g.Add(&Notice{Kind: k, Message: message, Written: written,
			Location: Location{Pointer: pointer, Heading: heading, Row: row}})
	}
	at(deep, "/finds/0/depth", "Depth", "from 14 in; you gave 12 in", "14", 9)
	at(deep, "/finds/1/depth", "Depth", "from 15.5 in; you gave 12 in", "15.5", 3)
	at(deep, "/finds/2/depth", "Tiefe", "from 15 in; you gave 12 in", "15", 4)
	at(deep, "/finds/3/depth", "Depth", `at "do": not read`, "do", 5)
	at(deep, "/finds/3/depth", "Depth", `at "ditto": not read`, "do", 6)
	at(wrong, "/finds/4/materials/0", "", "30 February", "", 0)
	at(wrong, "/finds/5/materials/1", "", "31 February", "", 0)
	type group struct {
		Code, Field string
		Count, Row  int
		Values      []Value
	}
	var got []group
	for _, x := range g.List() {
		got = append(got, group{x.Kind.Code, x.Field, x.Count, x.Examples[0].Row, x.Values})
	}
	want := []group{
		{"date-impossible", "materials", 2, 0, nil},
		{"depth-implausible", "Depth", 2, 9, []Value{{"14", 1}, {"15.5", 1}}},
		{"depth-implausible", "Depth", 2, 5, []Value{{"do", 2}}},
		{"depth-implausible", "Tiefe", 1, 4, []Value{{"15", 1}}},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

// A group counts exactly and keeps the first ten places, in whatever order they come.
func TestGroupKeepsTheFirst(t *testing.T) {
	var g Groups
	for _, i := range rand.Perm(5000) {
		g.Add(&Notice{Kind: deep, Message: "deep", Location: Location{Pointer: fmt.Sprintf("/finds/%d/depth", i), Row: i}})
	}
	x := g.List()[0]
	if x.Count != 5000 || len(x.Examples) != MostExamples {
		t.Fatalf("%d notices, %d examples", x.Count, len(x.Examples))
	}
	for i := range x.Examples {
		if x.Examples[i].Row != i {
			t.Errorf("example %d is of row %d", i, x.Examples[i].Row)
		}
	}
}

// A spool returns what a list would, however little it holds in memory, and as often as it is asked.
func TestSpool(t *testing.T) {
	var list List
	s := Spool{Held: 16}
	defer s.Close()
	for i := range 1000 {
		n := Notice{Kind: []*Kind{deep, wrong}[i%2], Message: fmt.Sprint("ö", i%7), Written: "8",
			Proposals: []string{"a", "", "c"}[:i%4%3],
			Location: Location{File: "f", Pointer: fmt.Sprintf("/finds/%d", rand.IntN(300)), Row: i % 50, Column: 1 << 20,
				Line: i, Find: "7"}}
		if len(n.Proposals) == 0 {
			n.Proposals = nil
		}
		list.Add(n)
		if err := s.Add(n); err != nil {
			t.Fatal(err)
		}
	}
	list.Sort()
	for range 2 {
		var got List
		for n, err := range s.All() {
			if err != nil {
				t.Fatal(err)
			}
			got.Add(*n)
		}
		if d := cmp.Diff(list, got); d != "" || s.Len() != len(list) {
			t.Fatal(d)
		}
	}
}
