package share

import (
	"bufio"
	"os"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// What a row says of the dead, of treasure and of keeping back holds it back; what only looks like it does not.
func TestKeptByWords(t *testing.T) {
	file, err := os.Open("testdata/kept.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	why := map[string]string{"remains": "human remains", "treasure": "may be treasure", "kept": "asked to be kept back"}
	for lines := bufio.NewScanner(file); lines.Scan(); {
		want, text, ok := strings.Cut(lines.Text(), "\t")
		if !ok {
			continue
		}
		f := row{"button", "copper-alloy", "", text}.find()
		if heading, cell, column := strings.Cut(text, " = "); column {
			f.Description, f.Columns = "", map[string]string{heading: cell}
		}
		c := &copier{o: Options{Audience: Public, Day: "2026-07-01"}}
		got := c.keptBack(saidOf(f), false)
		if got != why[want] {
			t.Errorf("%q comes to %q, want %s", text, got, want)
		}
	}
}

// Who cannot tell counts as may be: a member that could not be read, and a mark that it is not known.
func TestKeptByWhatIsNotRead(t *testing.T) {
	for name, f := range map[string]*find.Find{
		"unread": {Unknown: []byte(`{"humanRemains":"fragments"}`)},
		"mark":   {Absent: map[string]string{"/humanRemains": "not-known"}},
		"until":  {Absent: map[string]string{"/embargoUntil": "not-noted"}},
		"when":   {EmbargoUntil: "after the book"},
		"axe":    {Name: "axe", Materials: []find.Material{{Term: find.Term{Code: "bronze"}}}},
		"Beil":   {Name: "Lappenbeil", Materials: []find.Material{{Term: find.Term{Code: "copper-alloy"}}}},
		"many":   {Name: "button", Description: strings.Repeat("plain words ", 2000)},
	} {
		c := &copier{o: Options{Audience: Public, Day: "2026-07-01"}}
		if f.Name == "" {
			f.Name, f.Materials = "button", []find.Material{{Term: find.Term{Code: "brass"}}}
		}
		if c.keptBack(saidOf(f), false) == "" {
			t.Errorf("%s: it is told to the public", name)
		}
	}
}
