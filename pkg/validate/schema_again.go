package validate

import (
	"bytes"
	"hash/maphash"

	"github.com/findslip/findslip/pkg/find"
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
	if n.Known {
		return yea
	}
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

// knownParts are members of finds, by what they say, that one run has judged to be as the schema has them: for
// finds that come without a text.
type knownParts struct {
	of    *program // of the find
	slots [yesSlots]knownPart
	tally [128]int8 // by member: how often it was of use to look, of late
	turn  uint32
}

// knownPart is one of them; sum is 0 where there is none.
type knownPart struct {
	sum  uint64
	text []byte
}

// known returns the members of a find that are known.
func (k *knownParts) known(p *program, contents []byte, parts []find.Part) (known find.Members) {
	if k.turn++; k.of != p {
		*k = knownParts{of: p}
	}
	for i := range parts {
		p := &parts[i]
		tally := &k.tally[p.Member&127]
		if p.To-p.From > yesMost || *tally <= -yesPatience && (k.turn+uint32(p.Member))%32 != 0 {
			continue
		}
		text := contents[p.From:p.To]
		sum := maphash.Bytes(yesSeed, text) | 1
		if slot := &k.slots[sum>>8%yesSlots]; slot.sum == sum && bytes.Equal(slot.text, text) {
			*tally = min(*tally+1, yesPatience)
			known.Add(p.Member)
		} else {
			*tally = max(*tally-1, -yesPatience)
		}
	}
	return known
}

// remember takes in the members of a find that is as the schema has it.
func (k *knownParts) remember(contents []byte, parts []find.Part, known find.Members) {
	for i := range parts {
		p := &parts[i]
		if p.To-p.From > yesMost || known.Has(p.Member) || k.tally[p.Member&127] <= -yesPatience && (k.turn+uint32(p.Member))%32 != 0 {
			continue
		}
		text := contents[p.From:p.To]
		sum := maphash.Bytes(yesSeed, text) | 1
		slot := &k.slots[sum>>8%yesSlots]
		slot.sum, slot.text = sum, append(slot.text[:0], text...)
	}
}

// byMember tells whether a schema of an object judges each member by itself, and of the members together only
// which there are: then what one member says is as the schema has it wherever it stands.
func (p *program) byMember() bool {
	return p.ref == nil && p.allOf == nil && p.anyOf == nil && p.not == nil && p.cond == nil && p.names == nil && p.others == nil && !p.closed && !p.never
}
