package schemacheck

import (
	"regexp"
	"regexp/syntax"
	"slices"
	"sync"
)

// pattern is a regular expression of the schema. Package regexp goes through its instructions for each byte; here they
// are made, at the first text, into a table that leads from state to state by the byte. What no table can hold is left
// to the package, and so is a text beyond ASCII; a test holds the two to the same answers.
type pattern struct {
	*regexp.Regexp
	table func() *table
}

func newPattern(text string) *pattern {
	return &pattern{regexp.MustCompile(text), sync.OnceValue(func() *table { return tableOf(text) })}
}

// Match reports whether a text is as the pattern says.
func (p *pattern) Match(text []byte) bool {
	t := p.table()
	if t == nil {
		return p.Regexp.Match(text)
	}
	at := uint8(1)
	for _, c := range text {
		if c >= 128 {
			return p.Regexp.Match(text)
		}
		if at = t.next[at][c]; at == 0 {
			return false
		}
	}
	return t.ends[at]
}

// table is the states of a pattern: the places of its program at which a text may stand. State 0 has none, 1 is the
// first.
type table struct {
	prog   *syntax.Prog
	states [][]uint32
	next   [][128]uint8 // by state and byte
	ends   []bool       // by state, whether the text may end there
}

const mostStates = 255

// tableOf makes the table of a pattern that speaks of a whole text, from ^ to $; nil: there is none.
func tableOf(text string) *table {
	re, err := syntax.Parse(text, syntax.Perl)
	if err != nil {
		return nil
	}
	prog, err := syntax.Compile(re.Simplify())
	if err != nil {
		return nil
	}
	t := &table{prog: prog}
	anywhere, _ := t.places(nil, uint32(prog.Start), 0)
	first, plain := t.places(nil, uint32(prog.Start), syntax.EmptyBeginText)
	if len(anywhere) > 0 || !plain {
		return nil
	}
	t.state(nil)
	t.state(first)
	for at := 1; at < len(t.states); at++ {
		for c := range 128 {
			var to []uint32
			for _, pc := range t.states[at] {
				if i := &prog.Inst[pc]; i.Op != syntax.InstMatch && i.Op != syntax.InstEmptyWidth && i.MatchRune(rune(c)) {
					if to, plain = t.places(to, i.Out, 0); !plain {
						return nil
					}
				}
			}
			next := t.state(to)
			if next > mostStates {
				return nil
			}
			t.next[at][c] = uint8(next)
		}
	}
	return t
}

// places adds to a set of places what is reached from one without a byte: those that take one, and the end of the text.
// It is not plain where words or lines are asked for, or where more text may follow a match.
func (t *table) places(set []uint32, pc uint32, begin syntax.EmptyOp) (out []uint32, plain bool) {
	i := &t.prog.Inst[pc]
	switch {
	case slices.Contains(set, pc):
		return set, true
	case i.Op == syntax.InstAlt, i.Op == syntax.InstAltMatch:
		set = append(set, pc) // takes no byte; to know that it was here
	}
	switch i.Op {
	case syntax.InstFail:
		return set, true
	case syntax.InstMatch:
		return set, false
	case syntax.InstAlt, syntax.InstAltMatch:
		set, plain = t.places(set, i.Out, begin)
		set, other := t.places(set, i.Arg, begin)
		return set, plain && other
	case syntax.InstCapture, syntax.InstNop:
		return t.places(set, i.Out, begin)
	case syntax.InstEmptyWidth:
		switch op := syntax.EmptyOp(i.Arg); {
		case op == syntax.EmptyBeginText && begin != 0:
			return t.places(set, i.Out, begin)
		case op == syntax.EmptyBeginText:
			return set, true
		case op != syntax.EmptyEndText || t.prog.Inst[i.Out].Op != syntax.InstMatch:
			return set, false
		}
	}
	return append(set, pc), true
}

// state returns the number of a set of places, which is new if it is not known.
func (t *table) state(set []uint32) int {
	slices.Sort(set)
	known := slices.IndexFunc(t.states, func(s []uint32) bool { return slices.Equal(s, set) })
	if known >= 0 {
		return known
	}
	t.states, t.next = append(t.states, set), append(t.next, [128]uint8{})
	t.ends = append(t.ends, slices.ContainsFunc(set, func(pc uint32) bool {
		return t.prog.Inst[pc].Op == syntax.InstEmptyWidth
	}))
	return len(t.states) - 1
}
