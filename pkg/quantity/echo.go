package quantity

// again reads the same measure said again behind = or /: 8 in / 20 cm. Two
// measures in one unit are a range (8"/9").
func (p *parser) again() bool {
	sign := *p.tok()
	p.i++
	var other echo
	if !p.echo(&other) {
		return p.lost()
	}
	if sign.kind == kSlash && other.lo.unit == p.lo.unit && !other.ranged {
		p.hi, p.ranged, p.approximate = other.lo, true, p.approximate || other.about
		return true
	}
	if sign.kind == kSlash && family(other.lo.unit) == family(p.lo.unit) {
		p.failAt(CodeTwoMeasures, p.lo.at, other.hi.end, "", "")
		return false
	}
	return p.agree(&other)
}

// An echo is a measure said again in another unit.
type echo struct {
	lo, hi measure
	ranged bool
	about  bool
}

// Grammar: echo.
func (p *parser) echo(e *echo) bool {
	for p.tok().kind == kTilde || p.tok().is(wApprox) && !p.tok().is(wNumber) {
		e.about = true
		p.i++
		p.skipDot()
	}
	if !p.measure(&e.lo) {
		return false
	}
	e.hi = e.lo
	if t := p.tok(); t.kind == kDash || t.is(wRange) || t.kind == kDots || t.is(wOr) {
		p.i++
		e.hi = measure{}
		if !p.measure(&e.hi) {
			return false
		}
		e.ranged = true
		if e.lo.unit == NoUnit {
			e.lo.unit = e.hi.unit
		}
	}
	if e.lo.unit == NoUnit {
		return false
	}
	if e.hi.unit == NoUnit {
		e.hi.unit = e.lo.unit
	}
	return true
}

// bracket reads what stands in brackets behind a measure: an echo, or a word
// that could have stood without them.
//
// Grammar: about-word.
func (p *parser) bracket() {
	p.i++
	t := p.tok()
	switch {
	case t.kind == kPlusMinus && !p.ranged && !p.hasTolerance: // 20 cm (+/- 2 cm)
		p.i++
		if !p.plusMinus() {
			return
		}
	case t.kind == kQuery && p.peek(1).kind == kClose:
		p.approximate = true
		p.note(NoteQuery, "a question mark is taken for about")
		p.i++
	case (t.is(wApprox|wUncertain) || t.kind == kTilde) && !p.startsNumber(1):
		p.approximate = true
		p.i++
		p.skipDot()
	case t.is(wNoise) && p.peek(1).kind == kClose:
		p.i++
	case t.is(wUnit) && p.peek(1).kind == kClose && p.hi.unit == NoUnit: // 8 (in)
		if !p.unit(&p.hi) {
			return
		}
		if !p.ranged {
			p.lo = p.hi
		}
	case p.sameUnit(), p.explained():
	case t.is(wSurface) && p.peek(1).kind == kClose && p.lo.num == 0 && !p.ranged:
		p.surface = true
		p.i++
	default:
		var other echo
		if !p.echo(&other) {
			p.lost()
			return
		}
		for p.tok().is(wNoise) {
			p.i++
		}
		if !p.agree(&other) {
			return
		}
	}
	if p.tok().kind != kClose {
		p.lost()
		return
	}
	p.i++
}

// sameUnit reads the unit of the measure named once more: 1 dwt (pennyweight).
func (p *parser) sameUnit() bool {
	start := p.i
	if p.tok().is(wAvoir) && (p.hi.unit == OZ || p.hi.unit == LB) {
		p.i++
		return true
	}
	var m measure
	if (p.tok().is(wUnit) || p.tok().is(wTroy)) && !p.startsNumber(0) && p.unit(&m) && m.unit == p.hi.unit &&
		p.tok().kind == kClose {
		return true
	}
	p.i = start
	return false
}

