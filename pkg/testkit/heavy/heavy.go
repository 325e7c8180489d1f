// Package heavy marks the tests that take long or much memory: hostile files at full size, many reports
// drawn at random, every report of testdata through every format. They run where FINDSLIP_ALL is set, as
// .ci/run sets it, and are skipped by go test ./... alone.
//
// This package is unstable: it may change between any two versions.
package heavy

import (
	"flag"
	"os"
	"strconv"
	"testing"

	_ "pgregory.net/rapid" // so that its flags are there when init looks for them
)

// Properties draw the same cases in every run, so that a run that was green is green again, there and elsewhere:
// FINDSLIP_SEED or -rapid.seed gives others, and .ci/fuzz-long takes a new one each time.
func init() {
	seed := os.Getenv("FINDSLIP_SEED")
	if seed == "" {
		seed = "20261130"
	}
	if err := flag.Set("rapid.seed", seed); err != nil {
		panic(err)
	}
}

// On reports whether heavy tests are to run.
func On() bool { return os.Getenv("FINDSLIP_ALL") != "" }

// Test skips a heavy test unless heavy tests are to run.
func Test(t testing.TB) {
	t.Helper()
	if !On() {
		t.Skip("a heavy test: FINDSLIP_ALL=1 runs it")
	}
}

// Some returns few, or all where heavy tests are to run: how many cases a test is to take.
func Some(few, all int) int {
	if On() {
		return all
	}
	return few
}

// Draws sets how many cases the next properties of a test draw (-rapid.checks), unless heavy tests are to run or the
// flag was given.
func Draws(t testing.TB, few int) {
	t.Helper()
	checks := flag.Lookup("rapid.checks")
	if On() || checks == nil || checks.Value.String() != checks.DefValue {
		return
	}
	set := func(to string) {
		if err := checks.Value.Set(to); err != nil {
			t.Fatal(err)
		}
	}
	set(strconv.Itoa(few))
	t.Cleanup(func() { set(checks.DefValue) })
}
