package edtf

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/text"
)

// takePeriod removes the words that name a period or a reign and returns them
// as they were written.
//
// Grammar: period.
func (ts *tokens) takePeriod() string {
	for i := range ts.n {
		end := ts.periodEnd(i)
		if end == i {
			continue
		}
		start := i
		for start > 0 && ts.leadsPeriod(start-1) {
			start--
		}
		for start < i && (ts.at(start).is('-') || ts.at(start).is('/')) {
			start++
		}
		start = ts.warNumber(start)
		label := ts.text[ts.at(start).start:ts.at(end-1).end]
		if start > 0 && (ts.at(start-1).is(',') || ts.at(start-1).is(';')) {
			start--
		}
		ts.remove(start, end)
		return label
	}
	return ""
}

// isWar reports whether a word at i names a war.
func (ts *tokens) isWar(i int) bool {
	t := ts.at(i)
	// wo is Wednesday, WO a war
	if t.hasClass(weekdayWord) && t.word.also&alsoWar != 0 && isUpper(ts.text[t.start:t.end]) {
		next := ts.at(i + 1)
		return next.roman == 1 || next.roman == 2 || next.isNumber() && (next.value == 1 || next.value == 2) &&
			next.digits == 1
	}
	return (t.hasClass(periodWord) || t.hasClass(periodTailWord)) && t.word.arg == 1
}

// namesWar reports whether a word that is on no list stands at i in front of a war, with a capital: Crimean War.
func (ts *tokens) namesWar(i int) bool {
	t := ts.at(i)
	return t.kind == wordToken && t.word.class == noClass && t.capital && ts.beginsPeriod(i+1) &&
		(ts.isWar(i+1) || ts.isWar(i+2))
}

// warNumber returns where the number in front of a war begins, such as 2. and 2nd, or start.
func (ts *tokens) warNumber(start int) int {
	i := start - 1
	if !ts.isWar(start) && !(ts.at(start).hasClass(periodTailWord) && ts.isWar(start+1)) {
		return start
	}
	if t := ts.at(i); t.hasClass(endingWord) && !t.gap {
		i--
		if ts.at(i).is(':') {
			i--
		}
	}
	if t := ts.at(i); t.isNumber() && t.digits == 1 || t.roman == 1 || t.roman == 2 {
		return i
	}
	return start
}

// leadsPeriod reports whether the token at i belongs to the name of a period
// that begins behind it: early, post-, first (World War).
//
// Grammar: lead-in.
func (ts *tokens) leadsPeriod(i int) bool {
	t := ts.at(i)
	switch {
	case t.hasClass(thirdWord), t.hasClass(periodHeadWord), t.hasClass(ordinalWord), ts.namesWar(i):
		return true
	case t.hasClass(beforeWord), t.hasClass(afterWord):
		word := ts.text[t.start:t.end]
		return ts.at(i+1).is('-') || (strings.EqualFold(word, "post") || strings.EqualFold(word, "pre")) &&
			ts.at(i+1).hasClass(periodWord)
	case t.is('-') || t.is('/') || t.hasClass(toWord):
		return i > 0 && (ts.at(i-1).hasClass(thirdWord) || ts.at(i-1).hasClass(periodHeadWord) ||
			ts.at(i-1).hasClass(afterWord) || ts.at(i-1).hasClass(beforeWord))
	case t.hasClass(fillerWord):
		return ts.text[t.start] == 'L' && t.end-t.start == 2 // La Tène
	}
	return false
}

