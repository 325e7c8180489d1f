package coordinate

import "github.com/findslip/findslip/pkg/lexicon"

// angle is one coordinate in degrees as it was written: up to three numbers, a sign or a letter.
type angle struct {
	parts    [6]decimal
	marks    [6]kind // tDegree, tMinute, tSecond or tNumber for none
	n        int
	sign     byte // '+', '-' or 0
	letter   byte // 'N', 'S', 'E', 'W' or 0
	axis     kind // tLatitude, tLongitude or tNumber for none
	colon    bool // parts stand with colons
	closed   bool // nothing more belongs to it
	dash     int  // where a dash stood in front that may part two coordinates; 0 for none
	from, to int
}

// marked reports whether any number bears a mark or a colon.
func (a *angle) marked() bool {
	if a.colon {
		return true
	}
	for _, m := range a.marks[:a.n] {
		if m != tNumber {
			return true
		}
	}
	return false
}

// isLatitude and isLongitude tell what letter and label say; neither may be known.
func (a *angle) isLatitude() bool {
	return a.letter == 'N' || a.letter == 'S' || a.letter == 0 && a.axis == tLatitude
}

func (a *angle) isLongitude() bool {
	return a.letter == 'E' || a.letter == 'W' || a.letter == 0 && a.axis == tLongitude
}

// angles groups tokens into coordinates.
type angles struct {
	list [4]angle
	n    int
}

// gather groups the tokens of a text in degrees into coordinates. language decides what the letter O means.
//
// Grammar: part.
func (g *angles) gather(s string, ts []token, language string) *Error {
	in := gathering{angles: g, s: s, ts: ts, language: language}
	for i := range ts {
		if err := in.take(i, &ts[i]); err != nil {
			return err
		}
	}
	if cur := &in.cur; cur.n == 0 && (cur.sign != 0 || cur.letter != 0 || cur.axis != tNumber) {
		return unread(s, cur.from, len(s))
	}
	return in.push()
}

// gathering is the state of gather: the coordinate that is being put together, and what was seen of the manner of
// writing.
type gathering struct {
	*angles
	s        string
	ts       []token
	language string
	cur      angle
	styled   bool // a letter of the side has been seen
	leading  bool // such letters stand before their numbers
	lettered bool // minutes or seconds are marked by letters
}

// push ends the coordinate that is being put together.
func (in *gathering) push() *Error {
	if in.cur.n == 0 {
		return nil
	}
	if in.n == len(in.list) {
		return faultAt(in.s, in.cur.from, in.cur.to, "unread", "there is more here than a latitude and a longitude",
			"give one position alone")
	}
	in.list[in.n] = in.cur
	in.n++
	in.cur = angle{}
	return nil
}

// blankAhead reports whether the token behind i stands apart from it.
func (in *gathering) blankAhead(i int) bool { return i+1 < len(in.ts) && in.ts[i+1].spaced }

func (in *gathering) take(i int, t *token) *Error {
	switch t.kind {
	case tNumber:
		return in.takeNumber(t)
	case tDegree, tColon:
		return in.takeDegree(i, t)
	case tMetre, tMinute, tSecond:
		return in.takeMinute(t)
	case tSign:
		return in.takeSign(i, t)
	case tHemisphere:
		return in.takeLetter(t)
	case tLatitude, tLongitude:
		if err := in.push(); err != nil {
			return err
		}
		if in.cur.axis != tNumber {
			return unread(in.s, t.from, t.to)
		}
		in.cur.axis, in.cur.from = t.kind, t.from
		return nil
	case tComma:
		if in.cur.n == 0 {
			return nil
		}
		in.cur.closed = true
		if i+1 < len(in.ts) && in.ts[i+1].kind == tHemisphere && !in.leading {
			return nil // its letter follows, as in 5230.45,N
		}
		return in.push()
	}
	return unread(in.s, t.from, t.to)
}

