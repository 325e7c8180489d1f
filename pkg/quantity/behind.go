package quantity

import (
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/text"
)

// remarks may stand behind a comma: 20 cm, more or less.
const remarks = wApprox | wUncertain | wVagueDepth | wOr | wMore | wPlus | wAtLeast | wAtMost | wNoise

// trailing reads what may stand behind the number.
//
// Grammar: trail.
func (p *parser) trailing() {
	for p.err == nil {
		t, next := p.tok(), p.peek(1)
		switch {
		case t.kind == kPlus && !p.startsNumber(1), t.is(wPlus) && !next.is(wOr):
			p.over = true
			p.i++
			p.lateUnit()
		case t.is(wMore|wPlus) && next.is(wOr) && p.peek(2).is(wLess|wMinus):
			p.approximate = true
			p.i += 3
			p.lateUnit()
		case t.kind == kDash && next.is(wIsh):
			p.approximate = true
			p.i += 2
			p.lateUnit()
		case t.is(wIsh), t.is(wApprox), t.is(wUncertain):
			p.approximate = true
			p.i++
			p.lateUnit()
		case t.is(wOr) && next.is(wSo):
			p.approximate = true
			p.i += 2
			p.lateUnit()
		case t.is(wOr|wAnd) && next.is(wMore|wOver|wAtLeast|wUp):
			p.over = true
			p.i += 2
			p.lateUnit()
		case t.is(wOr|wAnd) && next.is(wLess|wUnder|wAtMost):
			p.under = true
			p.i += 2
			p.lateUnit()
		case p.surfaceBehind():
		case t.is(wAtMost) && p.ranged: // 10-15 cm max: the greater says it already
			p.i++
			p.skipDot()
		case t.is(wAtLeast|wAtMost) && p.bound(), t.is(wAt) && p.bound():
		case t.is(wNoise), t.is(wVagueDepth) && p.dimension == Length, t.kind == kComma && next.is(remarks):
			p.i++
		case (t.is(wUnit) || t.is(wOf)) && next.is(wNoise): // in diameter, de profondeur
			p.i += 2
		case p.placeBehind():
		case t.kind == kQuery:
			p.approximate = true
			p.note(NoteQuery, "a question mark is taken for about")
			p.i++
		case t.kind == kOpen:
			p.bracket()
		case t.kind == kDot, t.kind == kComma, t.kind == kColon:
			if next.kind != kEnd && next.kind != kDot {
				return
			}
			p.i++
		default:
			return
		}
	}
}

// lateUnit reads a unit that stands behind a word: "8 or so inches".
//
// Grammar: late-unit.
func (p *parser) lateUnit() {
	if p.hi.unit != NoUnit || !p.tok().is(wUnit) && p.tok().kind != kInch && p.tok().kind != kFoot {
		return
	}
	if p.unit(&p.hi) && !p.ranged {
		p.lo = p.hi
	}
}

// placeBehind passes over the layer or the place behind a depth: 20 cm in the plough soil, 20 cm at the edge of a wood.
// A place begins with a word of the stated language, and holds none that says something of a measure.
//
// Grammar: place.
func (p *parser) placeBehind() bool {
	if p.dimension != Length {
		return false
	}
	n, layers, others := 0, 0, 0
	if t := p.peek(0); t.kind == kComma || t.kind == kDash || t.kind == kColon {
		n++
	}
	first := p.peek(n)
	inPlace := first.is(wAt) && (p.language == nil || first.word.languages == 0) ||
		first.is(wUnit) && first.word.unit == IN
	for ; p.peek(n).kind != kEnd; n++ {
		switch t := p.peek(n); {
		case t.kind == kUnknown && inPlace && p.startsLetter(t):
			others++
		case t.is(wLayer):
			layers++
		case t.is(wThe | wArticle | wOf | wFrom | wAt), t.is(wUnit) && t.word.unit == IN:
		case inPlace && t.is(wSurface|wBelow):
			others++
		default:
			return false
		}
	}
	if layers == 0 && others == 0 {
		return false
	}
	p.note(NoteLayer, "the words behind the depth name a layer or a place; they are kept, and are found again only there")
	p.i += n
	return true
}

// startsLetter reports whether a token that means nothing here is a word.
func (p *parser) startsLetter(t *token) bool {
	c, _ := utf8.DecodeRuneInString(p.s[t.at:])
	return text.IsLetter(text.Sign(c))
}

// surfaceBehind reads "below the surface" behind a depth.
func (p *parser) surfaceBehind() bool {
	if t := p.tok(); t.kind == kDash && p.peek(1).is(wSurface) { // -mv
		p.i += 2
		return true
	} else if !t.is(wBelow) {
		return false
	}
	n := 1
	for p.peek(n).is(wBelow|wThe) || p.peek(n).kind == kDot {
		n++
	}
	if !p.peek(n).is(wSurface) {
		return false
	}
	for p.peek(n + 1).is(wSurface) { // ground level
		n++
	}
	p.i += n + 1
	return true
}