// agree holds an echo against the measure: both ends must agree within half
// of the coarser step.
func (p *parser) agree(e *echo) bool {
	if p.lo.unit == NoUnit {
		if p.ranged && p.hi.unit != NoUnit {
			p.lo.unit = p.hi.unit
		} else {
			p.lo.unit = p.options.Default
			if p.lo.unit.Dimension() != p.dimension {
				// 8 (20 cm): the 8 has no unit of its own.
				p.failAt(CodeUnitMissing, p.lo.at, p.lo.end, "", "")
				return false
			}
			p.notes = append(p.notes, assumedNotes[p.lo.unit]...)
			if !p.ranged {
				p.hi = p.lo
			}
		}
	}
	if p.hi.unit == NoUnit {
		p.hi.unit = p.lo.unit
	}
	if !p.near(&p.lo, &e.lo) || !p.near(&p.hi, &e.hi) {
		if p.err == nil {
			p.failAt(CodeEcho, e.lo.at, e.hi.end, "", "")
		}
		return false
	}
	if p.lo.unit == OZ && p.troyMeant(e) {
		p.failAt(CodeUnitAmbiguous, p.lo.at, e.hi.end,
			"the second figure fits the troy ounce and not the avoirdupois one that oz stands for",
			"write ozt for the troy ounce")
		return false
	}
	p.note(NoteEcho, "the second figure agrees with the first within its rounding and is set aside")
	return true
}

func (p *parser) near(a, b *measure) bool {
	into := p.options.Into
	va, ok1 := convert(a.num, a.den, a.unit, into)
	vb, ok2 := convert(b.num, b.den, b.unit, into)
	sa, ok3 := convert(a.stepNum, a.stepDen, a.unit, into)
	sb, ok4 := convert(b.stepNum, b.stepDen, b.unit, into)
	if !ok1 || !ok2 || !ok3 || !ok4 {
		p.failAt(CodeTooLarge, a.at, b.end, "", "")
		return false
	}
	return max(va-vb, vb-va) <= (max(sa, sb)+1)/2
}

// troyMeant reports whether the echo of a measure in oz fits troy ounces to its
// own step, and avoirdupois ounces not.
func (p *parser) troyMeant(e *echo) bool {
	ounce := p.lo
	ounce.stepNum = 0
	troy := ounce
	troy.unit = OZT
	return p.near(&troy, &e.lo) && !p.near(&ounce, &e.lo)
}

// Show writes q for people, in u and rounded to what was stated: "20 cm" for 8
// in stated to the inch, "18–23 cm", "30 cm or more", "about 20 cm". Where u is
// the unit that was stated the number is shown as exactly as it was written.
// A unit of another dimension shows q in its own unit; a q that knows neither
// end gives "not known".
func (q Quantity) Show(u Unit) string {
	in := q.In(u)
	if in.IsZero() {
		in = q
	}
	if !in.Min.Known && !in.Max.Known {
		return "not known"
	}
	step, exact := in.showStep()
	var buf [64]byte
	b := buf[:0]
	if in.Approximate {
		b = append(b, "about "...)
	}
	number := func(v Decimal) { b = roundTo(v, step, exact).append(b) }
	unit := func() {
		if in.Unit != NoUnit {
			b = append(b, ' ')
			b = append(b, in.Unit.String()...)
		}
	}
	switch {
	case in.Best.Known:
		number(in.Best.Value)
		unit()
		b = append(b, " ("...)
		number(in.Min.Value)
		b = append(b, "–"...)
		number(in.Max.Value)
		b = append(b, ')')
	case !in.Max.Known:
		number(in.Min.Value)
		unit()
		b = append(b, " or more"...)
	case !in.Min.Known:
		number(in.Max.Value)
		unit()
		b = append(b, " or less"...)
	default:
		number(in.Min.Value)
		if roundTo(in.Min.Value, step, exact) != roundTo(in.Max.Value, step, exact) {
			b = append(b, "–"...)
			number(in.Max.Value)
		}
		unit()
	}
	return string(b)
}

// showStep is the step that q is shown to: the power of ten at or below half
// of the resolution, so that half a foot is 15 cm and not 20. exact tells that the number is shown as it was written.
func (q Quantity) showStep() (step Decimal, exact bool) {
	r := q.Resolution.Value
	if !q.Resolution.Known || r <= 0 {
		return 1, true
	}
	step = 1
	for step <= r/20 {
		step *= 10
	}
	if q.Unit != q.Said {
		return step, false
	}
	// 8 1/2 in stays 8.5 in, 2/3 ft becomes 0.667 ft.
	for fine := step; fine >= step/1000 && fine > 0; fine /= 10 {
		if r%fine == 0 {
			return min(fine, one), false
		}
	}
	return max(min(step, one)/1000, 1), false
}

// roundTo rounds v, which is not negative, to the nearest multiple of step,
// halves up.
func roundTo(v, step Decimal, exact bool) Decimal {
	if exact || step <= 1 {
		return v
	}
	down := v - v%step
	if v-down >= step-step/2 && down <= down+step {
		return down + step
	}
	return down
}
