package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// papers are the texts of the specification, in the order of their sections: the core, and the parts beside it.
var papers = []string{"SPEC.md", "schema/spec/readings.md", "schema/spec/rules.md", "schema/spec/profiles.md",
	"schema/spec/tables.md",
	"schema/spec/sharing.md", "schema/spec/linked.md", "schema/spec/simple.md", "schema/spec/guide.md",
	"schema/spec/primer.md"}

// specification returns the core and the parts as one text.
func specification(root string) (string, error) {
	var b strings.Builder
	for _, name := range papers {
		raw, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		if err != nil {
			return "", fmt.Errorf("the specification: %w", err)
		}
		b.Write(raw)
		b.WriteString("\n")
	}
	return b.String(), nil
}

// bySection orders ids of requirements, such as 4.1-10, by their numbers.
func bySection(a, b requirement) int {
	numbers := func(id string) (list []int) {
		for part := range strings.FieldsFuncSeq(id, func(r rune) bool { return r == '.' || r == '-' }) {
			n, err := strconv.Atoi(part)
			if err != nil {
				n = 0
			}
			list = append(list, n)
		}
		if !strings.Contains(id, ".") { // a section before its subsections
			list = slices.Insert(list, 1, 0)
		}
		return list
	}
	return cmp.Or(slices.Compare(numbers(a.id), numbers(b.id)), cmp.Compare(a.id, b.id))
}