// periodEnd returns the end of the name of a period that begins at i, or i.
//
// Grammar: core.
func (ts *tokens) periodEnd(i int) int {
	if !ts.beginsPeriod(i) {
		return i
	}
	end := i + 1 // behind the last token that certainly belongs to it
	words, tails := 0, 0
	for at := i; at < ts.n; at++ {
		t := ts.at(at)
		switch {
		case t.hasClass(periodWord), t.hasClass(reignWord), t.hasClass(weekdayWord) && ts.isWar(at):
			words++
			end = at + 1
		case t.hasClass(periodTailWord):
			tails++
			end = at + 1
		case ts.isRegnal(at):
			words++
			at++
			end = at + 1
		case t.roman > 0 && at > i && (ts.at(at-1).hasClass(periodTailWord) || ts.isWar(at-1)):
			end = at + 1
		case t.isNumber() && t.digits == 1 && ts.isWar(at-1) && (!t.gap || !ts.at(at+1).is('.')) && !ts.goesOn(at):
			end = at + 1 // World War 2, WW2
		case t.hasClass(laterWord), t.hasClass(earlierWord): // medieval or later
			if ts.at(at-1).hasClass(orWord) || ts.at(at-1).hasClass(andWord) {
				end = at + 1
			}
		case t.kind == wordToken && t.capital && t.word.class == noClass && ts.at(i).hasClass(reignWord):
			end = at + 1 // the name of a ruler
		case t.is('-') || t.is('/') || t.is('&') || t.hasClass(toWord) || t.hasClass(orWord) || t.hasClass(andWord) ||
			t.hasClass(thirdWord) || t.hasClass(periodHeadWord) || t.hasClass(fillerWord) || t.hasClass(untilWord) ||
			t.hasClass(endingWord) || t.hasClass(sinceWord) && t.word.arg == of ||
			(t.hasClass(afterWord) || t.hasClass(beforeWord)) && ts.at(at+1).is('-'):
		default:
			at = ts.n
		}
	}
	if words == 0 && tails == 1 && ts.isWar(i) && ts.namesWar(i-1) {
		return end // Great War
	}
	if words == 0 && tails < 2 && !(tails == 1 && i > 0 && ts.at(i-1).hasClass(thirdWord) && ts.at(i).dotless()) {
		return i
	}
	return end
}

// goesOn reports whether letters or figures stand right behind the token at i.
func (ts *tokens) goesOn(i int) bool {
	next := ts.at(i + 1)
	return (next.kind == wordToken || next.isNumber()) && !next.gap && !ts.at(i).dot
}

// dotless reports whether a word is written out, for an abbreviation names no
// period.
func (t *token) dotless() bool { return !t.dot }

func (ts *tokens) beginsPeriod(i int) bool {
	t := ts.at(i)
	return t.hasClass(periodWord) || t.hasClass(periodTailWord) || t.hasClass(reignWord) || ts.isRegnal(i) || ts.isWar(i)
}

// isRegnal reports whether a name with a Roman numeral stands at i: George III.
func (ts *tokens) isRegnal(i int) bool {
	t, numeral := ts.at(i), ts.at(i+1)
	if t.kind != wordToken || !t.capital || t.dot || t.word.class != noClass || t.end-t.start < 3 || t.roman > 0 {
		return false
	}
	return numeral.kind == wordToken && numeral.roman > 0 && numeral.gap &&
		isCapitalNumeral(ts.text[numeral.start:numeral.end]) && !ts.at(i+2).hasClass(centuryWord)
}

// isPeriodForm reports whether a word that is not in the list is a period word
// with an inflected ending (römischem) or with early, late or post in front
// (spätrömisch, frühmittelalterlich).
func isPeriodForm(w []byte) bool {
	if isInflected(w) {
		return true
	}
	var buf [48]byte
	w = text.AppendPlain(buf[:0], w)
	for _, front := range fronts() {
		if len(w) > len(front)+4 && string(w[:len(front)]) == front && isInflected(w[len(front):]) {
			return true
		}
	}
	return false
}

// isInflected reports whether a word is that of a period, alone or with an ending.
func isInflected(w []byte) bool {
	isPeriod := func(w []byte) bool {
		found, _ := words().Find(w, nil)
		return len(w) >= 5 && found.class == periodWord && found.arg == 0
	}
	return isPeriod(w) || slices.ContainsFunc(endings(), func(end string) bool {
		return len(w) > len(end) && string(w[len(w)-len(end):]) == end && isPeriod(w[:len(w)-len(end)])
	})
}

func isUpper(s string) bool { return s == strings.ToUpper(s) }
