package share

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/schema"
)

// Nobody can list the words that tell a place, a person or a value: whoever writes finds others. So free words go
// the other way round to those who see places by cells: a clause goes where every word of it is known to say what a
// thing is, looks like or is compared with (schema/data/plain-words.json and the code lists of objects), and every
// figure is a measure, a year or a count of such a thing. What is unknown is left out with its clause.

// leftOutMark stands in a text where a clause was left out.
const leftOutMark = "[…]"

// plainLists are the code lists whose labels say what a thing is or is like.
var plainLists = append([]string{"object-class", "mark-method", "mark-side", "damage-when", "dating-event", "cleaning",
	"hazard", "lifted", "weight-state", "magnetic", "photo-view", "unit", "depth-surface", "lot-rule"}, qualifierLists...)

// plainWords are the tongues by their tags, and the lists of words of everywhere; without the table nothing passes, and
// its test fails.
var plainWords = sync.OnceValue(func() (out struct {
	tongues map[string]*tongue
	lists   map[string]map[string]bool
	either  map[string]string // the words of a list as the branches of a pattern
}) {
	out.tongues, out.lists = map[string]*tongue{}, map[string]map[string]bool{}
	out.either = map[string]string{}
	table, err := schema.Table[struct {
		Languages map[string]struct {
			Words     []string `json:"words"`
			Phrases   []string `json:"phrases"`
			Never     []string `json:"never"`
			Near      []string `json:"near"`
			Lead      []string `json:"lead"`
			The       []string `json:"the"`
			Parts     []string `json:"parts"`
			Turned    []string `json:"turned"`
			Definite  []string `json:"definite"`
			Endings   []string `json:"endings"`
			Compounds bool     `json:"compounds"`
			Nouns     bool     `json:"nouns"`
		} `json:"languages"`
		Lists map[string][]string `json:"lists"`
	}]("plain-words")
	if err != nil {
		return out
	}
	set := func(lines []string) map[string]bool {
		words := map[string]bool{}
		for w := range strings.FieldsSeq(strings.Join(lines, " ")) {
			words[keyOf(w)] = true
		}
		return words
	}
	phrases := func(texts []string) map[string]bool {
		out := map[string]bool{}
		for _, text := range texts {
			out[strings.TrimSpace(spaced(text))] = true
		}
		return out
	}
	for tag, l := range table.Languages {
		t := &tongue{words: map[string]bool{}, never: set(l.Never), endings: l.Endings,
			compounds: l.Compounds, nouns: l.Nouns, near: phrases(l.Near), lead: phrases(l.Lead), the: set(l.The),
			parts: set(l.Parts), turned: set(l.Turned), definite: l.Definite}
		t.phrases = phrases(l.Phrases)
		eachLabelIn(plainLists, tag, func(text string) {
			addWords(t.words, text)
			t.phrases[strings.TrimSpace(spaced(text))] = true
		})
		for w := range t.never {
			delete(t.words, w)
		}
		maps.Copy(t.words, set(l.Words))
		out.tongues[tag] = t
	}
	for name, lines := range table.Lists {
		out.lists[name] = set(lines)
		words := strings.Fields(strings.Join(lines, " "))
		slices.SortStableFunc(words, func(a, b string) int { return len(b) - len(a) })
		for i := range words {
			words[i] = regexp.QuoteMeta(words[i])
		}
		out.either[name] = "(?:" + strings.Join(words, "|") + ")"
	}
	return out
})

