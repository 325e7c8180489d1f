package validate

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
)

var thingRules = []*Rule{weightUnlikely, countZero, wordsDisagree}

var weightUnlikely = &Rule{
	Kind:  kinds.WeightUnlikely,
	Check: sayBelowSize,
	Log: func(c *Case, log *Roll, say SayOf) {
		light := map[uint16][]int{} // by sheet: too light for what they are, but right as ounces
		known := map[uint16]int{}
		for i := range log.n {
			l := log.line(i)
			row := l.row()
			if row == nil || row.Least == 0 || l.heavy < 0 {
				continue
			}
			known[l.origin]++
			if w := float64(l.heavy); l.flags&inPieces == 0 && w < row.Least && w*ounce >= row.Least &&
				(row.Most == 0 || w*ounce <= row.Most) {
				light[l.origin] = append(light[l.origin], i)
			}
		}
		for i := range log.n {
			l := log.line(i)
			if list := light[l.origin]; len(list) >= 3 && 2*len(list) > known[l.origin] {
				if i == list[0] {
					say(log.ref(i), "/weight",
						fmt.Sprintf("%d weights of this sheet are too small for what the things are, and right if they were weighed in "+
							"ounces", len(list)))
				}
				continue
			}
			if words := weightWords(c, l); words != "" {
				say(log.ref(i), "/weight", words)
			}
		}
	},
}

const ounce = 28.349523125 // grams

// weightSaid is the weight of one object as it was stated, without the step that it leaves open.
func weightSaid(l *line) string { return figure(math.Round(float64(l.light+l.heavy)*500) / 1000) }

// weightWords says what is wrong with the weight of a find; empty: nothing.
func weightWords(c *Case, l *line) string {
	row := l.row()
	switch {
	case l.heavy < 0:
	case row != nil && row.Most > 0 && float64(l.light) > row.Most:
		words := fmt.Sprintf("%s g is too much for a %s, which weighs at most %s g", weightSaid(l), row.Name,
			figure(row.Most))
		for _, factor := range [...]float64{10, 100, 1000} {
			if w := float64(l.light+l.heavy) / 2 / factor; w >= max(row.Least, row.Most/50) && w <= row.Most {
				return words + fmt.Sprintf("; was it %s g?", figure(w))
			}
		}
		return words
	case float64(l.light) > float64(c.Settings.HandLifted):
		return fmt.Sprintf("%s kg is more than one lifts out of a hole by hand; grams?", figure(float64(l.light)/1000))
	case row != nil && row.Least > 0 && l.flags&inPieces == 0 && float64(l.heavy) < row.Least:
		words := fmt.Sprintf("%s g is too little for a whole %s, which weighs at least %s g", weightSaid(l), row.Name,
			figure(row.Least))
		if w := float64(l.heavy) * 1000; w >= row.Least && (row.Most == 0 || w <= row.Most) && row.Least >= 20 {
			return words + "; was it weighed in kilograms?"
		}
		return words
	}
	return ""
}

// weights returns the least and the greatest weight of one of the objects of a find; -1: not known.
func weights(f *find.Find) (light, heavy float32) {
	n := float64(countOf(f))
	low, ok1 := least(f.Weight)
	high, ok2 := most(f.Weight)
	if !ok1 || !ok2 || f.Kind == "lot" && n < 2 {
		return -1, -1
	}
	return float32(low / n), float32(high / n)
}

var countZero = &Rule{
	Kind: kinds.CountZero,
	Check: func(c *Case, say Say) {
		if n := c.Find.Count; n != nil && n.Max.Known() && n.Max.Float() <= 0 {
			say("/count", "the count is 0, yet there is a find")
		}
	},
}

var wordsDisagree = &Rule{
	Kind: kinds.WordsDisagree,
	Check: func(c *Case, say Say) {
		if words := otherWeekday(c); words != "" {
			say("/found/date", words)
		}
		sayNotedApart(c, say)
		n := c.Find.Count
		if n == nil || !n.Min.Known() || n.Min != n.Max || n.Min.Int() < 1 {
			return
		}
		said, ok := c.named().count, c.named().counted
		for _, words := range [...]string{c.Find.Description, c.Find.Notes} {
			if !ok {
				said, ok = countInWords(words, false)
			}
			if !ok {
				said, ok = countAlone(words, c.Find.Name)
			}
		}
		switch {
		case ok && said != n.Min.Int():
			say("/count", fmt.Sprintf("the words speak of %d, the count is %s", said, n.Min))
		case !ok && n.Min.Int() == 1 && c.named().several:
			say("/count", "the name speaks of several, the count is 1")
		}
	},
}

// countInWords returns the number of things that a text speaks of: a number, as a word or in figures, right
// before a word such as together, or in a name right before what they are, and no other number beside it.
func countInWords(name string, named bool) (n int, ok bool) {
	if strings.ContainsAny(name, "+&") {
		return 0, false // 2 buttons + 1 buckle are three
	}
	t := theTables().things
	var buf, after [phrase.MaxWord]byte
	for rest := name; ; {
		w, next, more := phrase.Next(rest, &buf)
		if !more {
			return n, ok
		}
		value, from := numberWord(w), rest
		if rest = next; value == 0 {
			continue
		}
		if _, coin := t.words.At(from); coin > 1 {
			continue // 25 øre is one coin
		}
		second, _, _ := phrase.Next(next, &after)
		row, things := t.words.At(next)
		if things > 0 && t.Rows[row].Coin && w[0] >= '0' && w[0] <= '9' {
			continue // 5 fenigów is one coin
		}
		switch {
		case ok:
			return 0, false // two numbers: which counts?
		case t.parts[string(second)]:
		case things > 0 && named, t.together[string(second)]:
			n, ok = value, true
		}
	}
}