func (in *gathering) takeNumber(t *token) *Error {
	if in.cur.closed {
		if err := in.push(); err != nil {
			return err
		}
	}
	cur := &in.cur
	if cur.n == len(cur.parts) {
		return faultAt(in.s, t.from, t.to, "unread", "there are more numbers here than a latitude and a longitude need",
			"give one position alone")
	}
	if cur.n == 0 && cur.from == 0 {
		cur.from = t.from
	}
	cur.parts[cur.n] = t.number
	cur.n++
	cur.to = t.to
	return nil
}

// takeDegree takes a degree sign or a colon. Behind a second number it begins the next coordinate with it.
func (in *gathering) takeDegree(i int, t *token) *Error {
	cur := &in.cur
	if cur.n == 0 {
		return unread(in.s, t.from, t.to)
	}
	split := cur.n > 1
	if t.kind == tColon {
		split = split && i >= 2 && in.ts[i-2].kind != tColon
	}
	if split {
		last := cur.parts[cur.n-1]
		cur.n--
		if err := in.push(); err != nil {
			return err
		}
		cur.parts[0], cur.n = last, 1
		cur.from, cur.to = in.ts[i-1].from, t.to
	}
	if t.kind == tColon {
		cur.colon = true
	} else {
		cur.marks[0] = tDegree
		cur.to = t.to
	}
	return nil
}

func (in *gathering) takeMinute(t *token) *Error {
	k, cur := t.kind, &in.cur
	if k == tMetre {
		k = tMinute
	}
	if cur.n == 0 || cur.closed || cur.marks[cur.n-1] != tNumber || t.letter == 'M' && t.spaced {
		return unread(in.s, t.from, t.to)
	}
	cur.marks[cur.n-1] = k
	cur.to = t.to
	in.lettered = in.lettered || isLetter(in.s[t.from])
	return nil
}

func (in *gathering) takeSign(i int, t *token) *Error {
	cur := &in.cur
	if cur.n > 0 && !cur.closed {
		tight := !t.spaced && in.ts[i-1].kind == tNumber && !(in.n == 0 && cur.sign != 0) && !cur.colon
		if in.blankAhead(i) || tight {
			return dashAmbiguous(in.s, t.from)
		}
	}
	between := t.letter == '-' && t.spaced && cur.closed && cur.letter != 0 && in.blankAhead(i)
	if err := in.push(); err != nil {
		return err
	}
	if cur.sign != 0 {
		return unread(in.s, t.from, t.to)
	}
	if between { // 52° N - 1° W: the letter that follows tells the side
		cur.dash = t.from
		return nil
	}
	cur.sign, cur.from = t.letter, t.from
	return nil
}

// takeLetter takes the letter of a side of the Earth, which stands before or behind its numbers, alike in one text.
//
// Grammar: side.
func (in *gathering) takeLetter(t *token) *Error {
	cur := &in.cur
	if t.letter == 'S' && t.single && in.lettered && !t.spaced && cur.n == 3 && cur.marks[1] == tMinute &&
		cur.marks[2] == tNumber {
		cur.marks[2] = tSecond
		return nil
	}
	if !in.styled {
		in.styled, in.leading = true, cur.n == 0 && in.n == 0
	}
	letter := t.letter
	if letter == 'O' {
		if letter = meaningOfO(in.language); letter == 0 {
			return faultAt(in.s, t.from, t.to, "hemisphere-ambiguous",
				"the letter O is east in German and Dutch, but west in French, Spanish and Italian",
				"write E for east or W for west",
				in.s[:t.from]+"E"+in.s[t.to:], in.s[:t.from]+"W"+in.s[t.to:])
		}
	}
	a := cur
	switch {
	case in.leading:
		if err := in.push(); err != nil {
			return err
		}
		a.from = t.from
	case cur.n == 0 && in.n > 0 && in.list[in.n-1].letter == 0:
		a = &in.list[in.n-1]
	case cur.n == 0 && cur.sign == 0:
		return unread(in.s, t.from, t.to)
	}
	if a.letter != 0 {
		return unread(in.s, t.from, t.to)
	}
	a.letter, a.to = letter, t.to
	if !in.leading {
		a.closed = true
	}
	return nil
}

