package main

import (
	"bytes"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// row returns the cells of the table of an object for one member.
func row(t *testing.T, m *model, object, member string) []string {
	t.Helper()
	var b bytes.Buffer
	m.table(&b, object)
	for line := range strings.SplitSeq(b.String(), "\n") {
		cells := strings.Split(line, " | ")
		if strings.TrimSuffix(strings.TrimPrefix(cells[0], "| "), " *") == "`"+member+"`" {
			return cells
		}
	}
	t.Fatalf("the table of %s has no %s", object, member)
	return nil
}

// The tables say what the schemas and the table of fields say, here of members of every sort.
func TestModelTables(t *testing.T) {
	_, text := spec(t)
	m, err := newModel(text)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []struct{ object, member, kind, presence, unit, list, requirement string }{
		{"report", "findslip", "text: 1. and a number", "MUST", "", "", "3.1-1"},
		{"report", "finds", "list of find", "MAY", "", "", ""},
		{"find", "number", "text", "at least one of number, name", "", "", "3.3-1"},
		{"find", "depth", "depth", "MAY", "cm", "", "3.3-2"},
		{"find", "otherDepths", "list of depth", "MAY", "cm", "", "3.3-2"},
		{"find", "kind", "text", "MAY", "", "`kind`", ""},
		{"find", "materials", "list of material", "MAY", "", "`material`", ""},
		{"depth", "basis", "term", "MAY", "", "`depth-basis`", ""},
		{"depth", "min", "number", "at least one of min, max, verbatim", "cm", "", "4.1-2"},
		{"size", "unit", "text", "with min, max, best, resolution", "", "mm", ""},
		{"count", "unit", "nothing", "never", "", "", ""},
		{"position", "longitude", "number", "at least one of longitude, latitude, verbatim, area", "degree", "", ""},
		{"position", "uncertainty", "number", "MAY", "m", "", "4.2-2"},
		{"dating", "earliest", "whole number", "MAY", "", "", "4.4-3"},
		{"owner", "share", "number", "MAY", "%", "", ""},
		{"acceptance", "reason", "text", "MUST", "", "", ""},
	} {
		got := row(t, m, want.object, want.member)
		if got[2] != want.kind || got[3] != want.presence || got[4] != want.unit || got[5] != want.list || got[6] != "1.0" {
			t.Errorf("%s.%s: %q", want.object, want.member, got)
		}
		if !strings.Contains(got[7], want.requirement) {
			t.Errorf("%s.%s: the requirements are %q, without %s", want.object, want.member, got[7], want.requirement)
		}
	}
	if got := row(t, m, "report", "accepted"); strings.Contains(got[7], "6.6-1") {
		t.Error("what is said of accepted in a file of proposals is said of the report")
	}
}

// Every list that a field has its codes from is named in a table, or meant by the member that holds
// the term; every object stands in one table.
func TestModelIsWhole(t *testing.T) {
	_, text := spec(t)
	m, err := newModel(text)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	m.annex(&b)
	for _, f := range find.FieldsOf[find.Find]() {
		if f.List != "" && !strings.Contains(b.String(), "| `"+f.List+"` |") {
			t.Errorf("no table names the list %s of %s", f.List, f.Name)
		}
		if vocabulary.Get(f.List) == nil && f.List != "" {
			t.Errorf("%s has its codes from %s, which is no list", f.Name, f.List)
		}
	}
	if len(m.shapes) < 30 {
		t.Errorf("only %d objects", len(m.shapes))
	}
	for _, s := range m.shapes {
		if n := strings.Count(b.String(), "## "+s.name+"\n"); n != 1 {
			t.Errorf("the table of %s stands %d times", s.name, n)
		}
	}
}
