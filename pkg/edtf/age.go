package edtf

// lead is what stands in front of a date and opens one side of it.
type lead uint8

const (
	noLead lead = iota
	beforeLead
	afterLead
	untilLead
	sinceLead
	fromLead    // until an end is named
	betweenLead // goes with "and"
)

// age reads the years of a text whose event and period have been taken out.
//
// Grammar: span.
func (r *reader) age(ts *tokens) (Date, *Error) {
	for i := 0; i < ts.n; i++ {
		if ts.at(i).hasClass(turnWord) {
			return r.turn(ts, i)
		}
	}
	lead, whole, i := ts.readLead(0)
	first, i, err := r.readSide(ts, i)
	if err != nil {
		return Date{}, err
	}
	if first.kind == noSide {
		return Date{}, r.datingNotRead(ts.rest(i))
	}
	first.q |= whole
	next, how := ts.join(i)
	if how == notJoined && ts.at(i).is(',') && r.meetsNext(ts, i+1, &first) {
		next, how = i+1, joinedTo
	}
	if how != notJoined {
		second, end, err := r.readSide(ts, next)
		if err != nil {
			return Date{}, err
		}
		if second.kind != noSide {
			if end < ts.n {
				return Date{}, r.datingNotRead(ts.rest(end))
			}
			if lead == betweenLead || lead == fromLead {
				how = joinedTo
			}
			second.q |= whole
			if second.closing {
				first.q |= second.q
			}
			return r.joined(lead, first, second, how, ts)
		}
	}
	if tail, end := ts.readTail(i); tail != noLead {
		if lead != noLead && lead != fromLead && lead != sinceLead {
			return Date{}, r.datingNotRead(ts.rest(i))
		}
		lead, i = tail, end
	}
	if i < ts.n {
		return Date{}, r.datingNotRead(ts.rest(i))
	}
	if err := r.settle(&first, nil, ts); err != nil {
		return Date{}, err
	}
	if lead == fromLead {
		r.note("open-end-assumed", "no end is named, so the date is read as open")
	}
	return first.date(lead), nil
}

// meetsNext reports whether a comma joins the end of a century to the beginning of the next: late 17th, early 18th.
func (r *reader) meetsNext(ts *tokens, i int, first *side) bool {
	second, _, err := r.readSide(ts, i)
	return err == nil && first.kind == centurySide && second.kind == centurySide && second.n == first.n+1 &&
		!first.part.isZero() && first.part.k2 == first.part.n2 && second.part.k1 == 1
}

// rest returns the text from token i on.
func (ts *tokens) rest(i int) string {
	if i >= ts.n {
		return ts.text
	}
	return ts.text[ts.at(i).start:]
}

// readLead reads before, after, until, since, from and between, and the marks
// that stand around them: these qualify both ends of a range.
//
// Grammar: lead.
func (ts *tokens) readLead(i int) (lead, qualifier, int) {
	var found lead
	var q qualifier
	negated := false
	for ; i < ts.n; i++ {
		if ts.isMark(i) {
			q |= ts.markOf(i)
			continue
		}
		if ts.at(i).hasClass(noWord) {
			negated = true
			continue
		}
		next, belongs := ts.leadAt(i, found, negated)
		switch {
		case !belongs:
			return found, q, i
		case next == noLead:
		case found == noLead || found == next || next == sinceLead || next == untilLead:
			found = next
		case found != untilLead && found != sinceLead:
			return found, q, i
		}
		if negated && ts.at(i).hasClass(periodHeadWord) && ts.at(i+1).word.also&alsoThan != 0 {
			i++
		}
	}
	return found, q, i
}

