package share

import (
	"math/bits"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/findslip/findslip/schema"
)

// tellingWords are the lists of schema/data/telling.json; where they cannot be read they are empty, and
// their test fails.
var tellingWords = sync.OnceValue(func() map[string][]string {
	t, err := schema.Table[map[string]any]("telling")
	if err != nil {
		return nil
	}
	out := map[string][]string{}
	for list, words := range t {
		items, _ := words.([]any)
		for _, w := range items {
			if text, is := w.(string); is {
				out[list] = append(out[list], text)
			}
		}
	}
	return out
})

// wordSet is one of the lists as a set of keys.
func wordSet(list string) map[string]bool {
	out := map[string]bool{}
	for _, text := range tellingWords()[list] {
		addWords(out, text)
	}
	return out
}

// wholeNotes are remarks that ask by themselves, folded.
var wholeNotes = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for _, text := range tellingWords()["wholeNotes"] {
		out[strings.TrimSpace(spaced(text))] = true
	}
	return out
})

// A phrase is a text word by word, folded, as it is held against the lists.
type phrase []string

func phraseOf(text string) (p phrase) {
	if strings.IndexByte(text, 0xe2) >= 0 || strings.IndexByte(text, 0xf0) >= 0 {
		text = signs.Replace(text)
	}
	for w := range strings.FieldsFuncSeq(text, notInWord) {
		if key := keyOf(w); key != "" {
			p = append(p, key)
		}
	}
	return p
}

// signs are those by which people say yes, no, secret and dead.
var signs = strings.NewReplacer("✓", " yes ", "✔", " yes ", "✅", " yes ", "☑", " yes ", "👍", " yes ",
	"✗", " no ", "✘", " no ", "❌", " no ", "✖", " no ", "⛔", " no ", "🚫", " no ", "👎", " no ",
	"🔒", " secret ", "🔐", " secret ", "🤫", " hush hush ", "🤐", " hush hush ", "☠", " skull ", "💀", " skull ", "⚰",
	" skull ")

func notInWord(r rune) bool { return strings.ContainsRune(" \t\n,;:/()[]-–?!.\"'’&+", r) }

// How a word of a list is met: the whole word, or its plural with s; any word that begins or ends with it, or has it
// within; the whole text.
const (
	wholeWord = iota
	begins
	ends
	inside
	wholeText
	sorts
)

// A pattern is one entry of a list: words that follow one another, with up to gap others before each.
type pattern []struct {
	text      string
	sort, gap int
}

func patternOf(entry string) (out pattern) {
	gap := 0
	for w := range strings.FieldsFuncSeq(entry, func(r rune) bool { return r != '.' && r != '*' && notInWord(r) }) {
		text, sort := keyOf(w), wholeWord
		front, back := strings.HasPrefix(w, "*"), strings.HasSuffix(w, "*")
		switch {
		case w == "..":
			gap = 3
			continue
		case strings.HasPrefix(w, "="):
			sort = wholeText
		case front && back:
			sort = inside
		case front:
			sort = ends
		case back:
			sort = begins
		}
		out = append(out, struct {
			text      string
			sort, gap int
		}{text, sort, gap})
		gap = 0
	}
	return out
}

// end is where a pattern whose first word was met ends in a phrase, 0 where it is not in it.
func (t pattern) end(p phrase, at int) int {
	for _, w := range t[1:] {
		met := 0
		for i := at; i < len(p) && i <= at+w.gap && met == 0; i++ {
			switch {
			case p[i] == w.text, len(w.text) > 1 && p[i] == w.text+"s", w.sort == begins && strings.HasPrefix(p[i], w.text),
				w.sort == ends && strings.HasSuffix(p[i], w.text), w.sort == inside && strings.Contains(p[i], w.text):
				met = i + 1
			}
		}
		if at = met; met == 0 {
			return 0
		}
	}
	return at
}

// A wordList has its patterns by their first word, and the lengths of these, one bit each.
type wordList struct {
	by      [sorts]map[string][]pattern
	lengths [sorts]uint64
}

func wordListOf(entries []string) *wordList {
	l := &wordList{}
	for _, entry := range entries {
		t := patternOf(entry)
		if len(t) == 0 || len(t[0].text) > 63 {
			continue
		}
		first := t[0]
		if l.by[first.sort] == nil {
			l.by[first.sort] = map[string][]pattern{}
		}
		l.by[first.sort][first.text] = append(l.by[first.sort][first.text], t)
		l.lengths[first.sort] |= 1 << len(first.text)
	}
	return l
}

// at is where the longest entry that begins with a word of a phrase ends, 0 for none.
func (l *wordList) at(p phrase, i int) (end int) {
	w := p[i]
	try := func(sort int, key string) {
		for _, t := range l.by[sort][key] {
			end = max(end, t.end(p, i+1))
		}
	}
	try(wholeWord, w)
	if one, plural := strings.CutSuffix(w, "s"); plural {
		try(wholeWord, one)
	}
	if len(p) == 1 {
		try(wholeText, w)
	}
	for sort := begins; sort <= inside; sort++ {
		for left := l.lengths[sort]; left != 0; left &= left - 1 {
			n := bits.TrailingZeros64(left)
			switch {
			case n > len(w):
				left = 0
				continue
			case sort == begins:
				try(sort, w[:n])
			case sort == ends:
				try(sort, w[len(w)-n:])
			}
			for from := 0; sort == inside && from+n <= len(w); from++ {
				try(sort, w[from:from+n])
			}
		}
	}
	return end
}

