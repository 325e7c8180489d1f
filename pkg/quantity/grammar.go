package quantity

import "strings"

// A measure is one number with the unit that stands with it. Value and step
// are num/den and stepNum/stepDen, both in unit.
type measure struct {
	num, den         uint64
	stepNum, stepDen uint64
	unit             Unit // NoUnit: none is written
	at, end          uint16
	compound         bool
	weak             bool // a word that is a number only beside a unit: a, half
	article          bool // one that is an article with a unit or a piece
}

// A parser reads the tokens of one text. Every method that reads a piece
// returns false when there is no such piece or when it has failed; err tells
// which.
type parser struct {
	lexer
	i         int
	dimension Dimension
	options   Options
	notes     []Note
	err       *Error

	lo, hi          measure
	tolerance       measure
	hasTolerance    bool
	ranged          bool
	over, under     bool
	approximate     bool
	between, negate bool
	surface         bool // 0 (surface)
	lead            Unit // a unit that stands before the number
	leadAt          int  // its token
}

func (p *parser) tok() *token { return &p.token[p.i] }

// peek returns the token n further on; the end where there is none.
func (p *parser) peek(n int) *token { return &p.token[min(p.i+n, p.n)] }

// read reads the whole text.
//
// Grammar: text.
func (p *parser) read() bool {
	p.leading()
	if p.err != nil {
		return false
	}
	p.leadingUnit()
	if !p.measure(&p.lo) {
		return p.lost()
	}
	p.hi = p.lo
	if !p.joined() {
		return false
	}
	p.trailing()
	if p.err == nil && p.tok().kind != kEnd {
		return p.lost()
	}
	return p.err == nil && p.settle()
}

// lost fails at the present token unless something failed before.
func (p *parser) lost() bool {
	if p.err == nil {
		t := p.tok()
		p.failAt(CodeNotUnderstood, t.at, t.end, "", "")
	}
	return false
}

// leading reads what may stand before the number: about, over, at least.
//
// Grammar: lead.
func (p *parser) leading() {
	for {
		t := p.tok()
		switch {
		case t.kind == kTilde, t.is(wApprox) && !p.numberWordHere(), t.is(wUncertain):
			p.approximate = true
			p.i++
			p.skipDot()
		case t.kind == kPlusMinus: // ± 20 cm
			p.approximate = true
			p.i++
		case t.is(wArticle) && p.peek(1).is(wRound|wJust), p.littleWord():
			p.i++
		case t.is(wTop) && p.startsNumber(1):
			p.under = true // in the top 4 inches
			p.i++
		case t.kind == kMore:
			p.over = true
			p.i++
		case t.kind == kLess:
			p.under = true
			p.i++
		case t.is(wPlus) && p.peek(1).is(wOr) && p.peek(2).is(wMinus|wLess),
			t.is(wMore) && p.peek(1).is(wOr) && p.peek(2).is(wLess):
			p.approximate = true
			p.i += 3
		case p.bound():
		case t.is(wUp) && p.peek(1).is(wRange), t.is(wRange) && !t.is(wNumber|wArticle) && p.peek(1).is(wUp):
			p.under = true
			p.i += 2
		case t.is(wRange) && !t.is(wNumber|wArticle|wAt|wFrom) &&
			(p.startsNumber(1) || p.peek(1).is(wApprox) || p.peek(1).kind == kTilde):
			p.under = true // bis 20 cm, tot 20 cm
			p.i++
		case t.is(wBetween):
			p.between = true
			p.i++
		case t.is(wNearly):
			p.under, p.approximate = true, true
			p.i++
		case t.is(wVagueDepth) && p.dimension == Length && p.startsNumber(1):
			p.i++
		case t.is(wVagueDepth) && p.dimension == Length && (p.peek(1).kind == kComma || p.peek(1).kind == kColon) &&
			p.startsNumber(2):
			p.i += 2 // shallow, 2 in
		case t.is(wJust) && p.peek(1).is(wOver|wUnder|wMore|wLess|wApprox):
			p.approximate = true
			p.i++
		case t.is(wFrom|wAt|wThe|wNoise) && !t.is(wNumber|wArticle|wUnit) && !p.lastWord():
			p.i++
			if k := p.tok().kind; k == kColon || k == kDot || k == kEqual {
				p.i++
			}
		default:
			return
		}
	}
}