// leadAt returns what the token at i says about the ends, noLead where it only stands between; false where it does not
// belong to them.
//
// Grammar: opener.
func (ts *tokens) leadAt(i int, found lead, negated bool) (lead, bool) {
	t := ts.at(i)
	before, after := beforeLead, afterLead
	if negated { // not before is since, not after is until
		before, after = sinceLead, untilLead
	}
	switch {
	case t.roman > 0 && t.capital && ts.partFollows(i): // I połowa: the first half
		return noLead, false
	case t.hasClass(yearWord) && ts.at(i+1).digits == 2: // lata 60. XX w.
		return noLead, false
	case t.hasClass(fillerWord), t.hasClass(thanWord), t.hasClass(yearWord) && t.word.arg == 0, t.is(','),
		t.hasClass(andWord):
		return noLead, true
	case t.is('<'), t.hasClass(beforeWord):
		return before, true
	case t.is('>'), t.hasClass(afterWord):
		return after, true
	case t.hasClass(laterWord) && negated:
		return untilLead, true
	case t.hasClass(earlierWord) && negated:
		return sinceLead, true
	case negated && t.hasClass(periodHeadWord): // ikke ældre end, nicht jünger als
		switch t.word.arg {
		case 1:
			return sinceLead, true
		case 2:
			return untilLead, true
		}
		return noLead, false
	case t.hasClass(thirdWord) && negated && found == noLead && t.word.arg == late:
		return untilLead, true
	case t.hasClass(thirdWord) && negated && found == noLead && t.word.arg == early:
		return sinceLead, true
	case t.hasClass(untilWord):
		return untilLead, true
	case t.hasClass(sinceWord):
		return ts.sinceAt(i), true
	case t.hasClass(betweenWord), found == noLead && t.word.also&alsoOf != 0 && ts.joinsLater(i): // de 1690 à 1790
		return betweenLead, true
	case t.is('-') && found != noLead, // pre-1800
		// jusqu'à
		(t.hasClass(endingWord) || t.hasClass(toWord)) && found != noLead,
		// à partir de
		(t.hasClass(endingWord) || t.hasClass(toWord)) && ts.at(i+1).hasClass(sinceWord) && ts.at(i+1).word.arg == since,
		t.is('\''): // jusqu'en, '85
		return noLead, true
	}
	return noLead, false
}

func (ts *tokens) sinceAt(i int) lead {
	switch ts.at(i).word.arg {
	case since:
		return sinceLead
	case from:
		return fromLead
	}
	if ts.joinsLater(i) {
		return betweenLead // from X to Y, so Y is stated
	}
	return noLead
}

// joinsLater reports whether a word for "to" follows somewhere behind i.
func (ts *tokens) joinsLater(i int) bool {
	for k := i + 1; k < ts.n; k++ {
		t := ts.at(k)
		if t.hasClass(toWord) || t.hasClass(untilWord) || t.is('-') && t.gap || t.hasClass(endingWord) && t.gap {
			return true
		}
	}
	return false
}

// isMark reports whether a word or sign says about or probably. The c of a
// century (C18) is none.
func (ts *tokens) isMark(i int) bool {
	t := ts.at(i)
	switch {
	case t.is('?'), t.is('~'), t.is('%'), t.hasClass(unsureWord):
		return true
	case t.hasClass(approxWord):
		return !ts.isCenturyLetter(i)
	}
	return false
}

// Grammar: mark.
func (ts *tokens) markOf(i int) qualifier {
	t := ts.at(i)
	switch {
	case t.is('?'), t.hasClass(unsureWord):
		return uncertain
	case t.is('~'), t.hasClass(approxWord):
		return approximate
	case t.is('%'):
		return approximate | uncertain
	}
	return 0
}

// isCenturyLetter reports whether the c at i is glued to a century: C18, C18th.
func (ts *tokens) isCenturyLetter(i int) bool {
	t, n := ts.at(i), ts.at(i+1)
	return ts.letter(i) == 'c' && !t.dot && n.isNumber() && n.digits <= 2 && !n.gap
}

// joining is the way two dates are joined.
type joining uint8

const (
	notJoined joining = iota
	joinedTo
	joinedOr
	joinedAnd
)

// join reports how a second date is joined at i, and where it begins.
//
// Grammar: joint.
func (ts *tokens) join(i int) (int, joining) {
	how := notJoined
	for ; i < ts.n; i++ {
		t := ts.at(i)
		next := how
		switch {
		case t.is('-'), t.is('/'), t.hasClass(toWord), t.hasClass(untilWord):
			next = joinedTo
		case t.hasClass(endingWord) && t.gap && how == notJoined: // French à
			next = joinedTo
		case t.hasClass(endingWord) && how != notJoined, t.hasClass(sinceWord) && t.word.arg == of && how != notJoined:
		case t.hasClass(orWord):
			if how == notJoined {
				next = joinedOr
			}
		case t.hasClass(andWord), t.is('&'), t.word.also&alsoAnd != 0 && how == notJoined && !t.capital:
			next = joinedAnd
		case t.hasClass(fillerWord):
		case t.is(',') && how == notJoined:
		default:
			return i, how
		}
		how = next
	}
	return i, how
}

