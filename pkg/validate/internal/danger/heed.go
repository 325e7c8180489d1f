package danger

import (
	"cmp"
	"strings"

	"github.com/findslip/findslip/pkg/validate/internal/phrase"
)

// What words that people are told something by do.
const (
	handled   = iota + 1 // tell to touch, move or measure something
	near                 // do so where unhandled stands with them
	unhandled            // tell not to
	warning              // send to the police, or away
	idle                 // look as if they forbade something
	joint                // stand between two clauses
	named                // speak of danger or the dead
)

// orders are the words of one language by which people are told what to do.
type orders struct {
	phrases *phrase.Set
	after   bool // what forbids may stand behind the verb
}

func ordersOf(d *listed) *orders {
	o := &orders{phrase.New(), d.After}
	for tag, list := range [][]string{handled: d.Handling, near: d.Near, unhandled: d.Not, warning: d.Warning,
		idle: d.Idle, joint: d.Joint, named: d.Named} {
		o.phrases.Add(tag, list...)
	}
	return o
}

// Heed looks through a text in a language that somebody writes for people: whether it speaks of ammunition or the dead,
// and, where it does or is about such finds, the sentence that is wrong. One is where it tells people to handle
// something, or not to call the police, and where it speaks of them and neither forbids to handle them nor sends people
// to the police or away, in itself or in one of the next two. Of a language that is not known it is read as English.
func (w *Words) Heed(language, s string) (speaks bool, wrong string) {
	language, _, _ = strings.Cut(language, "-")
	o := w.orders[language]
	if o == nil {
		o = w.orders["en"]
	}
	open, opened := 0, "" // so many sentences may come before one that warns of what was spoken of
	for sentence := range strings.FieldsFuncSeq(s, func(r rune) bool { return strings.ContainsRune(".!?;:\n", r) }) {
		h := w.Scan(sentence)
		of := (h.Surely|h.Perhaps)&(Ordnance|HumanRemains) != 0
		does, warns, names := o.tell(sentence)
		of = of || names
		if does {
			wrong = cmp.Or(wrong, sentence)
		} else if open == 1 && !warns {
			wrong = cmp.Or(wrong, opened)
		}
		switch speaks = speaks || of; {
		case warns:
			open = 0
		case of && open == 0:
			open, opened = mostApart+1, sentence
		case open > 0:
			open--
		}
	}
	if open > 0 {
		wrong = cmp.Or(wrong, opened)
	}
	return speaks, strings.TrimSpace(wrong)
}

// clause is what the words of one clause do.
type clause struct{ does, close, forbids, warns bool }

// tell reports whether a sentence tells people to handle something, or not to call for help, whether it warns them, and
// whether it names a danger.
func (o *orders) tell(sentence string) (does, warns, names bool) {
	var buf [phrase.MaxWord]byte
	var c clause
	forbade := 0 // the place of the word that forbids
	end := func() {
		if o.after && c.forbids && (c.does || c.close) { // heben Sie nichts auf
			c.does, c.warns = false, true
		}
		does, warns, c = does || c.does, warns || c.warns, clause{}
	}
	for rest, at := sentence, 0; ; {
		if _, _, ok := phrase.Next(rest, &buf); !ok {
			break
		}
		tag, n := o.phrases.At(rest)
		switch {
		case n == 0:
		case tag == joint:
			end()
		case tag == named:
			names = true
		case tag == unhandled:
			c.forbids, forbade = true, at
		case tag == warning && c.forbids && at-forbade <= mostBetween && !(c.warns && afterComma(sentence, rest)):
			does = true // do not call the police
		case tag == warning:
			c.warns = true
		case (tag == handled || tag == near) && c.forbids:
			c.warns = true
		case tag == handled:
			c.does = true
		case tag == near:
			c.close = true
		}
		for range max(n, 1) {
			_, rest, _ = phrase.Next(rest, &buf)
			at++
		}
	}
	end()
	return does, warns, names
}

// afterComma reports whether what is left of a sentence begins anew: do not touch it, go away.
func afterComma(sentence, rest string) bool {
	word := strings.TrimLeft(rest, " ,")
	return strings.HasSuffix(strings.TrimRight(sentence[:len(sentence)-len(word)], " "), ",")
}

// mostApart is in how many sentences behind one that speaks of danger the warning may stand: What if I see a bone? What
// do I do? Leave it, and call us.
const mostApart = 2

// mostBetween is how many words at most stand between what forbids and the police: do not call the police.
const mostBetween = 3
