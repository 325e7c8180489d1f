package heading

import (
	"iter"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-json-experiment/json"
	"golang.org/x/text/unicode/norm"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/quantity"
	"github.com/findslip/findslip/pkg/text"
)

// A heading is read by a small grammar: words have meanings (a subject such as depth, a quality such
// as guess, a unit), and a rule says which meanings together are which field, in any order. A word
// that no rule allows for keeps a heading from being that field, so that the depth of ploughing is no
// depth of a find.

// languages are those of the words, in the order in which they are tried; the first is of all languages.
var languages = sync.OnceValue(func() []string { return append([]string{"x"}, lexicon.Tags()...) })

// grammarFile is the grammar as it stands in the file.
type grammarFile struct {
	Rules []struct {
		Field string   `json:"field"`
		Need  []string `json:"need"`
		May   []string `json:"may"`
		Basis string   `json:"basis"`
		Show  bool     `json:"show"` // only where the cells show it
	} `json:"rules"`
	Words map[string]map[string][]string `json:"words"` // of languages that have no lexicon yet
}

// fill adds the words of the lexica.
func (f *grammarFile) fill() {
	for _, l := range lexicon.Languages() {
		var words map[string][]string
		if json.Unmarshal(l.Headings, &words) != nil {
			continue // a test of the lexica would fail
		}
		tag := l.Tag
		if tag == "mul" {
			tag = languages()[0]
		}
		for name, forms := range words {
			if f.Words == nil {
				f.Words = map[string]map[string][]string{}
			}
			if f.Words[name] == nil {
				f.Words[name] = map[string][]string{}
			}
			f.Words[name][tag] = append(f.Words[name][tag], forms...)
		}
	}
}

// set is a set of meanings.
type set [2]uint64

func (s *set) add(m uint8)        { s[m>>6] |= 1 << (m & 63) }
func (s set) has(m uint8) bool    { return s[m>>6]&(1<<(m&63)) != 0 }
func (s set) holds(t set) bool    { return t[0]&^s[0] == 0 && t[1]&^s[1] == 0 }
func (s set) with(t set) set      { return set{s[0] | t[0], s[1] | t[1]} }
func (s set) without(m uint8) set { s[m>>6] &^= 1 << (m & 63); return s }
func (s set) empty() bool         { return s == set{} }

type rule struct {
	field, basis string
	need, may    set
	needs        int
	show         bool
}

// grammar is made ready for reading.
type grammar struct {
	rules   []rule
	words   []map[string][]uint8 // by language: the meanings of a word or phrase
	rows    []rowWords
	spoken  map[string]string // kind and word of rows that clash with another kind: its languages
	names   []string          // of meanings
	filler  uint8
	longest int // words in a phrase
}

// rowWords are the words of one kind that stand in the rows below headings. The kinds are few, and every text of a log
// is asked for some of them: a look along the list is quicker than one into a map.
type rowWords struct {
	kind   string
	words  map[string]bool
	firsts [128]uint32 // by the first letter of a word, the second as a bit
}

// row returns the words of a kind, nil for none.
func (g *grammar) row(kind string) *rowWords {
	for i := range g.rows {
		if g.rows[i].kind == kind {
			return &g.rows[i]
		}
	}
	return nil
}

func newGrammar(file grammarFile) *grammar {
	file.fill()
	g := &grammar{longest: 1, spoken: map[string]string{}}
	number := map[string]uint8{}
	meaning := func(name string) uint8 {
		m, ok := number[name]
		if !ok {
			m = uint8(len(g.names))
			number[name] = m
			g.names = append(g.names, name)
		}
		return m
	}
	g.filler = meaning("filler")
	for _, name := range slices.Sorted(maps.Keys(file.Words)) {
		if !strings.HasPrefix(name, "row:") {
			meaning(name)
		}
	}
	for range languages() {
		g.words = append(g.words, map[string][]uint8{})
	}
	for _, plain := range []bool{true, false} { // what is written without accents goes behind what is
		for name, byLanguage := range file.Words {
			if kind, ok := strings.CutPrefix(name, "row:"); ok {
				if plain {
					g.addRow(kind, byLanguage)
				}
				continue
			}
			for i, language := range languages() {
				for _, form := range byLanguage[language] {
					g.add(i, form, meaning(name), plain)
				}
			}
		}
	}
	for _, r := range file.Rules {
		out := rule{field: r.Field, basis: r.Basis, needs: len(r.Need), show: r.Show}
		for _, name := range r.Need {
			out.need.add(meaning(name))
		}
		for _, name := range r.May {
			out.may.add(meaning(name))
		}
		out.may = out.may.with(out.need)
		g.rules = append(g.rules, out)
	}
	return g
}