// readTail reads onwards, or later, + and their like.
//
// Grammar: tail.
func (ts *tokens) readTail(i int) (lead, int) {
	start := i
	tail := noLead
	for ; i < ts.n; i++ {
		t := ts.at(i)
		switch {
		case t.is('+') || t.hasClass(laterWord) || t.hasClass(thirdWord) && t.word.arg == late:
			tail = sinceLead
		case t.hasClass(earlierWord) || t.hasClass(thirdWord) && t.word.arg == early:
			tail = untilLead
		case t.hasClass(orWord), t.hasClass(andWord), t.is(','), t.hasClass(fillerWord), t.is('-'), t.is('?'):
		default:
			return noLead, start
		}
	}
	return tail, i
}

// turn reads the turn of two centuries.
//
// Grammar: turn.
func (r *reader) turn(ts *tokens, at int) (Date, *Error) {
	const help = "name both centuries (turn of the 18th/19th century), or type the years"
	_, q, begin := ts.readLead(0)
	if begin != at {
		if begin+1 != at || !ts.at(begin).hasClass(eraWord) {
			return Date{}, r.datingNotRead(ts.rest(begin))
		}
	}
	i := at + 1
	for ts.at(i).hasClass(orWord) || ts.at(i).hasClass(fillerWord) || ts.at(i).hasClass(sinceWord) {
		i++
	}
	ambiguous := r.failText("dating-ambiguous", "it is not said which centuries meet", help)
	if ts.at(i).hasClass(centuryWord) && i+1 == ts.n {
		return Date{}, ambiguous
	}
	first, i, err := r.readSide(ts, i)
	if err != nil {
		return Date{}, err
	}
	second := side{}
	if next, how := ts.join(i); how == joinedTo || how == joinedAnd {
		if second, i, err = r.readSide(ts, next); err != nil {
			return Date{}, err
		}
	}
	if i < ts.n {
		return Date{}, r.datingNotRead(ts.rest(i))
	}
	q |= first.q | second.q
	border := 0
	switch {
	case first.kind == centurySide && second.kind == centurySide && second.n == first.n+1 && first.era >= 0 &&
		second.era >= 0:
		border = first.n * 100
	case first.kind == yearSide && first.n%100 == 0 && second.kind == noSide:
		border = first.n
	case first.kind == yearSide && first.n%100 == 0 && second.kind == yearSide && second.n == first.n+100:
		border = second.n
	case first.kind == centurySide && second.kind == noSide && first.era >= 0 && first.n > 1:
		n := first.n * 100
		return Date{}, r.failText("dating-ambiguous", "the turn of one century is its beginning or its end", help,
			turnOf(n-100, 0).String(), turnOf(n, 0).String())
	default:
		return Date{}, ambiguous
	}
	r.note("turn-of-century", "read as the ten years before and after the turn")
	return turnOf(border, q), nil
}

// turnOf returns the ten years on each side of the end of a century.
func turnOf(border int, q qualifier) Date {
	return interval(Stated, yearPoint(border-9).qualified(q), Stated, yearPoint(border+10).qualified(q))
}

// joined makes one date of two.
func (r *reader) joined(l lead, first, second side, how joining, ts *tokens) (Date, *Error) {
	if err := r.settle(&first, &second, ts); err != nil {
		return Date{}, err
	}
	if l == beforeLead || l == afterLead || l == untilLead {
		return Date{}, r.failText("dating-ambiguous", "a range cannot stand behind before or after",
			"name one date only, or both ends without that word")
	}
	from, _ := first.points()
	_, to := second.points()
	if reversed(from, to) {
		return Date{}, r.failText("date-reversed", "the end is before the start",
			"type the earlier date first; for years BC the larger number is earlier")
	}
	if how == joinedOr || how == joinedAnd {
		if set, ok := setOf(first, second, how); ok {
			return set, nil
		}
	}
	if from == to {
		return single(from), nil
	}
	return interval(Stated, from, Stated, to), nil
}

// setOf makes a set of two dates. Two centuries make an interval instead.
func setOf(first, second side, how joining) (Date, bool) {
	if first.kind == centurySide || second.kind == centurySide {
		return Date{}, false
	}
	a, _ := first.points()
	b, _ := second.points()
	open, closing := byte('['), byte(']')
	if how == joinedAnd {
		open, closing = '{', '}'
	}
	text := append(a.append([]byte{open}), ',')
	text = append(b.append(text), closing)
	d, f := parse(string(text))
	return d, !f.failed()
}
