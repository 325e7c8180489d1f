package validate

import (
	"bytes"
	"hash/maphash"

	"github.com/findslip/findslip/pkg/internal/tape"
)

// Much of a log comes again word for word: a material, a dating, a depth. What was as its schema has it
// once is so each time, so the pieces of text that were judged to be are remembered, a few hundred of them.

// yeses are objects and lists, as text, that one run has judged to be as their programs have them.
type yeses struct {
	slots [yesSlots]yesSlot
	tally [256]int8 // by the number of the program: how often it was of use to look, of late
	turn  uint32
}

// yesSlot is one such text; sum is 0 where there is none.
type yesSlot struct {
	sum  uint64
	p    *program
	text []byte
}

const (
	yesSlots    = 512
	yesLeast    = 16 // bytes of a text that is remembered
	yesMost     = 400
	yesPatience = 12 // how often in a row nothing is found before it is looked for less often
)

var yesSeed = maphash.MakeSeed()

// member judges the value of a member, or knows it from before.
func (r *fastRun) member(p *program, i uint32) ternary {
	n := &r.t.Nodes[i]
	if n.Kind != tape.Object && n.Kind != tape.Array || n.End-n.Start < yesLeast || n.End-n.Start > yesMost || r.odd {
		return r.judge(p, i)
	}
	tally := &r.met.tally[p.number]
	if *tally <= -yesPatience {
		if r.met.turn++; r.met.turn%32 != 0 {
			return r.judge(p, i)
		}
	}
	text := r.t.Text[n.Start:n.End]
	sum := maphash.Bytes(yesSeed, text) | 1
	slot := &r.met.slots[(sum>>8^uint64(p.number))%yesSlots]
	if slot.sum == sum && slot.p == p && bytes.Equal(slot.text, text) {
		*tally = min(*tally+1, yesPatience)
		return yea
	}
	*tally = max(*tally-1, -yesPatience)
	a := r.judge(p, i)
	if a == yea && !r.odd {
		slot.sum, slot.p, slot.text = sum, p, append(slot.text[:0], text...)
	}
	return a
}