// Figures that pass in any clause: measures with their unit, years, parts of a whole, parts of an alloy.
var (
	plainMeasure = laterOf(`(?i)(?:\b\d{1,3}(?:[.,]\d{1,3})?\s?(?:mm|cm)?\s?[x×*]\s?){0,2}(?:[<>~±]\s?)?\b\d{1,3}(?:[.,` +
		`]\d{1,3})?(?:\s?[-–]\s?\d{1,3}(?:[.,]\d{1,3})?)?\s?(?:{measures}|%|"|″)(?:[^\pL\d]|$)`)
	plainYear4 = laterOf(`(?i)\b(?:{around}\.? ?)?1\d{3}(?:er|ern|'s|’s|s|-?tal(?:et|let)?)?(?: ?[-–/] ?(?:1\d{3}|` +
		`20[0-4]\d|\d{1,2}))?\??(?:[^\pL\d]|$)|\b20[0-4]\d(?:[^\d\pL]|$)|\b\d{1,4} ?(?:AD|BC|BCE|CE|v\. ?Chr\.?|n\. ` +
		`?Chr\.?)\b`)
	plainAge = laterOf(`(?i)(?:^|[^\pL\d])\d{1,2}\.?{ordinal}?(?: ?[-–/] ?\d{1,2}\.?{ordinal}?)? ` +
		`?{century}\.?(?:[^\pL\d]|$)`)
	plainCount = later(`(?:^|[^\pL\d.,])(?:[x×] ?\d{1,2}|\d{1,2} ?[x×])(?:[^\pL\d.,]|$)`)
	plainOf    = laterOf(`(?i)\b\d{1,2} {of} \d{1,2}\b|(?:^|\s)\.\d{2,3}(?:\s|$)`)
	plainPart  = later(`[½¼¾⅓⅔]|\b[13]/[248]d\b`)
	plainAlloy = later(`\b(?:Cu|Sn|Pb|Zn|Ag|Au|Fe|Ni|As|Sb)[ :]{0,2}\d{1,2}(?:[.,]\d{1,2})?\b|\b\d{1,2}(?:[.,]\d{1,` +
		`2})? ?(?:Cu|Sn|Pb|Zn|Ag|Au|Fe|Ni|As|Sb)\b`)
	plainNumber  = laterOf(`^(?:[123]/[2348]|\d{1,2}){ordinal}?$`)
	plainEra     = laterOf(`(?i)^(?:{era}|[nv]\. ?chr)`)
	plainShort   = laterOf(`(?i)(?:^|\s)(?:{short}|{around}|{titles}|\pL)$`)
	plainCentury = later(`(?i)^(?:c\d{1,2}(?:st|nd|rd|th)?|\d{1,2}(?:st|nd|rd|th)?c)$`)
	plainRoman   = laterOf(`^(?:[IVX]{1,6}{ordinal}?|M[DCLXVI]{3,11})$`)
	plainCode    = later(`^\pL?\d{1,2}\pL{0,2}$|^\pL\d{0,2}$`)
)

// plainNever are words, known or not, that by the signs between them are three words of an address of squares.
var plainNever = later(`(?i)///|\b(?:3|three) words?\b|\pL{3,}\.\pL{3,}|\pL{3,} \. \pL{3,}|\pL{4,}([|*_:\\>~])\pL{4,` +
	`}|\pL{4,}-\pL{4,}-\pL{4,}|\bdot\b.*\bdot\b|\pL{4,}/\pL{4,}/\pL{4,}|\pL{4,}[,;]\pL{4,}[,;]\pL{4,}`)

// A work that is named for comparison: "cf. Author 1999", and behind it pages and numbers in it.
var (
	plainWork = laterOf(`(?i:^\s*{compare}\.?):? (\p{Lu}[\pL.'-]+(?:(?:,? (?i:{and}|&))? \p{Lu}[\pL.'-]+){0,2}),? (?:18|` +
		`19|20)\d\d[a-z]?[ .]*$`)
	plainLeaf = laterOf(`(?i)^\s*{leaf}\.? ?\d{1,4}[a-z]?(?: ?(?:[-–]|{until}) ?\d{1,4})?[ .]*$`)
)

// plainMoney is a sum of money of today.
var plainMoney = laterOf(`(?i)[£€$] ?\d|\b\d+ ?(?:[£€$]|{money}(?:[^\pL]|$))`)

// A clause is a stretch of a text up to the sign that ends it.
type clause struct {
	text, end string
	at        int  // where it begins
	opens     bool // it begins a sentence, so that its first word may have a capital
}

// clausesOf takes a text apart.
func clausesOf(text string) (out []clause) {
	from, opens := 0, true
	cut := func(at, to int, next bool) {
		out = append(out, clause{text[from:at], text[at:to], from, opens})
		from, opens = to, next
	}
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		rest := strings.TrimLeft(text[i+size:], " \u00a0")
		space := len(rest) < len(text)-i-size || rest == ""
		next, _ := utf8.DecodeRuneInString(rest)
		to := len(text) - len(rest)
		switch {
		case r == '\n' || r == '!' || r == '?' || r == '(' || r == ')' || r == '[' || r == ']' || r == ';' || r == '|' ||
			r == '+' ||
			r == '/' && between(text, i) ||
			r == '.' && space && !unicode.IsLower(next) && !unicode.IsDigit(next) && !plainEra().MatchString(rest) &&
				!plainShort().MatchString(text[from:i]) ||
			r == ':' && space:
			cut(i, to, true)
			i = to
		case r == ',' && space, (r == '-' || r == '–' || r == '—') && space && i > 0 && text[i-1] == ' ':
			cut(i, to, false)
			i = to
		default:
			i += size
		}
	}
	if from < len(text) {
		cut(len(text), len(text), true)
	}
	return out
}