func dashAmbiguous(s string, at int) *Error {
	return faultAt(s, at, at+1, "dash-ambiguous", "this dash may be a minus sign or may part two numbers",
		"put a comma between latitude and longitude, and the minus sign right before its number")
}

// meaningOfO tells what O is in a language; 0 where that is not known.
func meaningOfO(language string) byte {
	l := lexicon.ByTag(language)
	if l == nil {
		return 0
	}
	if w, _ := words().Find([]byte("o"), l); w.letter != 'O' {
		return w.letter
	}
	return 0
}

// value works out an angle in degrees and one unit of its last digit, in degrees.
//
// Grammar: angle.
func (a *angle) value(s string) (degrees, step float64, err *Error) {
	if a.n > 3 {
		return 0, 0, faultAt(s, a.from, a.to, "unread", "an angle has at most three parts: degrees, minutes and seconds",
			"write for instance 52°30'15\"N")
	}
	if a.sign != 0 && a.letter != 0 && (a.sign == '-' || a.letter == 'S' || a.letter == 'W') {
		return 0, 0, faultAt(s, a.from, a.to, "sign-and-letter", "both a sign and a letter tell the side of the Earth",
			"keep one of the two: a minus sign, or S or W")
	}
	if a.dash > 0 && a.letter == 0 {
		return 0, 0, dashAmbiguous(s, a.dash)
	}
	if a.n == 1 && a.letter != 0 && a.parts[0].whole >= 4 {
		if v, st, ok := a.packed(); ok {
			return v, st, nil
		}
	}
	for i := range a.n {
		want := tDegree + kind(i)
		if m := a.marks[i]; m != tNumber && m != want {
			return 0, 0, faultAt(s, a.from, a.to, "unread", "degrees, minutes and seconds do not stand in this order",
				"write for instance 52°30'15\"N")
		}
		if i < a.n-1 && a.parts[i].decimals > 0 {
			return 0, 0, faultAt(s, a.from, a.to, "decimal-place", "only the last part of an angle may have decimals",
				"write degrees with decimals alone, or whole degrees and minutes with decimals")
		}
		if i > 0 && a.parts[i].value >= 60 {
			code, what := "minutes-range", "minutes"
			if i == 2 {
				code, what = "seconds-range", "seconds"
			}
			return 0, 0, faultAt(s, a.from, a.to, code, what+" must be below sixty",
				"look at the digits again; decimals of a degree are written with a point")
		}
	}
	step = a.parts[a.n-1].step()
	switch a.n {
	case 1:
		degrees = a.parts[0].value
	case 2:
		degrees = a.parts[0].value + a.parts[1].value/60
		step /= 60
	case 3:
		degrees = a.parts[0].value + (a.parts[1].value*60+a.parts[2].value)/3600
		step /= 3600
	}
	if a.sign == '-' || a.letter == 'S' || a.letter == 'W' {
		degrees = -degrees
	}
	return degrees, step, nil
}

// packed reads DDMM.m and DDMMSS.s before or after a letter, as navigation receivers print them.
func (a *angle) packed() (degrees, step float64, ok bool) {
	d := a.parts[0]
	lead := 2
	if a.letter == 'E' || a.letter == 'W' {
		lead = 3
	}
	if tail := d.whole - lead; tail != 2 && tail != 4 || d.decimals == 0 && a.letter != 'S' && a.letter != 'W' &&
		tail == 2 {
		return 0, 0, false
	}
	d.negative = a.letter == 'S' || a.letter == 'W'
	v, good := packed(d)
	if !good {
		return 0, 0, false
	}
	step = d.step() / 60
	if d.whole-lead == 4 {
		step /= 60
	}
	return v, step, true
}