// addRow takes words that stand not in headings, but in the rows below them.
func (g *grammar) addRow(kind string, byLanguage map[string][]string) {
	row := g.row(kind)
	if row == nil {
		g.rows = append(g.rows, rowWords{kind: kind, words: map[string]bool{}})
		row = &g.rows[len(g.rows)-1]
	}
	for language, forms := range byLanguage {
		for _, form := range forms {
			words := strings.Join(wordsOf(form), " ")
			if kind == "ditto" || kind == "absent" {
				g.spoken[kind+":"+words] += language + " "
			}
			if row.words[words] = true; words != "" && words[0] < utf8.RuneSelf {
				row.firsts[words[0]] |= secondOf(words[1:])
			}
		}
	}
}

// RowWord reports whether a text is a word of a row: ditto, total, nothing, trial, gap, above, land or generic.
func RowWord(kind, text string) bool {
	return MayBegin(kind, text) && RowWords(kind)[strings.Join(wordsOf(text), " ")]
}

// secondOf returns the bit of the letter that a text begins with; of a sign or nothing the lowest, and of a
// capital both, for it may begin a word (sO); all bits where it is no ASCII, for it may be folded to anything.
func secondOf(text string) uint32 {
	switch {
	case text == "":
		return 1
	case text[0] >= utf8.RuneSelf:
		return math.MaxUint32
	case text[0] >= 'A' && text[0] <= 'Z':
		return 2<<(text[0]-'A') | 1
	case text[0] >= 'a' && text[0] <= 'z':
		return 2 << (text[0] - 'a')
	}
	return 1
}

// Clashes reports whether a ditto of one language is in another a word for nothing, such as s.o., which is siehe
// oben or sans objet; and what it is below these headings: ditto, absent, or empty where their language does not tell.
func Clashes(text string, headings iter.Seq[string]) (is string, clashes bool) {
	if !MayBegin("absent", text) {
		return "", false
	}
	words := strings.Join(wordsOf(text), " ")
	g := known().grammar
	ditto, absent := g.spoken["ditto:"+words], g.spoken["absent:"+words]
	if ditto == "" || absent == "" {
		return "", false
	}
	votes := make([]int, len(languages()))
	for h := range headings {
		phrase := strings.Join(wordsOf(h), " ")
		for i := range votes {
			if len(g.words[i][phrase]) > 0 {
				votes[i]++
			}
		}
	}
	above, none, others := 0, 0, 0
	for i, language := range languages()[1:] {
		switch n := votes[i+1]; {
		case strings.Contains(ditto, language):
			above = max(above, n)
		case strings.Contains(absent, language):
			none = max(none, n)
		default:
			others = max(others, n)
		}
	}
	switch {
	case above > none && above >= others:
		return "ditto", true
	case none > above && none >= others:
		return "absent", true
	}
	return "", true
}

// MayBegin reports whether a text may begin with a word of a row, by its first two letters: a quick look, for most
// texts do not.
func MayBegin(kind, text string) bool {
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c >= 'A' && c <= 'Z', c >= 'a' && c <= 'z':
			row := known().grammar.row(kind)
			return row != nil && row.firsts[c|0x20]&secondOf(text[i+1:]) != 0
		case c >= utf8.RuneSelf, c-'0' < 10:
			return c >= utf8.RuneSelf
		}
	}
	return false
}

// RowWords returns those words, folded: in lower case, with one blank between them.
func RowWords(kind string) map[string]bool {
	if row := known().grammar.row(kind); row != nil {
		return row.words
	}
	return nil
}

// Words cuts a text into words in lower case, as headings are cut.
func Words(text string) []string { return wordsOf(text) }

