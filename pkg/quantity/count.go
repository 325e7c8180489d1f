package quantity

import "github.com/findslip/findslip/pkg/lexicon"

// NormaliseCount reads how many pieces there are: "3", "3 x", "ca. 12", "a
// dozen", "one or two", "10+". The unit is NoUnit. Words such as several give
// a lower bound of two and are approximate, since they mean more than one and
// no more than that is certain. Of the options only the language counts. The error is an *Error.
func NormaliseCount(s string, o Options) (Reading, error) {
	if mayBeCanonical(s) {
		if q, ok := parse(s); ok && q.Unit == NoUnit && q.String() == s {
			return Reading{Quantity: q}, nil
		}
	}
	if len(s) > maxLength {
		return Reading{}, tooLong(s)
	}
	if r, ok := phrase(s, None, NoUnit); ok {
		return r, nil
	}
	r, clash, err := readPieces(s, Options{Language: o.Language})
	if clash == 0 || o.Language != nil {
		return r, err
	}
	return inLanguages(s, clash, r, err, func(l *lexicon.Language) (Reading, uint32, error) {
		return readPieces(s, Options{Language: l})
	})
}

func readPieces(s string, o Options) (Reading, uint32, error) {
	var p parser
	p.options, p.language = o, o.Language
	if !p.run(s) {
		return Reading{}, 0, p.lexFault()
	}
	if p.n == 0 {
		return Reading{}, 0, empty(s)
	}
	if p.several() {
		p.failAt(CodeVague, p.token[0].at, p.token[p.n-1].end, "", "")
		return Reading{}, p.best(), p.explain()
	}
	if !p.readCount() {
		return Reading{}, p.best(), p.explain()
	}
	q, ok := p.result()
	if !ok {
		return Reading{}, p.best(), p.explain()
	}
	for _, b := range [...]Bound{q.Min, q.Max} {
		if b.Value%one != 0 {
			p.failAt(CodeNotWhole, p.lo.at, p.hi.end, "", "")
			return Reading{}, p.best(), p.explain()
		}
	}
	return Reading{Quantity: q, Notes: p.notes}, p.best(), nil
}

// several reports whether a text is words that mean more than one and no number: several, a few; een paar, which may be
// two.
//
// Grammar: vague.
func (p *parser) several() bool {
	i, vague := 0, false
	for beside := wArticle | wApprox; i < p.n && p.token[i].is(wVague|beside); i++ {
		if p.token[i].is(wVague) {
			vague, beside = true, wOf|wPiece
		}
	}
	return vague && i == p.n
}

// readCount reads a number of pieces.
//
// Grammar: text, join (of a count).
func (p *parser) readCount() bool {
	p.leading()
	p.skipPieces()
	if p.i > 0 && p.tok().kind == kColon {
		p.i++
	}
	p.leading()
	if p.err != nil || !p.pieces(&p.lo) {
		return p.lost()
	}
	p.hi = p.lo
	t := p.tok()
	if t.is(wOr) && t.is(wOf) {
		return p.lost() // "1 of 3" is English, "1 of 2" may be Dutch
	}
	if t.kind == kDash || t.kind == kDots || t.is(wRange|wOr) || t.is(wAnd) && p.between {
		if p.startsNumber(1) || p.peek(1).is(wDozen|wPair) {
			p.i++
			if !p.pieces(&p.hi) {
				return p.lost()
			}
			p.ranged = !t.is(wOr) || !p.someOrTen() // een stuk of tien
		}
	} else if t.kind == kPlusMinus {
		p.i++
		if !p.pieces(&p.tolerance) {
			return p.lost()
		}
		p.hasTolerance = true
	}
	if p.between && !p.ranged {
		return p.lost()
	}
	for before := -1; before != p.i && p.err == nil; {
		before = p.i
		p.trailing()
		p.skipPieces()
	}
	if p.err == nil && p.tok().kind != kEnd {
		return p.lost()
	}
	return p.err == nil && p.settle()
}

// pieces reads a number and what counts the pieces: 3 x, 2 dozen, a pair.
//
// Grammar: pieces.
func (p *parser) pieces(m *measure) bool {
	m.at = p.tok().at
	article := p.tok().is(wArticle) && p.peek(1).is(wPiece)
	if t := p.tok(); t.is(wDozen | wPair) {
		*m = measure{num: 1, den: 1, stepNum: 1, stepDen: 1, at: t.at}
	} else if !p.number(m) {
		return false
	} else if t.is(wArticle) && !t.is(wNumber) && !p.tok().is(wDozen|wPair|wPiece|wHundred) {
		return false // "a" alone is no number
	}
	times := uint64(1)
	if t := p.tok(); t.is(wDozen) {
		times = 12
		p.i++
	} else if t.is(wPair) {
		times = 2
		p.i++
	}
	m.num *= times // at most 15 digits times twelve
	if times == 12 {
		m.stepNum *= times
	}
	if g := gcd(m.num, m.den); g > 1 && times > 1 {
		m.num, m.den = m.num/g, m.den/g
	}
	p.skipPieces()
	m.end, m.article = p.token[p.i-1].end, article
	return p.err == nil
}

// Grammar: piece.
func (p *parser) skipPieces() {
	for t := p.tok(); t.is(wPiece|wTimes) || t.kind == kTimes; t = p.tok() {
		if p.i++; t.kind == kWord && p.tok().kind == kDot {
			p.i++
		}
	}
}