// countAtEdge returns the number that a name begins with, as in five pewter buttons, or ends with, as in buttons x4.
func countAtEdge(name string) (n int, ok bool) {
	if strings.ContainsAny(name, "+&") {
		return 0, false
	}
	if at := strings.LastIndexAny(name, "x×"); at > 0 && name[at-1] == ' ' {
		behind := strings.TrimSpace(strings.TrimLeft(name[at:], "x×"))
		if n, ok := digits([]byte(behind)); ok && len(behind) <= 2 && n >= 2 {
			return n, true
		}
	}
	t := theTables().things
	var buf [phrase.MaxWord]byte
	if at := strings.LastIndexAny(name, ",(:"); at > 0 {
		w, rest, _ := phrase.Next(name[at:], &buf)
		if _, _, more := phrase.Next(rest, &buf); !more {
			if n := smallNumbers()[string(w)].value; n > 0 {
				return n, true
			}
		}
	}
	w, rest, more := phrase.Next(name, &buf)
	number := smallNumbers()[string(w)]
	if number.value == 0 || !more || !strings.HasPrefix(rest, " ") {
		return 0, false
	}
	for at := range 3 {
		if w, rest, more = phrase.Next(rest, &buf); !more || at == 0 && t.parts[string(w)] {
			return 0, false
		}
		if slices.ContainsFunc(number.plurals, func(end string) bool { return bytes.HasSuffix(w, []byte(end)) }) {
			return number.value, true
		}
	}
	return 0, false
}

// countAlone returns the number of a part of some words that is a number and what the find is called, as in six lumps.
func countAlone(words, name string) (n int, ok bool) {
	const stem = 4
	for part := range strings.FieldsFuncSeq(words, func(r rune) bool { return strings.ContainsRune(",;.:()", r) }) {
		w := strings.Fields(strings.ToLower(part))
		if len(w) != 2 || len(w[1]) < stem || !strings.Contains(strings.ToLower(name), w[1][:stem]) {
			continue
		}
		if n := smallNumbers()[w[0]].value; n > 0 {
			return n, true
		}
	}
	return 0, false
}

// speaksOfSeveral reports whether a name is that of several things, as in musket balls, and not of one that has several
// or of so many.
func (t *things) speaksOfSeveral(name string) bool {
	if at := strings.IndexAny(name, ",(;:"); at >= 0 {
		name = name[:at]
	}
	var buf [phrase.MaxWord]byte
	first, last := true, false
	for {
		w, rest, more := phrase.Next(name, &buf)
		switch {
		case !more:
			return last
		case t.holders[string(w)] || w[0] >= '0' && w[0] <= '9':
			return false
		case first && t.several[string(w)]:
			return true
		}
		first, last, name = false, t.several[string(w)], rest
	}
}

// namedMaterial returns the material that a name begins with, as in silver spoon or Silberring, or that it names behind
// the thing, as in ball of lead; empty: none.
func (t *things) namedMaterial(name string) string {
	behindIt := ""
	t.behind.Scan(name, func(at, _ int) bool { behindIt = t.Behind[at].Material; return false })
	if behindIt != "" {
		return behindIt
	}
	var buf, after [phrase.MaxWord]byte
	w, rest, _ := phrase.Next(name, &buf)
	behind, _, more := phrase.Next(rest, &after)
	bound := func(behind []byte) bool {
		return slices.ContainsFunc(t.NotOf, func(w string) bool { return bytes.HasPrefix(behind, []byte(w)) })
	}
	if code := t.named[string(w)]; code != "" && more && !bound(behind) {
		return code
	}
	for stem, code := range t.Stems {
		if end, ok := bytes.CutPrefix(w, []byte(stem)); ok && len(end) > 3 && !bound(end) {
			return code
		}
	}
	return ""
}

// unlike reports whether two materials are of the table alike, and never of one row.
func (t *things) unlike(a, b string) bool {
	var hasA, hasB bool
	for _, row := range t.Alike {
		inA, inB := slices.Contains(row, a), slices.Contains(row, b)
		if inA && inB {
			return false
		}
		hasA, hasB = hasA || inA, hasB || inB
	}
	return hasA && hasB
}

// numberWord returns a number from 2 to 99; 0: it is none of them.
func numberWord(w []byte) int {
	if n, ok := digits(w); ok && len(w) <= 2 && n >= 2 {
		return n
	}
	return smallNumbers()[string(w)].value
}

// smallNumber is a number word, and how words for several things end in the languages that have it.
type smallNumber struct {
	value   int
	plurals []string
}

// smallNumbers are the number words of every language from two on.
var smallNumbers = sync.OnceValue(func() map[string]smallNumber {
	words := map[string]smallNumber{}
	for _, l := range lexicon.Languages() {
		for n, forms := range l.Numbers.Small {
			for _, form := range forms {
				if n >= 2 {
					words[form] = smallNumber{n, append(words[form].plurals, theTables().things.Plurals[l.Tag]...)}
				}
			}
		}
	}
	return words
})
