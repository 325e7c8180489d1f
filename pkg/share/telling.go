package share

import (
	"math/bits"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

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

// at is a word of a phrase, empty beyond its end.
func (p phrase) at(i int) string {
	if i >= len(p) {
		return ""
	}
	return p[i]
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
	if p.speaks("nobody") && p.speaks("homeDays") {
		return true // nobody home on mondays
	}
	kept := false
	for i := range p {
		// hangs in the hall, in my desk: no land and no thing of which the text speaks
		kept = kept || p.is(i, "keptDo")
		if last := p[len(p)-1]; p.is(i, "within") && i+1 < len(p) && len(p)-i < 6 && (kept || p.is(i+1, "mine")) &&
			!plainThing(last) && !landscapeWords()[last] && !p[i:].speaks("landscape") {
			return true
		}
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
	if len(p) > 2 && p.is(0, "leading") && p.speaks("landParts") && (p.speaks("landLong") || p.speaks("landLike")) &&
		p.all("landParts", "landLong", "landLike", "leading", "articles") {
		return true // under the high line
	}
	for i := range p {
		part, edge := p.is(i, "landParts"), p.is(i, "landEdges")
		switch {
		case i > 0 && plainWords().lists["rows"][p[i]] && (ordinals()[p[i-1]] || p.is(i-1, "ranks")) &&
			(!plainWords().lists["of"][p.at(i+1)] || plainWords().lists["sides"][p.at(i+2)]):
			return true // the second row on the left
		case part && (p.beside(i, 2, "landLike") || p.beside(i, 2, "landLong") && p.speaks("landOf")),
			edge && p.beside(i, 1, "landLike"),
			i > 0 && p.is(i, "paces") && counted(p[i-1]) && (p.is(i+1, "away") || i+2 == len(p) && p[i+1] == "in"):
			return true
		}
	}
	return p.speaks("landLong") && (p.speaks("landEnds") || p.is(0, "landWhere") && p.speaks("landEdges")) &&
		p.all("landLong", "landEdges", "landEnds", "landWhere", "articles")
}

// paced counts distances from sides: forty from the top, 12 mm from the left edge. Two of them are a plan.
func (p phrase) paced() (n int) {
	sides := plainWords().lists["sides"]
	for i := range p {
		at := i + 1
		if plainWords().lists["measures"][p.at(at)] {
			at++
		}
		if !counted(p[i]) && (p[i][0] < '0' || p[i][0] > '9') || !p.is(at, "away") {
			continue
		}
		paces := i + 3 - at // one of a measure, two without a unit
		for at++; articles()[p.at(at)]; at++ {
		}
		if sides[p.at(at)] {
			n += paces
		}
	}
	return n
}

// kin reports whether a phrase speaks of somebody who is named by what he is to the finder or by his trade: as him who
// acts or says so, as the finder's own, by his name, or at all where no coin shows such people.
func (p phrase) kin() bool {
	for i := range p {
		if p.is(i, "kin") && (!p.is(i, "depicted") || p[max(0, i-2):i].speaks("whose") || p.acting(i+1) ||
			p[:i].all("articles") && i+1 < len(p) && !p.knows(i+1)) ||
			p.is(i, "shownTo") && p[wordLists()["shownTo"].at(p, i):].somebody(false, nil) ||
			p.is(i, "accords") && p[i+1:min(len(p), i+4)].somebody(false, nil) {
			return true
		}
	}
	return false
}

// acting reports whether a phrase has from a place on what only people do.
func (p phrase) acting(from int) bool {
	for i := from; i < len(p); i++ {
		if p.is(i, "sayDo") || p.does(i) || p.is(i, "digDo") && i == from {
			return true
		}
	}
	return false
}

// does reports whether a word of a phrase says what people do to a thing, or what they have.
func (p phrase) does(i int) bool {
	return p.is(i, "mayDo") || p.is(i, "digDo") && p.beside(i, 3, "itWords") ||
		p.is(i, "hasDo") && (p.is(i+1, "itWords") || i > 1 && p[i] == "a" && p[i-1] == "l") || // hat ihn, l'a
		p.is(i, "hasDo") && (p[i+1:].speaks("digDone") || p[i+1:min(len(p), i+5)].speaks("hasWhat"))
}

// knows reports whether a word of a phrase is of one of the languages, or says how many.
func (p phrase) knows(i int) bool {
	return smallWords()[p[i]] || plainThing(p[i]) || known(p[i]) || strings.ContainsFunc(p[i], unicode.IsDigit)
}

// actor reports whether somebody acts in a phrase: the butcher wants it, T. W. dug this up. What only people do needs a
// subject of the lists; what things do too, one that no language has as a thing, or that is of the names, if these are
// given.
func (p phrase) actor(names map[string]bool) bool {
	if len(p) > 2 && p.is(0, "subjects") && !p.knows(1) &&
		!p[1:].speaks("sayers") && !p.is(2, "passive") && !p.is(2, "statives") && len(strings.TrimLeft(p[1], "ivxlcm")) > 1 {
		return true // the gamekeeper lets me in: nobody knows what a gamekeeper is
	}
	for i := range p {
		if says := p.is(i, "sayDo"); (says || p.does(i)) && p[:i].somebody(!says && names != nil, names) {
			return true
		}
	}
	return false
}

// somebody reports whether the words before what is done name a person: none of them says that it is a thing, where
// things may do it, or is one of those that speak, or of anybody.
func (p phrase) somebody(things bool, names map[string]bool) bool {
	some, mine := false, p.speaks("mine")
	for i, w := range p {
		switch {
		case plainWords().lists["anybody"][w], p.is(i, "sayers"), p.is(i, "passive"):
			return false
		case articles()[w], smallWords()[w], p.is(i, "itWords"), p.is(i, "whose"):
			continue
		}
		if p.is(i, "kin") {
			return true
		}
		some = some || len(w) == 1 || !things || mine || !plainThing(w) || names[w]
	}
	return some
}

// phoneNumber is one of a telephone, in groups.
var phoneNumber = later(`(?:\+|\b0)(?:[ /().-]?\d){8,}|\b0\d{3,4}[ /-]\d{2,}|\b\d{2}(?: \d\d){3}\b|\b\d{8}\b`)

// reached is how somebody is reached by other ways: a name on a page, an address without its signs, or the car that
// he drives.
var reached = laterOf(`(?i)(?:^|[\s(])@\pL[\pL\d_.]{2,}|(?:^|\s)\pL+_\pL[\pL\d_]*|` +
	`(?:^|\s){mails} \pL+ (?:com|org|net|info|eu|uk|de|fr|nl|dk|pl)[ .]*$|` +
	`(?:^|[^\pL]){ending} \pL+ \d[\d ]{2,}|` +
	`(?:^|[^\pL]){vehicles}\.?:? (?-i:(?:\p{Lu}{1,3}[ -]?){1,2}\d+[\p{Lu}\d -]*|\d{1,3}-\p{Lu}[\p{Lu}\d-]*)[ .]*$`)

// initialName is a name behind an initial: T. Holler.
var initialName = later(`(?:^|[^\pL])\p{Lu}\. ?(\p{Lu}\p{Ll}{2,})`)

// calls reports whether a clause has a number of a telephone, or says otherwise how somebody is reached.
func calls(text string) bool {
	return phoneNumber().MatchString(text) || reached().MatchString(text) || slices.ContainsFunc(forms, func(f form) bool {
		return f.kind == "plate" && f.like().MatchString(text)
	})
}

// A person is named by a title, by what was done by him, or at the beginning of a clause by what he says or does.
var titledName = laterOf(`(?i:\b{done}(?: \pL+){0,2} {by}) \p{Lu}\pL|(?i:\b{titles})\.? \p{Lu}|\bM\. \p{Lu}\p{Ll}`)

// unlisted reports whether a clause names a person who is in no list: nobody knows whether he has consented.
func (s *sieve) unlisted(text string) bool {
	words := phraseOf(text)
	if titledName().MatchString(text) || s.stranger(text) || words.kin() || words.actor(s.own) || s.barePerson(text) {
		return true
	}
	return s.named(text, words)
}

// named reports whether a clause begins with a capital and says what who is named so did.
func (s *sieve) named(text string, words phrase) bool {
	first, _ := utf8.DecodeRuneInString(strings.TrimLeft(text, " \"'"))
	return len(words) > 1 && unicode.IsUpper(first) && !articles()[words[0]] && !smallWords()[words[0]] && words.actor(nil)
}

// spelt is an address whose signs are said as words, and lowerWord a word without capitals.
var (
	spelt = laterOf(`(?i)(?:^|[^\pL]){mails} \pL{3,} (?:dot|point|punkt|` +
		`punt|prik|kropka) (?:\pL{3,}|\pL{2}[ .]*$)`)
	lowerWord = later(`(?:^|[^\pL])\p{Ll}{4,}(?:[^\pL]|$)`)
)

// strangerName is a name of two words, or of one behind a word that leads to people, at the end of its clause; was, had
// and the like may follow it.
var strangerName = laterOf(`(^|[^\pL])((?i:{withPeople})(?: to| an| \x{e0}| aan| till?)? )?(\p{Lu}\p{Ll}{2,})(?: ` +
	`(\p{Lu}\p{Ll}{2,}))?( (?i:{being})(?:[^\pL]|$)|[ ,.;!?)]*$)?`)

// stranger reports whether a clause names somebody of whom the source knows nothing: two words that no list has, with a
// capital each, behind a word that leads to people or before one that says what somebody was or had; or one such word
// behind "with", with nothing behind it.
func (s *sieve) stranger(text string) bool {
	unknown := func(w string) bool {
		key := keyOf(w)
		return !s.own[key] && !known(w) && !plainWords().lists["capitals"][key] && !plainWords().lists["rulers"][key] &&
			!plainWord(key)
	}
	for _, m := range initialName().FindAllStringSubmatch(text, -1) {
		if key := keyOf(m[1]); !s.own[key] && !plainWords().lists["capitals"][key] && !plainWords().lists["rulers"][key] {
			return true
		}
	}
	german := plainWords().tongues["de"]
	for _, m := range strangerName().FindAllStringSubmatch(text, -1) {
		led, two := m[2] != "", m[4] != ""
		if two && led && (unknown(m[3]) || unknown(m[4])) ||
			two && strings.TrimSpace(m[5]) != "" && unknown(m[3]) && unknown(m[4]) ||
			!two && led && (m[5] != "" || strings.HasSuffix(text, m[0])) && unknown(m[3]) &&
				!german.has(keyOf(m[3])) && !german.part(keyOf(m[3])) { // nouns have capitals there: mit Blattmuster
			return true
		}
	}
	return false
}

// plainWord reports whether one of the languages has a word.
func plainWord(key string) bool {
	for _, t := range plainWords().tongues {
		if t.words[key] { // not bent: Dora is no "dor" with an ending
			return true
		}
	}
	return false
}

// plainThing reports whether one of the languages has a word, bent or not.
func plainThing(key string) bool {
	for _, t := range plainWords().tongues {
		if t.has(key) || t.part(key) {
			return true
		}
	}
	return false
}

// barePerson reports whether a clause is a name behind a word that leads to people and no more: for Carter, bei Ernst.
func (s *sieve) barePerson(text string) bool {
	m := nameAlone().FindStringSubmatch(text)
	if m == nil {
		return false
	}
	key, p := keyOf(m[2]), plainWords()
	if p.lists["callers"][strings.ToLower(m[1])] { // German nouns have capitals
		return p.lists["called"][key] || p.lists["surnames"][key] || !p.tongues["de"].has(key) && !known(m[2])
	}
	return !p.lists["capitals"][key] && m[2] != strings.ToUpper(m[2])
}

var nameAlone = laterOf(`^[ "']*(?i:({callers}|{withNames})) (\p{Lu}\pL+)[ .!?]*$`)
