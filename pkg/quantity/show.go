package quantity

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