// between reports whether a stroke stands between two words, as in zilver/argent.
func between(text string, at int) bool {
	before, _ := utf8.DecodeLastRuneInString(strings.TrimRight(text[:at], " "))
	after, _ := utf8.DecodeRuneInString(strings.TrimLeft(text[at+1:], " "))
	return unicode.IsLetter(before) && unicode.IsLetter(after)
}

// A sieve lets words through to one audience.
type sieve struct {
	language string          // of the report, tried first
	own      map[string]bool // words of the names of people and places of the source
	worth    bool            // only what says what a thing is worth is left out
	prose    bool            // the text says what its writer likes
	legend   bool            // the text is what stands on the thing
	passed   func(text string) bool
	seen     map[string]bool // texts that pass whole
	years    map[string]bool // that the record has beside the text
	gathered map[string]bool // names of which the words are in own
}

// sift returns what of a text passes, with a mark where something was left out, and the clauses that were.
func (s *sieve) sift(text string) (kept string, left []string) {
	said := phraseOf(text[:min(len(text), longestText)])
	if len(text) > longestText || s.prose && !s.worth && len(text) < 60 && (s.side(said) || said.place()) {
		return "", []string{text}
	}
	if s.seen[text] && !s.legend {
		return text, nil
	}
	never := plainNever().FindAllStringIndex(text, -1)
	plan := said.paced() > 1
	var b strings.Builder
	legend, work, gap, some := s.legend, false, false, false
	whole, end := text, ""
	if !s.worth && text == strings.ToUpper(text) && len(text) > 12 { // somebody who writes in capitals
		text = strings.ToLower(text)
	}
	clauses := clausesOf(text)
	for _, c := range clauses {
		bad := !s.worth && slices.ContainsFunc(never, func(m []int) bool { return m[0] < c.at+len(c.text) && m[1] > c.at })
		work = s.work(c.text) || work && plainLeaf().MatchString(c.text)
		bad = bad || gap && phraseOf(c.text).sides() // in the drawer, on the left
		paced := plan && !s.worth && phraseOf(c.text).paced() > 0
		bad = bad || paced
		if strings.TrimSpace(c.text) == "" || s.passed(c.text) || !bad && (work || s.plain(c, &legend)) {
			b.WriteString(end + c.text + c.end)
			end, gap = "", gap && strings.TrimSpace(c.text) == ""
			some = some || strings.TrimSpace(c.text) != ""
			continue
		}
		left = append(left, strings.TrimSpace(c.text))
		measures := ""
		for _, m := range measuresOf(c.text) {
			if !paced {
				measures = strings.TrimLeft(measures+" "+strings.TrimRight(m, " .,;"), " ")
			}
		}
		some = some || measures != ""
		if measures != "" {
			b.WriteString(end + measures + " ")
		}
		if !gap || measures != "" {
			b.WriteString(leftOutMark)
		}
		end, gap = c.end, true // of the last clause of a gap
	}
	b.WriteString(end)
	switch {
	case left == nil:
		if len(s.seen) < 1<<13 && !s.legend {
			s.seen[strings.Clone(whole)] = true
		}
		return whole, nil
	case !some:
		return "", left
	}
	return strings.TrimSpace(b.String()), left
}

// hasLeft reports whether something of a text would be left out that nobody but the owner gets.
func (s *sieve) hasLeft(text string) bool {
	s.worth, s.prose, s.legend = true, false, false
	_, left := s.sift(text)
	return left != nil
}

// sides reports whether a phrase says only on which side: of a thing nobody says no more than that, of a field many do.
func (p phrase) sides() bool {
	return len(p) > 0 && !slices.ContainsFunc(p, func(w string) bool { return !plainWords().lists["sides"][w] })
}

// side reports whether a text says only on which side, and is no name of a thing in its language: a coin is a corner in
// French.
func (s *sieve) side(p phrase) bool {
	t := plainWords().tongues[s.language]
	return p.sides() && !(t != nil && t.phrases[strings.Join(p, " ")])
}

// work reports whether a clause names a work for comparison, by an author of whom the source knows nothing.
func (s *sieve) work(text string) bool {
	m := plainWork().FindStringSubmatch(text)
	return m != nil && !slices.ContainsFunc(phraseOf(m[1]), func(w string) bool { return s.own[w] })
}

// measuresOf are the measures of a clause, in figures that somebody measures.
func measuresOf(text string) []string {
	return slices.DeleteFunc(plainMeasure().FindAllString(text, -1), func(m string) bool { return !figuresWithin(m, 2) })
}