func (g *grammar) add(language int, form string, m uint8, plain bool) {
	words := wordsOf(form)
	if len(words) == 0 {
		return
	}
	g.longest = max(g.longest, len(words))
	key := strings.Join(words, " ")
	if plain {
		if !slices.Contains(g.words[language][key], m) {
			g.words[language][key] = append(g.words[language][key], m)
		}
		return
	}
	for _, key := range [...]string{text.Typed(key), text.Bare(key)} {
		if _, taken := g.words[language][key]; !taken {
			g.words[language][key] = []uint8{m}
		}
	}
}

// wordsOf cuts a heading into words, in lower case. Signs that mean something are words of their own.
func wordsOf(s string) []string {
	s = norm.NFKC.String(s)
	var out []string
	var b strings.Builder
	end := func() {
		if b.Len() > 0 {
			out = append(out, b.String())
			b.Reset()
		}
	}
	last := rune(0)
	for _, r := range s {
		switch {
		case unicode.IsLetter(r) || unicode.Is(unicode.Mn, r):
			if unicode.IsUpper(r) && unicode.IsLower(last) || unicode.IsDigit(last) {
				end() // DateFound
			}
			b.WriteRune(unicode.ToLower(r))
		case unicode.IsDigit(r):
			if unicode.IsLetter(last) {
				end()
			}
			b.WriteRune(r)
		case r == '°' && last == 'n' || r == '°' && last == 'N':
			b.WriteRune(r)
		case strings.ContainsRune("#%°£€$\"″⌀=№", r):
			end()
			if r == '″' {
				r = '"'
			}
			out = append(out, string(r))
		default:
			end()
		}
		last = r
	}
	end()
	return out
}

// reading is one way to understand a heading.
type reading struct {
	field, basis string
	language     int // of its words, 0 for those of all languages
	unit         string
	order        string
	needs        int
	phrases      int
	show         bool // only where the cells show it
}

const (
	longestHeadingWords = 16
	mostReadings        = 4000 // ways of giving words a meaning that are tried
)

// read returns the ways in which a heading can be understood, the best first, and whether all its
// words are known in some language. Words in brackets that nobody knows are passed over.
func (g *grammar) read(heading string) (out []reading, known bool) {
	outer, inner := cutBrackets(heading)
	words := wordsOf(outer)
	beside := wordsOf(inner)
	if _, unit := quantity.UnitOfHeading(heading); len(words) == 0 || // T (cm) is T cm
		unit && len(words) == 1 && len(words[0]) == 1 && len(beside) == 1 {
		words, beside = append(words, beside...), nil
	}
	if len(words) == 0 || len(words)+len(beside) > longestHeadingWords {
		return nil, false
	}
	for language := range languages() {
		if language == 0 {
			continue
		}
		a := &attempt{g: g, languages: [3]int{language, 0, 1}, n: 2, words: words, left: mostReadings}
		a.inBrackets(beside)
		a.walk(0, set{}, 0, false)
		known = known || a.known
		if a.found {
			out = append(out, a.best...)
		}
	}
	if len(out) == 0 { // a word of English among those of another language
		for language := 2; language < len(languages()); language++ {
			a := &attempt{g: g, languages: [3]int{language, 0, 1}, n: 3, words: words, left: mostReadings}
			a.inBrackets(beside)
			a.walk(0, set{}, 0, false)
			known = known || a.known
			out = append(out, a.best...)
		}
	}
	return out, known
}

func cutBrackets(s string) (outer, inner string) {
	var o, i strings.Builder
	depth := 0
	for _, r := range s {
		switch {
		case r == '(' || r == '[' || r == '{':
			depth++
			o.WriteByte(' ')
			i.WriteByte(' ')
		case (r == ')' || r == ']' || r == '}') && depth > 0:
			depth--
		case depth > 0:
			i.WriteRune(r)
		default:
			o.WriteRune(r)
		}
	}
	return o.String(), i.String()
}

// attempt reads the words of a heading in one language.
type attempt struct {
	g         *grammar
	languages [3]int
	n         int
	words     []string
	beside    set
	left      int
	known     bool
	found     bool
	best      []reading
}

// inBrackets takes what is known of the words in brackets.
func (a *attempt) inBrackets(words []string) {
	for i := 0; i < len(words); {
		n := 1
		for size := min(a.g.longest, len(words)-i); size > 0; size-- {
			if meanings, _ := a.meanings(strings.Join(words[i:i+size], " ")); len(meanings) > 0 {
				a.beside.add(meanings[0])
				n = size
				break
			}
		}
		i += n
	}
	a.beside = a.beside.without(a.g.filler)
}