// littleWord reports whether the present word only leads to what follows: in ca. 20 cm, a 20 cm, um die 20 cm, i
// en dybde af 20 cm.
//
// Grammar: little.
func (p *parser) littleWord() bool {
	t, next := p.tok(), p.peek(1)
	switch {
	case t.kind != kWord:
		return false
	case t.is(wUnit) && t.word.unit == IN:
		return next.is(wApprox|wTop) || next.kind == kTilde || next.is(wThe) && p.peek(2).is(wTop)
	case t.is(wArticle) && t.end-t.at == 1 && next.kind == kNumber: // a 20 cm
		return true
	case t.is(wArticle) && next.is(wNoise) && !next.is(wUnit):
		return !p.lastWord()
	case t.is(wOf) && p.i > 0:
		before := p.token[p.i-1]
		return p.startsNumber(1) && (before.is(wNoise) || before.is(wApprox))
	case t.is(wAround):
		p.approximate = true
		return next.kind == kWord || next.kind == kNumber
	}
	return false
}

// lastWord reports whether nothing follows the present token.
func (p *parser) lastWord() bool { return p.i+1 >= p.n }

// numberWordHere reports whether the present word is a number by its place.
func (p *parser) numberWordHere() bool { return p.tok().is(wNumber) }

// startsNumber reports whether a number begins n tokens further on.
func (p *parser) startsNumber(n int) bool {
	t := p.peek(n)
	return t.kind == kNumber || t.kind == kFraction || t.is(wNumber|wArticle|wHalf|wQuarter|wHundred)
}

func (p *parser) skipDot() {
	if p.tok().kind == kDot {
		p.i++
	}
}

// bound reads words that leave one end open, before or behind the number.
//
// Grammar: bound.
func (p *parser) bound() bool {
	t, next := p.tok(), p.peek(1)
	switch {
	case t.is(wNot) && next.is(wMore|wLess|wOver|wUnder):
		p.negate = true
		p.i++
		return true
	case t.is(wMore|wLess) && next.is(wThan):
		n := 2
		if next.is(wArticle) { // plus d'un pied
			n = 1
		}
		p.open(t.is(wMore), n)
	case t.is(wMore|wLess) && next.is(wNoise|wVagueDepth) && p.peek(2).is(wThan):
		p.open(t.is(wMore), 3)
	case t.is(wOver) && t.is(wJust) && next.is(wOver|wMore): // gut über: clearly over
		p.i++
		return p.bound()
	case t.is(wOver):
		if t.is(wJust) {
			p.approximate = true
		}
		p.open(true, 1)
		p.skipDot()
	case t.is(wUnder):
		if t.word.angle && p.dimension == Length && !p.negate {
			p.below(t)
		}
		p.open(false, 1)
		p.skipDot()
	case t.is(wAt) && next.is(wMore|wLess) && p.peek(2).is(wThan): // à plus de 35 cm: at more than
		p.i++
		return p.bound()
	case t.is(wAt) && next.is(wLeast|wAtLeast):
		p.over = true
		p.i += 2
	case t.is(wAt) && next.is(wMost|wAtMost):
		p.under = true
		p.i += 2
	case t.is(wAtLeast):
		p.over = true
		p.i++
		p.skipDot()
	case t.is(wAtMost):
		p.under = true
		p.i++
		p.skipDot()
	default:
		return false
	}
	return true
}

// below refuses a word that is deeper than to some and less than to others.
func (p *parser) below(t *token) {
	p.failAt(CodeBound, t.at, t.end, "", "")
	for _, text := range [...]string{"<", ">"} {
		if text = strings.TrimSpace(p.s[:t.at] + text + strings.TrimLeft(p.s[t.end:], " ")); p.reads(text) {
			p.err.Proposals = append(p.err.Proposals, text)
		}
	}
}

func (p *parser) open(over bool, n int) {
	if p.negate {
		over, p.negate = !over, false
	}
	p.over, p.under = p.over || over, p.under || !over
	p.i += n
}

// leadingUnit reads a unit before the number: "in 8", "cm: 20".
//
// Grammar: lead-unit.
func (p *parser) leadingUnit() {
	t := p.tok()
	if !t.is(wUnit) || t.is(wArticle|wNumber) {
		return
	}
	n := 1
	if k := p.peek(1).kind; k == kDot || k == kColon || k == kEqual {
		n = 2
	}
	if !p.startsNumber(n) {
		return
	}
	p.lead, p.leadAt = t.word.unit, p.i
	p.i += n
}

// measure reads a number with its unit, or several that make one measure.
//
// Grammar: measure.
func (p *parser) measure(m *measure) bool {
	m.at = p.tok().at
	article, before := p.tok().is(wArticle), p.i
	if !p.number(m) {
		return false
	}
	article = article && p.i == before+1
	if p.unit(m) {
		p.compound(m)
		m.article = article && !m.compound
	}
	m.end = p.token[p.i-1].end
	return p.err == nil
}

