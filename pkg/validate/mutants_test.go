//go:build mutants

package validate

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
)

// A fault is one that standard mutants has built in.
type fault struct {
	ID             int
	Code, At, Text string
}

// TestMutants looks which faults change what is said of some case. It is run by the command standard mutants.
func TestMutants(t *testing.T) {
	folder := os.Getenv("FINDSLIP_MUTANTS")
	var faults []fault
	raw, err := os.ReadFile(filepath.Join(folder, "mutants.json"))
	if err == nil {
		err = json.Unmarshal(raw, &faults)
	}
	if err != nil {
		t.Fatal(err)
	}
	all, err := cases.Read(project)
	if err != nil {
		t.Fatal(err)
	}
	passed := map[int][]*tried{} // by fault
	for _, c := range all {
		for _, one := range slices.Concat(c.Draws, c.Near) {
			x := newTried(t, c.Code, one)
			for id, ok := range x.passed {
				if ok {
					passed[id] = append(passed[id], x)
				}
			}
		}
	}
	var left []fault
	for _, f := range faults {
		if !slices.ContainsFunc(passed[f.ID], func(x *tried) bool { return x.notices(f.ID) }) {
			left = append(left, f)
		}
	}
	raw, err = json.Marshal(left)
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, "left.json"), raw, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// A tried is a case with what is reported of it by its rule as it is, and the faults that they come by.
type tried struct {
	code   string
	one    cases.Case
	judge  *Validator
	said   string
	passed [len(mutantsPassed)]bool
}

func newTried(t testing.TB, code string, one cases.Case) *tried {
	x := &tried{code: code, one: one, judge: judgeOf(t, one)}
	if own := slices.DeleteFunc(slices.Clone(x.judge.rules), func(r *Rule) bool { return r.Code != code }); len(own) > 0 {
		x.judge.rules = own
	}
	x.look()
	return x
}

// look takes down what is said without a fault.
func (x *tried) look() {
	clear(mutantsPassed[:])
	x.said = x.run()
	x.passed = mutantsPassed
}

// run returns what is said now, or that the rule could not go on.
func (x *tried) run() (said string) {
	mutantSteps = 0
	defer func() {
		if p := recover(); p != nil {
			said = "panic"
		}
	}()
	return fmt.Sprint(noticesBy(x.judge, x.one.Report))
}

// notices reports whether a fault changes what is said.
func (x *tried) notices(id int) bool {
	mutantAtWork = id
	defer func() { mutantAtWork = 0 }()
	return x.run() != x.said
}

// The rules are built with deliberate faults when the command standard tests the suite (standard mutants): it lays
// copies of the files of rules over these, in which every condition goes through one of the functions here. One fault
// is at work at a time; 0 is none.
var (
	mutantAtWork  int
	mutantsPassed [1 << 13]bool // the faults that a run has come by
	mutantSteps   int           // conditions met in a run: some faults make a loop endless
)

func passMutant(id int) {
	mutantsPassed[id] = true
	if mutantSteps++; mutantSteps > 1_000_000 {
		panic("endless")
	}
}

// mutantBool is a condition; fault id takes it as true, id+1 as false.
func mutantBool(id int, c bool) bool {
	passMutant(id)
	passMutant(id + 1)
	return (c || mutantAtWork == id) && mutantAtWork != id+1
}

// mutantEdge is a comparison and the one that has the border on its other side.
func mutantEdge(id int, c, other bool) bool {
	passMutant(id)
	if mutantAtWork == id {
		return other
	}
	return c
}

// mutantNumber is a figure; the faults take one more and one less.
func mutantNumber[N int | float64](id int, n N) N {
	passMutant(id)
	passMutant(id + 1)
	switch mutantAtWork {
	case id:
		return n + 1
	case id + 1:
		return n - 1
	}
	return n
}

// mutantText is a word that something is compared with; the fault does not know it.
func mutantText(id int, s string) string {
	passMutant(id)
	if mutantAtWork == id {
		return "\x00"
	}
	return s
}