// plain reports whether one language has all words of a clause, and none says what a thing is worth or where it is
// kept.
func (s *sieve) plain(c clause, legend *bool) bool {
	said := phraseOf(c.text)
	if said.speaks("worth") || plainMoney().MatchString(c.text) || said.sum() || said.stored() || said.priced() ||
		said.numbered() || spelt().MatchString(c.text) {
		return false
	}
	if s.worth {
		return !calls(c.text) && !s.unlisted(c.text) && (s.work(c.text) || !plainWork().MatchString(c.text))
	}
	if said.actor(s.own) || s.named(c.text, said) || said.speaks("doneBy") || said.speaks("hours") || said.ofLand() {
		return false
	}
	if strings.HasPrefix(c.end, ".") {
		defer func() { *legend = s.legend }()
	}
	if lowerWord().MatchString(c.text) {
		*legend = false // what stands on a thing is not written so
	}
	text := plainDigits(c.text)
	for _, m := range measuresOf(text) {
		text = strings.Replace(text, m, " · ", 1) // a figure that passes
	}
	for _, like := range []func() *regexp.Regexp{plainYear4, plainAge, plainCount, plainOf, plainPart,
		plainAlloy} {
		text = like().ReplaceAllString(text, " · ")
	}
	tags := []string{s.language}
	for tag := range plainWords().tongues {
		if tag != s.language {
			tags = append(tags, tag)
		}
	}
	for _, tag := range tags {
		if t := plainWords().tongues[tag]; t != nil && s.in(t, text, c.opens, *legend) {
			*legend = *legend ||
				slices.ContainsFunc(phraseOf(text), func(w string) bool { return plainWords().lists["legend"][w] })
			return true
		}
	}
	return false
}

// sum reports whether a phrase has a sum of money of today in words.
func (p phrase) sum() bool {
	for i := 1; i < len(p); i++ {
		if plainWords().lists["money"][p[i]] && plainWords().lists["numerals"][p[i-1]] {
			return true
		}
	}
	return false
}

// numbered reports whether so many words for numbers follow one another as in a telephone number that is read out:
// four, three with a zero, two behind a word that calls, or two that are the whole phrase and measure nothing.
func (p phrase) numbered() bool {
	n, zero, called := 0, false, false
	for i, w := range p {
		value, known := numberValue()[w]
		switch {
		case counted(w):
			n++
			zero = zero || known && value == 0
		case w != "double" && w != "triple":
			n, zero, called = 0, false, p.is(i, "calls")
		}
		if n > 3 || n > 2 && zero || n > 1 && called {
			return true
		}
	}
	return n > 1 && n == len(p)
}

// counted reports whether a word is one for a number, and no digits.
func counted(key string) bool {
	_, known := numberValue()[key]
	return (known || plainWords().lists["numerals"][key]) && (key[0] < '0' || key[0] > '9')
}

// plainDigits is a text with digits of other scripts as plain ones and without what nobody sees.
func plainDigits(text string) string {
	return strings.Map(func(r rune) rune {
		switch n := digitOf(r); {
		case n >= 0:
			return rune('0' + n)
		case invisible(r) && !unicode.Is(unicode.Mn, r):
			return -1
		}
		return r
	}, text)
}

// wordsAt are the words and figures of a clause, and whether signs stand in it that are of neither.
func wordsAt(text string) (out []string, strange bool) {
	for _, r := range text {
		if r < utf8.RuneSelf && strings.ContainsRune("@£$\\_=^{}<>", r) || strings.ContainsRune("€°º", r) {
			return nil, true
		}
	}
	return strings.FieldsFunc(text, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.Mn, r) &&
			!strings.ContainsRune(".,:/'’·", r)
	}), false
}

// in reports whether a language has all words of a text.
func (s *sieve) in(t *tongue, text string, opens, legend bool) bool {
	raw, strange := wordsAt(text)
	if strange {
		return false
	}
	var words []string
	for _, w := range raw {
		if w = strings.Trim(w, ".,:/'’"); strings.ContainsAny(w, "./:") && strings.ContainsFunc(w, unicode.IsLetter) {
			words = append(words, strings.FieldsFunc(w, func(r rune) bool { return r == '/' || r == '.' || r == ':' })...)
		} else if w != "" {
			words = append(words, w)
		}
	}
	keys := make([]string, len(words))
	for i, w := range words {
		keys[i] = keyOf(w)
	}
	p, numbers := plainWords(), 0
	for i := 0; i < len(words); i++ {
		if _, number := numberValue()[strings.ToLower(words[i])]; !number {
			numbers = 0
		} else if numbers++; numbers > 2 {
			return false // figures as words
		}
		if n := t.phraseAt(keys, i); n > 0 && !s.names(words, keys, i, t) {
			i += n - 1
			continue
		}
		legend = legend || p.lists["legend"][keys[i]]
		if !s.word(t, words, keys, i, opens && i == 0, legend) {
			return false
		}
	}
	return legend || !t.led(keys) && !t.place(keys, false) && !initials(words)
}

