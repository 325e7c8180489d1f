package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/findslip/findslip/cmd/internal/suite"
	"github.com/findslip/findslip/pkg/pipeline"
)

// A gap says why a requirement has no vector of one outcome, or of either.
type gap struct {
	Requirement string `json:"requirement"`
	Lacks       string `json:"lacks"` // pass, fail or both
	Reason      string `json:"reason"`
}

// An index is what serves each requirement: codes of notices, and vectors that meet it or tempt to
// break it.
type index struct {
	requirements []requirement
	pass, fail   map[string][]string // ids of vectors
	gaps         map[string]gap
}

// newIndex counts the vectors of the suite for the requirements of a text.
func newIndex(root, text string) (*index, error) {
	x := &index{requirements: requirementsOf(text), pass: map[string][]string{}, fail: map[string][]string{},
		gaps: map[string]gap{}}
	all, err := suite.Load(os.DirFS(root))
	if err != nil {
		return nil, err
	}
	for _, v := range all {
		for _, r := range v.Requirements {
			if v.Outcome == "pass" {
				x.pass[r] = append(x.pass[r], v.ID)
			} else {
				x.fail[r] = append(x.fail[r], v.ID)
			}
		}
	}
	raw, err := os.ReadFile(filepath.Join(root, "testdata", "suite", "gaps.json"))
	if err != nil {
		return nil, err
	}
	var list []gap
	if err := json.Unmarshal(raw, &list); err != nil {
		return nil, fmt.Errorf("gaps.json: %w", err)
	}
	for _, g := range list {
		x.gaps[g.Requirement] = g
	}
	return x, nil
}

// faults lists requirements without a vector and without a reason, reasons that are not needed, and
// vectors and reasons of requirements that there are not.
func (x *index) faults() []string {
	var wrong []string
	known := map[string]bool{}
	for _, r := range x.requirements {
		known[r.id] = true
		lacks := ""
		switch pass, fail := len(x.pass[r.id]) > 0, len(x.fail[r.id]) > 0; {
		case !pass && !fail:
			lacks = "both"
		case !pass:
			lacks = "pass"
		case !fail:
			lacks = "fail"
		}
		if lacks != "" && !strings.Contains(r.text, "MUST") {
			continue // what one should or may do needs no vector
		}
		if g := x.gaps[r.id]; g.Lacks != lacks {
			wrong = append(wrong, fmt.Sprintf("%s lacks %q, and gaps.json says %q", r.id, lacks, g.Lacks))
		} else if lacks != "" && g.Reason == "" {
			wrong = append(wrong, r.id+" has no reason in gaps.json")
		}
	}
	for _, counts := range []map[string][]string{x.pass, x.fail} {
		for id := range counts {
			if !known[id] {
				wrong = append(wrong, id+" is no requirement, and a vector serves it")
			}
		}
	}
	for id := range x.gaps {
		if !known[id] {
			wrong = append(wrong, id+" is no requirement, and gaps.json names it")
		}
	}
	slices.Sort(wrong)
	return slices.Compact(wrong)
}

// codes are the codes of notices that a requirement names, in its order.
func (r requirement) codes() []string {
	known := map[string]bool{}
	for _, k := range pipeline.Kinds() {
		known[k.Code] = true
	}
	named := []string{}
	for _, m := range regexp.MustCompile("`([a-z0-9]+(?:-[a-z0-9]+)+)`").FindAllStringSubmatch(r.text, -1) {
		if known[m[1]] && !slices.Contains(named, m[1]) {
			named = append(named, m[1])
		}
	}
	return named
}

// annex writes the index of requirements for people.
func (x *index) annex(b *bytes.Buffer) {
	b.WriteString("| requirement | notices | vectors that meet it | vectors that tempt to break it | remark |\n|---|---|---|---|---|\n")
	for _, r := range x.requirements {
		var named []string
		for _, code := range r.codes() {
			named = append(named, "`"+code+"`")
		}
		fmt.Fprintf(b, "| %s | %s | %d | %d | %s |\n", r.id, strings.Join(named, ", "), len(x.pass[r.id]), len(x.fail[r.id]),
			cell(x.gaps[r.id].Reason))
	}
}

// file writes the index of requirements for programs, a requirement a line.
func (x *index) file() ([]byte, error) {
	rows := make([]string, len(x.requirements))
	for i, r := range x.requirements {
		text, err := json.Marshal(struct {
			Requirement string   `json:"requirement"`
			Codes       []string `json:"codes"`
			Pass        []string `json:"pass"`
			Fail        []string `json:"fail"`
			Reason      string   `json:"reason,omitempty"`
		}{r.id, r.codes(), append([]string{}, x.pass[r.id]...), append([]string{}, x.fail[r.id]...), x.gaps[r.id].Reason})
		if err != nil {
			return nil, err
		}
		rows[i] = "  " + string(text)
	}
	return []byte("[\n" + strings.Join(rows, ",\n") + "\n]\n"), nil
}