var wordLists = sync.OnceValue(func() map[string]*wordList {
	out := map[string]*wordList{}
	for list, entries := range tellingWords() {
		out[list] = wordListOf(entries)
	}
	return out
})

// speaks reports whether a phrase has an entry of a list that is not within what the list of its look-alikes has.
func (p phrase) speaks(list string) bool {
	l, not := wordLists()[list], wordLists()["not"+strings.ToUpper(list[:1])+list[1:]]
	if l == nil {
		return false
	}
	clear := 0 // up to here the words only look like it
	for i := range p {
		if not != nil {
			clear = max(clear, not.at(p, i))
		}
		if end := l.at(p, i); end > clear {
			return true
		}
	}
	return false
}

// all reports whether every word of a phrase stands in one of some lists.
func (p phrase) all(lists ...string) bool {
	for i := range p {
		met := false
		for _, list := range lists {
			met = met || wordLists()[list].at(p, i) > 0
		}
		if !met {
			return false
		}
	}
	return true
}

// speaksAny reports whether one of some phrases speaks of a list.
func speaksAny(list string, texts ...phrase) bool {
	for _, p := range texts {
		if p.speaks(list) {
			return true
		}
	}
	return false
}

// spaced is a text folded word by word, with a blank around each.
func spaced(text string) string { return " " + strings.Join(phraseOf(text), " ") + " " }

// is reports whether a word of a phrase stands in a list.
func (p phrase) is(i int, list string) bool {
	return i >= 0 && i < len(p) && wordLists()[list].at(p, i) > 0
}

// beside reports whether a word within so many of a place stands in a list.
func (p phrase) beside(i, most int, list string) bool {
	for j := i - most; j <= i+most; j++ {
		if j != i && p.is(j, list) {
			return true
		}
	}
	return false
}

// stored reports whether a phrase says where a thing is kept: the top drawer, the blue box, box 14, in the iron chest,
// behind the clock.
func (p phrase) stored() bool {
	for i := range p {
		box, house := p.is(i, "containers"), p.is(i, "household")
		if !box && !house {
			continue
		}
		for j := i - 1; j >= max(0, i-4); j-- { // in the blue tin
			if p.is(j, "within") && (house && j >= i-3 || articles()[p[j+1]] || p.is(j+1, "tints") || p[j] == "im" ||
				p[j] == "ins" || j == i-1 && (p[j] == "w" || p[j] == "we" || p[j] == "i")) {
				return true
			}
		}
		number := i+1 < len(p) && (p[i+1][0] >= '0' && p[i+1][0] <= '9' && len(p[i+1]) <= 3 ||
			len(p[i+1]) == 1 && strings.Contains("bcdfghjklmnpqrstuvwxz", p[i+1])) &&
			!(i+2 < len(p) && plainWords().lists["measures"][p[i+2]])
		if box && (number || p.beside(i, 1, "tints") || p.beside(i, 2, "ranks")) {
			return true
		}
	}
	return false
}

// priced reports whether a phrase says what a thing is worth without a coin: three figures, 250 on a good day.
func (p phrase) priced() bool {
	figures, all, hundreds := false, true, len(p) > 1 && p.speaks("hundreds")
	for i := range p {
		hundreds = hundreds && (counted(p[i]) || p[i:i+1].all("hundreds", "hundredsWith", "figuredWith"))
		figures = figures || i > 0 && p.is(i, "figured")
		all = all && (p.is(i, "figured") || p.is(i, "figuredWith"))
		n, err := strconv.Atoi(p[i])
		if err == nil && n >= 20 && (n < 1000 || n > 2100) && p.beside(i, 3, "priced") && len(p) < 8 &&
			!(i+1 < len(p) && plainWords().lists["measures"][p[i+1]]) {
			return true
		}
		if figures && i > 1 && p.is(i, "figured") && p.is(i-1, "figuredWith") && p.is(i-2, "figuredWith") {
			return true // would make three figures
		}
	}
	return figures && all || hundreds // a couple of hundred
}

// ofLand reports whether a phrase speaks of a part that is of land: the wet corner, the middle of the long strip, the
// low end; of paces away from something; of the hole that something came from; or of where the other one was.
func (p phrase) ofLand() bool {
	if p.speaks("elsewhere") ||
		len(p) > 1 && p.is(0, "outOf") && p.is(len(p)-1, "holes") && p[1:].all("holes", "holesWith") {
		return true
	}
	for i := range p {
		part, edge := p.is(i, "landParts"), p.is(i, "landEdges")
		switch {
		case part && (p.beside(i, 2, "landLike") || p.beside(i, 2, "landLong") && p.speaks("landOf")),
			edge && p.beside(i, 1, "landLike"),
			i > 0 && p.is(i, "paces") && counted(p[i-1]) && (p.is(i+1, "away") || i+2 == len(p) && p[i+1] == "in"):
			return true
		}
	}
	return p.speaks("landLong") && (p.speaks("landEnds") || p.is(0, "landWhere") && p.speaks("landEdges")) &&
		p.all("landLong", "landEdges", "landEnds", "landWhere", "articles")
}

// kin reports whether a phrase says what somebody did who is named by what he is to the finder: a mate has another.
func (p phrase) kin() bool {
	at := slices.IndexFunc(p, func(w string) bool { return wordLists()["kin"].at(phrase{w}, 0) > 0 })
	return at >= 0 && p[at+1:].speaks("kinDo")
}
