package schemacheck

import (
	"regexp/syntax"
	"slices"
)

// machine is a pattern as a table of states, for text of ASCII. It says of each such text what the
// regular expression says, in one step a byte.
type machine struct {
	next   [][128]int16 // state and byte to state; 0 is the state that nothing leads out of
	accept []bool
}

const mostStates = 200

// newMachine makes the machine of an expression that is bound to the start of the text. Nil where it is
// not, where it asks for more than start and end of the text, or where there would be too many states.
func newMachine(expression string) *machine {
	parsed, err := syntax.Parse(expression, syntax.Perl)
	if err != nil {
		return nil
	}
	prog, err := syntax.Compile(parsed.Simplify())
	if err != nil || prog.StartCond()&syntax.EmptyBeginText == 0 {
		return nil
	}
	for i := range prog.Inst {
		if op := &prog.Inst[i]; op.Op == syntax.InstEmptyWidth &&
			syntax.EmptyOp(op.Arg)&^(syntax.EmptyBeginText|syntax.EmptyEndText) != 0 {
			return nil
		}
	}
	b := machineBuilder{prog: prog, states: map[string]int16{}, m: &machine{}}
	b.add(nil)                                                            // 0
	b.add(b.closure([]uint32{uint32(prog.Start)}, syntax.EmptyBeginText)) // 1, which is never come back to
	classes := b.classes()
	for i := 1; i < len(b.sets); i++ {
		if len(b.sets) > mostStates || b.matched(b.sets[i]) {
			return nil // too many, or it matches before the end of the text
		}
		for _, class := range classes {
			var reached []uint32
			for _, pc := range b.sets[i] {
				if op := &prog.Inst[pc]; consumes(op.Op) && op.MatchRune(rune(class[0])) {
					reached = append(reached, op.Out)
				}
			}
			to := b.state(b.closure(reached, 0))
			for _, c := range class {
				b.m.next[i][c] = to
			}
		}
	}
	return b.m
}

// classes returns the bytes of ASCII in groups that no instruction tells apart.
func (b *machineBuilder) classes() [][]byte {
	var out [][]byte
	index := map[string]int{}
	for c := range byte(128) {
		var key []byte
		for i := range b.prog.Inst {
			if op := &b.prog.Inst[i]; consumes(op.Op) {
				if op.MatchRune(rune(c)) {
					key = append(key, '1')
				} else {
					key = append(key, '0')
				}
			}
		}
		n, ok := index[string(key)]
		if !ok {
			n = len(out)
			index[string(key)] = n
			out = append(out, nil)
		}
		out[n] = append(out[n], c)
	}
	return out
}

func consumes(op syntax.InstOp) bool {
	return op == syntax.InstRune || op == syntax.InstRune1 || op == syntax.InstRuneAny || op == syntax.InstRuneAnyNotNL
}

type machineBuilder struct {
	prog   *syntax.Prog
	states map[string]int16
	sets   [][]uint32
	m      *machine
}

// state returns the number of a set of instructions that is reached within the text.
func (b *machineBuilder) state(set []uint32) int16 {
	if len(set) == 0 {
		return 0
	}
	key := make([]byte, 0, 4*len(set))
	for _, pc := range set {
		key = append(key, byte(pc), byte(pc>>8), byte(pc>>16), byte(pc>>24))
	}
	if n, ok := b.states[string(key)]; ok {
		return n
	}
	n := b.add(set)
	b.states[string(key)] = n
	return n
}

func (b *machineBuilder) add(set []uint32) int16 {
	n := int16(len(b.sets))
	hold := syntax.EmptyEndText
	if n == 1 {
		hold |= syntax.EmptyBeginText
	}
	b.sets = append(b.sets, set)
	b.m.next = append(b.m.next, [128]int16{})
	b.m.accept = append(b.m.accept, b.matched(b.closure(set, hold)))
	return n
}

// matched reports whether a set of instructions holds the last one.
func (b *machineBuilder) matched(set []uint32) bool {
	return slices.ContainsFunc(set, func(pc uint32) bool { return b.prog.Inst[pc].Op == syntax.InstMatch })
}

// closure returns, sorted, what is reached from some instructions without reading, where the
// conditions hold.
func (b *machineBuilder) closure(from []uint32, hold syntax.EmptyOp) []uint32 {
	in := make([]bool, len(b.prog.Inst))
	var visit func(pc uint32)
	visit = func(pc uint32) {
		if in[pc] {
			return
		}
		in[pc] = true
		switch op := &b.prog.Inst[pc]; op.Op {
		case syntax.InstAlt, syntax.InstAltMatch:
			visit(op.Out)
			visit(op.Arg)
		case syntax.InstCapture, syntax.InstNop:
			visit(op.Out)
		case syntax.InstEmptyWidth:
			if syntax.EmptyOp(op.Arg)&^hold == 0 {
				visit(op.Out)
			}
		}
	}
	for _, pc := range from {
		visit(pc)
	}
	var out []uint32
	for pc, is := range in {
		if is {
			out = append(out, uint32(pc))
		}
	}
	return out
}

func (m *machine) matches(text []byte) bool {
	state := int16(1)
	for _, c := range text {
		if state = m.next[state][c&127]; state == 0 {
			return false
		}
	}
	return m.accept[state]
}