// unit reads the unit behind a number.
//
// Grammar: unit.
func (p *parser) unit(m *measure) bool {
	t := p.tok()
	if t.kind == kDot && !t.spaced && p.peek(1).is(wUnit|wOther) { // 8. in
		p.i++
		t = p.tok()
	}
	// An eight-inch hole: the hyphen belongs to the phrase.
	if t.kind == kDash && !t.spaced && !p.peek(1).spaced && p.peek(1).is(wUnit|wTroy|wOther|wUnlisted|wCarat|wLine) &&
		!p.peek(1).is(wNumber|wArticle) {
		p.i++
		t = p.tok()
	}
	u, n := NoUnit, 1
	switch {
	case t.kind == kInch:
		u = IN
	case t.kind == kFoot:
		u = FT
	case t.is(wTroy) && p.peek(1).is(wUnit) && p.peek(1).word.unit == OZ:
		u, n = OZT, 2
	case t.is(wUnit):
		u = t.word.unit
	case t.is(wGrain) && p.dimension == Mass:
		u = p.grain(m)
		if u == NoUnit {
			return false
		}
	case t.is(wGrain) && p.dimension == Length:
		p.failAt(CodeUnitKind, t.at, t.end, "", "")
		return false
	case t.is(wUnlisted):
		p.unlisted(t, m)
		return false
	default:
		if u, n = p.otherUnit(m); n == 0 {
			return false
		}
	}
	u, n = p.unitKind(t, u, n)
	if p.dimension != units[u].dimension {
		p.failAt(CodeUnitKind, t.at, t.end, "", "")
		return false
	}
	m.unit = u
	p.i += n
	return true
}

// unitKind takes the full stop of a unit cut short and the word that says which ounce, pound or ton it is.
//
// Grammar: named-unit.
func (p *parser) unitKind(t *token, u Unit, n int) (Unit, int) {
	if t.kind == kWord && p.peek(n).kind == kDot && !(p.peek(n+1).kind == kDot) {
		n++
	}
	if next := p.peek(n); next.is(wTroy) {
		switch u {
		case OZ:
			u = OZT
			n++
			if p.peek(n).kind == kDot {
				n++
			}
		case LB:
			u = troyPound
			n++
		}
	}
	if next := p.peek(n); next.is(wAvoir) && (u == OZ || u == LB) || next.is(wApothecary) && u == scruple ||
		next.is(wMetric) && (u == carat || u == tonne) {
		n++
	}
	return u, n
}

// grain settles "gr", which is the grain to some and the gram to others: only
// the column or the units beside it can tell.
func (p *parser) grain(m *measure) Unit {
	named := p.peek(2)
	switch {
	case m.compound:
		return GR
	case p.peek(1).kind == kOpen && named.is(wUnit) && p.peek(3).kind == kClose &&
		(named.word.unit == GR || named.word.unit == G):
		return named.word.unit // gr (grain)
	case p.options.Default == GR || p.options.Default == G:
		p.note(NoteUnitAssumed, `"gr" is taken for the unit of the column, `+p.options.Default.String())
		return p.options.Default
	}
	p.ambiguousGrain(p.tok())
	return NoUnit
}

// family tells which units are written one behind the other.
func family(u Unit) uint8 {
	switch u {
	case MM, CM, M, decimetre, kilometre:
		return 1
	case IN, FT, YD:
		return 2
	case MG, G, KG:
		return 4
	case LB, OZ, stone, dramAvoir:
		return 8
	case OZT, DWT, troyPound:
		return 16
	case dramApothec, scruple:
		return 32
	case GR:
		return 8 | 16 | 32
	}
	return 0
}

