//go:build mutants

package validate

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
