package release

import (
	"cmp"
	"fmt"
	"io"
	"slices"
)

// A Verdict says what a change means to those who hold documents or programs of the older version.
type Verdict uint8

// The verdicts, gravest first.
const (
	// Breaking: a document of the older version may be refused or read as something else, or a
	// program of the older version may refuse a document of the newer one. Only a major version may.
	Breaking Verdict = iota + 1
	// Compatible: something new that both may pass over. A minor version may.
	Compatible
	// Documentation: words for people. A patch may.
	Documentation
)

// String returns the word for the verdict.
func (v Verdict) String() string {
	switch v {
	case Breaking:
		return "breaking"
	case Compatible:
		return "compatible"
	case Documentation:
		return "documentation"
	}
	return ""
}

// Step returns the part of a version number that the verdict moves.
func (v Verdict) Step() string {
	switch v {
	case Breaking:
		return "major"
	case Compatible:
		return "minor"
	case Documentation:
		return "patch"
	}
	return "none"
}

// MarshalText writes the word of the verdict.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// A Change is one difference between two versions.
type Change struct {
	Verdict Verdict `json:"verdict"`
	Where   string  `json:"where"` // such as find/depth/min, list material, rule number-missing
	What    string  `json:"what"`
}

// Changes are differences, gravest first.
type Changes []Change

func (c *Changes) add(v Verdict, where, format string, args ...any) {
	*c = append(*c, Change{Verdict: v, Where: where, What: fmt.Sprintf(format, args...)})
}

func (c Changes) sort() {
	slices.SortStableFunc(c, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.Verdict, b.Verdict), cmp.Compare(a.Where, b.Where), cmp.Compare(a.What, b.What))
	})
}

// Worst returns the gravest verdict among the changes, 0 if there are none.
func (c Changes) Worst() Verdict {
	var worst Verdict
	for _, one := range c {
		if worst == 0 || one.Verdict < worst {
			worst = one.Verdict
		}
	}
	return worst
}

// Write prints the changes, one a line, and what they amount to.
func (c Changes) Write(w io.Writer) error {
	for _, one := range c {
		if _, err := fmt.Fprintf(w, "%-13s  %s: %s\n", one.Verdict, one.Where, one.What); err != nil {
			return err
		}
	}
	count := map[Verdict]int{}
	for _, one := range c {
		count[one.Verdict]++
	}
	_, err := fmt.Fprintf(w, "%d breaking, %d compatible, %d of documentation; the least step of the version: %s\n",
		count[Breaking], count[Compatible], count[Documentation], c.Worst().Step())
	return err
}