// initials reports whether a clause has nothing but letters with a capital: T. M.
func initials(words []string) bool {
	return len(words) > 0 && !slices.ContainsFunc(words, func(w string) bool {
		return len(w) > 1 || w[0] < 'A' || w[0] > 'Z'
	})
}

// word reports whether the word at a place passes.
func (s *sieve) word(t *tongue, words, keys []string, i int, first, legend bool) bool {
	w, key, p := words[i], keys[i], plainWords()
	last, next := "", ""
	if i > 0 {
		last = keys[i-1]
	}
	if i+1 < len(keys) {
		next = keys[i+1]
	}
	if strings.ContainsFunc(w, unicode.IsDigit) {
		switch {
		case s.years[w], plainCentury().MatchString(w),
			p.lists["types"][last] && plainCode().MatchString(w):
			return true
		}
		return plainNumber().MatchString(w) && len(next) >= 3 && !smallWords()[next] && !leadsTo(next) &&
			(t.nouns || !unicode.IsUpper([]rune(words[i+1])[0])) && t.has(next)
	}
	capital := unicode.IsUpper([]rune(w)[0])
	if t.nouns && capital && (p.lists["called"][key] && !first ||
		p.lists["surnames"][key] && p.lists["callers"][last] && !t.parts[key] && !(i > 1 && t.part(keys[i-2]))) {
		return false
	}
	if ordinals()[key] && (len(next) < 3 || smallWords()[next]) { // "on the first"
		return false
	}
	switch {
	case w == "·", capital && len(w) == 1 && i > 0 && words[i-1] == "·": // the letter of a mint behind a year
		return true
	case s.names(words, keys, i, t):
		return false
	case capital && p.lists["capitals"][key]:
		return true
	case plainRoman().MatchString(w):
		return true
	case p.lists["types"][last] && utf8.RuneCountInString(w) == 1, p.lists["legend"][key] && !(capital && !first):
		return true
	case legend && w == strings.ToUpper(w) && utf8.RuneCountInString(w) < 24:
		return true
	case capital && p.lists["rulers"][key]:
		return next != "" && plainRoman().MatchString(words[i+1]) || p.lists["before"][last] ||
			i > 1 && utf8.RuneCountInString(last) <= 3 && p.lists["reign"][keys[i-2]]
	case capital && !first && !t.nouns:
		return false
	case t.has(key):
		return true
	}
	before, after, cut := strings.Cut(strings.ReplaceAll(w, "’", "'"), "'")
	return cut && len(before) <= 2 && t.has(keyOf(after)) // l'écu, d'or
}

// laterOf is later for a pattern that names lists of plain-words.json in braces.
func laterOf(pattern string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp {
		for name, words := range plainWords().either {
			pattern = strings.ReplaceAll(pattern, "{"+name+"}", words)
		}
		return regexp.MustCompile(pattern)
	})
}

// ordinals are the words for the days of a month.
var ordinals = sync.OnceValue(func() map[string]bool { return wordSet("ordinals") })

// leadsTo reports whether a word leads to a place: 12 in, 40 from.
func leadsTo(key string) bool { return wordLists()["leading"].at(phrase{key}, 0) > 0 }

// names reports whether a word is meant as part of a name of the source: with a capital, or behind a word that leads
// to a place.
func (s *sieve) names(words, keys []string, i int, t *tongue) bool {
	if !s.own[keys[i]] {
		bent := false
		for _, e := range bendings {
			stem, ok := strings.CutSuffix(keys[i], e)
			bent = bent || ok && len(stem) >= 3 && s.own[stem]
		}
		if !bent {
			return false
		}
	}
	if plainWords().lists["capitals"][keys[i]] {
		return false
	}
	if unicode.IsUpper([]rune(words[i])[0]) {
		return true
	}
	for back := 1; back <= 2 && i-back >= 0; back++ {
		if leadsTo(keys[i-back]) {
			return true
		}
		if !articles()[keys[i-back]] {
			break
		}
	}
	return false
}