// meanings looks a phrase up; the second is whether the language itself has it.
func (a *attempt) meanings(phrase string) (out []uint8, own bool) {
	for _, language := range a.languages[:a.n] {
		if found := a.g.words[language][phrase]; len(found) > 0 {
			if len(out) == 0 && language != 0 {
				own = true
			}
			out = append(out, found...)
		}
	}
	return out, own
}

// walk gives each word, from at on, a meaning.
func (a *attempt) walk(at int, s set, phrases int, own bool) {
	if a.left--; a.left < 0 {
		return
	}
	if at == len(a.words) {
		a.known = true
		a.judge(s, phrases, own)
		return
	}
	for size := min(a.g.longest, len(a.words)-at); size > 0; size-- {
		meanings, of := a.meanings(strings.Join(a.words[at:at+size], " "))
		if len(meanings) == 0 && size == 1 {
			for _, parts := range a.compound(a.words[at]) {
				a.walk(at+1, s.with(parts), phrases+1, true)
			}
		}
		for _, m := range meanings {
			next := s
			next.add(m)
			a.walk(at+size, next, phrases+1, own || of)
		}
	}
}

// compound cuts a word in two that the language knows, with a letter that joins them.
func (a *attempt) compound(word string) (out []set) {
	if l := lexicon.ByTag(languages()[a.languages[0]]); l == nil || !l.Joins || len(word) < 6 {
		return nil
	}
	table := a.g.words[a.languages[0]]
	for cut := 3; cut <= len(word)-2; cut++ {
		tail := table[word[cut:]]
		if len(tail) == 0 {
			tail = a.g.words[0][word[cut:]]
		}
		if len(tail) == 0 || len(word)-cut < 3 && word[cut:] != "nr" {
			continue
		}
		for _, joint := range []string{"", "s", "e", "n", "en", "es", "er"} {
			head, ok := strings.CutSuffix(word[:cut], joint)
			if !ok || len(head) < 3 {
				continue
			}
			for _, h := range table[head] {
				for _, t := range tail {
					var s set
					s.add(h)
					s.add(t)
					if h != a.g.filler && t != a.g.filler {
						out = append(out, s)
					}
				}
			}
		}
	}
	return out
}

// judge looks for the rule that a set of meanings satisfies: the first, and others that need the same, for
// a state is that of a thing or one of a union.
func (a *attempt) judge(s set, phrases int, own bool) {
	s = s.without(a.g.filler)
	all := s.with(a.beside)
	if s.empty() {
		return
	}
	var first *rule
	for i := range a.g.rules {
		r := &a.g.rules[i]
		if !r.may.holds(all) || !all.holds(r.need) || first != nil && first.need != r.need {
			continue
		}
		first = r
		out := reading{field: r.field, basis: r.basis, language: a.languages[0], needs: r.needs, phrases: phrases,
			show: r.show}
		if !own {
			out.language = 0
		}
		for m, name := range a.g.names {
			if code, ok := strings.CutPrefix(name, "u:"); ok && all.has(uint8(m)) {
				switch code {
				case "dmy", "mdy", "ymd":
					out.order = code
				default:
					out.unit = code
				}
			}
		}
		a.found = true
		a.offer(out)
	}
}

// offer keeps a reading unless one of the same field is there. Fewer and longer phrases go first.
func (a *attempt) offer(r reading) {
	at := 0
	for i, b := range a.best {
		if b.field == r.field {
			if r.phrases >= b.phrases {
				return
			}
			a.best = slices.Delete(a.best, i, i+1)
			break
		}
	}
	for at < len(a.best) && (a.best[at].phrases < r.phrases || a.best[at].phrases == r.phrases &&
		a.best[at].needs >= r.needs) {
		at++
	}
	a.best = slices.Insert(a.best, at, r)
}

// IsUnit reports whether a text is nothing but a unit, a sign of money or per cent, or a word for pieces.
func IsUnit(text string) bool {
	g := known().grammar
	words := strings.Join(wordsOf(text), " ")
	for _, table := range g.words {
		for _, m := range table[words] {
			if name := g.names[m]; strings.HasPrefix(name, "u:") || name == "pct" || name == "money" || name == "many" {
				return true
			}
		}
	}
	return false
}