// compound reads the smaller units of a measure: 1 ft 3 in, 3 dwt 12 gr, and
// the half behind a unit: a foot and a half.
//
// Grammar: smaller-part.
func (p *parser) compound(m *measure) {
	for p.err == nil {
		if p.andPart(m) {
			return
		}
		start, dashed := p.i, false
		switch t := p.tok(); {
		case (t.is(wAnd) || t.kind == kComma || t.kind == kAmp) && !p.between && p.startsNumber(1):
			p.i++
		case t.kind == kDash && m.unit == FT && !t.spaced && !p.peek(1).spaced && p.startsNumber(1):
			dashed = true
			p.i++
		case t.kind == kNumber || t.kind == kFraction || t.is(wNumber|wArticle) && !t.is(wRange|wAnd|wUp):
		default:
			return
		}
		part := measure{at: p.tok().at, compound: true}
		joined := p.i > start
		if !p.number(&part) {
			p.i = start
			return
		}
		stated := p.unit(&part)
		if !stated {
			if p.err != nil {
				return
			}
			if joined || !p.impliedUnit(m, &part) {
				p.i = start
				return
			}
		}
		if m.unit == OZ && part.unit == DWT {
			p.failAt(CodeUnitAmbiguous, m.at, p.token[p.i-1].end,
				"an ounce with pennyweights is a troy ounce, and oz alone is avoirdupois", "write ozt for the troy ounce")
			return
		}
		if !isPartOf(m, &part) {
			if dashed || joined {
				p.i = start // 1 ft - 15 in is a range
				return
			}
			p.failAt(CodeUnitOrder, m.at, p.token[p.i-1].end, "", "")
			return
		}
		if dashed {
			p.note(NoteAlternatives, "feet and inches joined by a hyphen are read as one measure")
		}
		if !stated {
			p.note(NoteUnitAssumed, "the last number is taken for "+part.unit.String()+", the next smaller unit")
		}
		if !m.add(&part) {
			p.failAt(CodeTooLarge, m.at, p.token[p.i-1].end, "", "")
			return
		}
		if m.den != 1 {
			return
		}
	}
}

// joined reads what joins a second measure to the first: a range, a
// tolerance, or the same measure said again in another unit.
//
// Grammar: join.
func (p *parser) joined() bool {
	t := p.tok()
	switch {
	case t.kind == kPlusMinus && p.peek(1).kind == kEnd: // 20 cm +/-
		p.i++
		p.approximate = true
	case t.kind == kPlusMinus:
		p.i++
		return p.plusMinus()
	case t.is(wPlus) && p.peek(1).is(wOr) && p.peek(2).is(wMinus|wLess) && p.startsNumber(3):
		p.i += 3
		return p.plusMinus()
	case p.over && !p.under && p.secondBound():
		return p.err == nil
	case t.kind == kSlash && p.lo.unit != NoUnit, t.kind == kEqual:
		return p.again()
	case t.kind == kDash, t.kind == kDots, t.kind == kSlash, t.is(wRange), t.is(wOr), t.is(wAnd) && p.between:
		n := 1
		if t.is(wRange) && p.peek(1).is(wUp|wAt) { // bis zu, jusqu' à
			n = 2
		}
		if p.peek(n).kind == kTilde || p.peek(n).is(wApprox) && !p.peek(n).is(wNumber) {
			p.approximate = true
			n++
		}
		if !p.startsNumber(n) {
			return !p.between || p.lost()
		}
		p.i += n
		p.hi, p.between = measure{}, false
		if !p.measure(&p.hi) || p.hi.weak && p.hi.unit == NoUnit {
			return p.lost()
		}
		if t.is(wOr) && p.someOrTen() {
			return true
		}
		if t.is(wOr) && p.lo.unit != NoUnit && family(p.lo.unit) != family(p.hi.unit) && p.hi.unit != NoUnit {
			return p.agree(&echo{lo: p.hi, hi: p.hi}) // 8 in or 20 cm
		}
		p.ranged = true
	}
	if p.between && !p.ranged {
		return p.lost()
	}
	return true
}

// someOrTen reads "a centimetre or ten", which is about ten: the first is an article, the second a number above two
// without a unit of its own.
func (p *parser) someOrTen() bool {
	lo, hi := &p.lo, &p.hi
	if !lo.article || hi.unit != NoUnit || hi.num <= 2*hi.den {
		return false
	}
	hi.unit = lo.unit
	*lo = *hi
	p.approximate = true
	return true
}

// secondBound reads the upper bound behind a lower one: over 8, under 10 in.
func (p *parser) secondBound() bool {
	start := p.i
	if t := p.tok(); t.is(wAnd) || t.kind == kComma || t.kind == kAmp {
		p.i++
	}
	if p.tok().kind == kLess {
		p.under = true
		p.i++
	} else if !p.bound() {
		p.i = start
		return false
	}
	if !p.under || !p.startsNumber(0) {
		p.i, p.under = start, false
		return false
	}
	p.over, p.under, p.ranged = false, false, true
	p.hi = measure{}
	if !p.measure(&p.hi) {
		p.lost()
	}
	return true
}

func (p *parser) plusMinus() bool {
	if !p.measure(&p.tolerance) {
		return p.lost()
	}
	p.hasTolerance = true
	return true
}
