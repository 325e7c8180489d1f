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

// A tried is a case with what is said of it by its rule as it is, and the faults that they come by.
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
