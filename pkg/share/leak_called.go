package share

import (
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/vocabulary"
)

// called is part of the name of a person that needs more than its letters to be known for one.
type called struct {
	secret
	common bool // an everyday word: it counts where something is said or done behind it, as in "Rose dug it up"
}

// surnames adds the parts of a name: a surname tells as much as the name.
func (s *secrets) surnames(pointer, name string) {
	parts := strings.FieldsFunc(name, func(r rune) bool { return r == ' ' || r == '-' || r == '\u2010' })
	if s.shows(keyOf(name)) {
		return
	}
	for _, part := range parts {
		s.called(pointer, part)
	}
	if len(parts) < 2 {
		return
	}
	initials := ""
	for _, part := range parts {
		if key := keyOf(part); key != "" {
			initials += key[:1]
		}
		if len([]rune(part)) >= 4 {
			s.add("name", pointer, part)
			s.misspelt("name", pointer, part)
		}
		if rest, ok := strings.CutPrefix(part, "Mac"); ok && len(rest) >= 3 {
			s.add("name", pointer, "Mc"+rest)
		}
	}
	if len(initials) > 1 && !slices.Contains(tellingWords()["plainCapitals"], initials) {
		s.note(hash('i', initials), s.of("name", pointer))
	}
}

// called notes a part of a name that is of two or three letters, or an everyday word; names finds the rest.
func (s *secrets) called(member, part string) {
	key, letters := keyOf(part), utf8.RuneCountInString(part)
	first, _ := utf8.DecodeRuneInString(part)
	common := everyday()[key] || known(part) || commonWords()[key]
	if letters < 2 || letters > 3 && !common || !unicode.IsUpper(first) || strings.ContainsFunc(part, notInName) {
		return
	}
	if particles()[key] || s.shows(key) || slices.Contains(strings.Split(s.handles, "\n"), key) {
		return
	}
	if _, noted := s.people[key]; !noted {
		s.people[key] = called{s.of("name", member), common}
	}
}

// notInName reports whether a sign is neither a letter nor a mark on one.
func notInName(r rune) bool { return !unicode.IsLetter(r) && !unicode.Is(unicode.Mn, r) }

// particles are words of names that tell nobody: von, de, the.
var particles = sync.OnceValue(func() map[string]bool {
	out := wordSet("articles")
	const others = "von van vom zu zur ter ten da di do dos das del mac mc mr mrs ms dr sir jun sen jr sr"
	for _, word := range strings.Fields(others) {
		out[word] = true
	}
	return out
})

// commonWords are short words that open a sentence or stand on a page, and are names too.
var commonWords = sync.OnceValue(func() map[string]bool {
	out := wordSet("small")
	for _, list := range []string{"months", "plainCapitals", "no", "yes", "doing"} {
		for word := range wordSet(list) {
			out[word] = true
		}
	}
	for _, word := range strings.Fields("will may can art per map set tor are her his our out any but for its per via") {
		out[word] = true
	}
	return out
})

// aroundName is what may stand before and behind a name: no digit, and no sign of a code or a path.
const aroundName = " \u00a0\t\r\n,;:()[]{}<>\"'’‘“”„«»?!.…|–"

// byName finds names that are short by their capital, where they stand as whole words, and those that are
// everyday words by what is said or done behind them.
func (s *secrets) byName(text string, add func(kind, member string, at, to int)) {
	if len(s.people) == 0 {
		return
	}
	before := ' '
	for at := 0; at < len(text); {
		r, size := utf8.DecodeRuneInString(text[at:])
		if !unicode.IsUpper(r) || !strings.ContainsRune(aroundName, before) {
			before, at = r, at+size
			continue
		}
		rest := text[at:]
		if n := strings.IndexFunc(rest, notInName); n >= 0 {
			rest = rest[:n]
		}
		to := at + len(rest)
		if x, ok := s.people[keyOfName(rest)]; ok && endsName(text[to:]) &&
			(!x.common || doing(text[to:]) || saidBefore(text[:at])) {
			s.tell(x.secret, at, to, add)
		}
		before, _ = utf8.DecodeLastRuneInString(rest)
		at = to
	}
}

// keyOfName is the key of a word that may be a name: Ian, or IAN of three letters and more, but not BO.
func keyOfName(word string) string {
	small := strings.ContainsFunc(word, unicode.IsLower)
	if len(word) > longest || !small && utf8.RuneCountInString(word) < 3 || small && word != capital(word) {
		return ""
	}
	return keyOf(word)
}

// capital is a word with its first letter alone in capitals.
func capital(word string) string {
	_, size := utf8.DecodeRuneInString(word)
	return word[:size] + strings.ToLower(word[size:])
}

func endsName(rest string) bool {
	r, _ := utf8.DecodeRuneInString(rest)
	return rest == "" || strings.ContainsRune(aroundName, r)
}

// doing reports whether a text begins with what somebody does or says, in the same cell.
func doing(rest string) bool {
	const looked = 48
	if n := strings.IndexFunc(rest, func(r rune) bool { return r < utf8.RuneSelf && parts(byte(r)) }); n >= 0 {
		rest = rest[:n]
	}
	if len(rest) > looked {
		rest = strings.ToValidUTF8(rest[:looked], "")
	}
	p := phraseOf(rest)
	return len(p) > 0 && wordLists()["doing"].at(p, 0) > 0
}

// saidBefore reports whether a text ends with what somebody says: says Bo.
func saidBefore(text string) bool {
	if len(text) > 24 {
		text = strings.ToValidUTF8(text[len(text)-24:], "")
	}
	p := phraseOf(text)
	return len(p) > 0 && p.is(len(p)-1, "verdicts")
}

// lettersLeftOut are a word and its forms with one letter left out.
func lettersLeftOut(key string) []string {
	out := []string{key}
	for i := range key {
		out = append(out, key[:i]+key[i+1:])
	}
	return out
}

// letterFigures are figures that stand for letters.
var letterFigures = strings.NewReplacer("0", "o", "1", "l", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b")

// slips finds words that are a name or a place but for one letter, pairs of words that are, and the initials of places.
func (s *secrets) slips(text string, add func(kind, member string, at, to int)) {
	if len(s.slipped)+len(s.formed) == 0 {
		return
	}
	heard := false
	tell := func(kind, member string, at, to int) { heard = true; add(kind, member, at, to) }
	last, from, to := "", 0, 0
	for at := 0; at < len(text); {
		size := strings.IndexFunc(text[at:], notInWord)
		if size < 0 {
			size = len(text) - at
		}
		word := text[at : at+size]
		key := ""
		if size >= 2 && size <= 40 {
			var quiet bool
			if key, quiet = s.quiet.words[word]; !quiet {
				heard = false
				if key = s.slipsIn(word, at, tell); !heard {
					remember(&s.quiet.words, word, key)
				}
			}
			if pair := text[from : at+size]; last != "" && at-to <= 3 && len(last+key) >= 9 {
				if _, quiet := s.quiet.pairs[pair]; !quiet {
					heard = false
					if s.slip(last+key, pair, from, at+size, tell); !heard {
						remember(&s.quiet.pairs, pair, "")
					}
				}
			}
		}
		last, from, to = key, at, at+size
		at += size
		for at < len(text) {
			r, n := utf8.DecodeRuneInString(text[at:])
			if !notInWord(r) {
				break
			}
			at += n
		}
	}
}

// slipsIn looks at one word, and returns its key with letters in the place of figures.
func (s *secrets) slipsIn(word string, at int, add func(kind, member string, at, to int)) string {
	key := keyOf(word)
	if x, ok := s.figure('i', key); ok && word == strings.ToUpper(word) && len(word) <= 4 && !s.shows(key) {
		s.tell(x, at, at+len(word), add)
	}
	if strings.ContainsAny(key, "01234578") && strings.Trim(key, "0123456789") != "" {
		key = letterFigures.Replace(key)
	}
	if !known(word) {
		s.slip(key, word, at, at+len(word), add)
	}
	return key
}

func (s *secrets) slip(key, word string, at, to int, add func(kind, member string, at, to int)) {
	if own := keyOf(word); len(key) < 5 || s.shows(own) || strings.Contains(s.handles, own) {
		return
	}
	for _, form := range lettersLeftOut(key) {
		x, ok := s.slipped[hash('l', form)]
		if !ok || len(form) < len(key) && len(form) < len(x.key)-1 {
			continue
		}
		if vocabulary.EditDistance(key, x.key) <= 1 {
			s.tell(x.secret, at, to, add)
			return
		}
	}
}

// quiet are words, pairs of words and cells that tell nothing, for a copy says most of them many times; words with
// their keys. Without them a copy takes nearly twice as long.
type quiet struct {
	words, pairs, cells map[string]string
	of                  int // how much was known of the source when they were looked at
}

// begin forgets what was quiet before more was known.
func (q *quiet) begin(s *secrets) {
	of := len(s.keys) + len(s.slipped) + len(s.figures) + len(s.shown) + len(s.handles) + len(s.contacts) + len(s.formed)
	if q.words == nil || q.of != of {
		*q = quiet{map[string]string{}, map[string]string{}, map[string]string{}, of}
	}
}

// remember keeps a text, in the place of all others when there are too many.
func remember(texts *map[string]string, text, key string) {
	if len(*texts) >= 1<<13 {
		*texts = map[string]string{}
	}
	(*texts)[strings.Clone(text)] = key
}

// A place goes by its name without the article, bent, shortened, the other way round, and with another word for land:
// Die lange Wiese is der langen Wiese, Langwiese and L. Wiese; Chapel Hams is the chapel field; Seven Acres 7 ac.

// contentOf are the words of a name without those that it may lose.
func contentOf(name string) (out []string) {
	for w := range strings.FieldsFuncSeq(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if key := keyOf(w); key != "" && !articles()[key] {
			out = append(out, key)
		}
	}
	return out
}

var (
	articles = sync.OnceValue(func() map[string]bool { return wordSet("articles") })
	shorts   = sync.OnceValue(func() map[string][]string {
		out := map[string][]string{}
		for _, pair := range tellingWords()["short"] {
			word, short, _ := strings.Cut(pair, " ")
			out[keyOf(word)] = append(out[keyOf(word)], keyOf(short))
		}
		return out
	})
)

// bendings are endings of nouns and adjectives, longest first.
var bendings = []string{"ens", "em", "en", "er", "es", "et", "ne", "e", "s", "n", "x"}

// variantsOf are the forms that one word of a name takes.
func variantsOf(word string) []string {
	out := append([]string{word}, shorts()[word]...)
	if n, err := strconv.Atoi(word); err == nil {
		for name, value := range numberValue() {
			if value == n {
				out = append(out, keyOf(name))
			}
		}
		return out
	}
	for name, n := range numberValue() {
		if keyOf(name) == word {
			return append(out, strconv.Itoa(n))
		}
	}
	stem := word
	for _, e := range bendings {
		if s, ok := strings.CutSuffix(word, e); ok && len(s) >= 3 {
			stem = s
			break
		}
	}
	out = append(out, stem)
	for _, e := range bendings {
		out = append(out, stem+e)
		if stem != word {
			out = append(out, word+e)
		}
	}
	return out
}

// forms adds what a place of this name is called beside its name.
func (s *secrets) forms(kind, member, name string) {
	if s.formed[name] || s.shows(keyOf(name)) {
		return
	}
	s.formed[name] = true
	words := contentOf(name)
	if len(words) == 1 && len(wordsIn(name)) > 1 {
		for _, form := range variantsOf(words[0]) {
			s.lone(member, form)
		}
	}
	x := s.of(kind, member)
	x.whole = true
	shortened := false
	join := func(a, b []string) {
		for _, one := range a {
			for _, two := range b {
				if x.parted = 0; shortened {
					x.parted = uint8(len(one))
				}
				if len(one)+len(two) >= 3 && !s.shows(one+two) {
					s.put(one+two, x)
				}
			}
		}
	}
	initials := ""
	for i, w := range words {
		initials += w[:1]
		if _, err := strconv.Atoi(w); err != nil && len(w) >= 4 && !objectWords()[w] && !landscapeWords()[w] {
			join(variantsOf(w), tellingWords()["generic"])
		}
		if len(w) >= 6 && landscapeWords()[w] && !objectWords()[w] && len(words) > 1 {
			s.lone(member, w)
		}
		if i == 0 {
			continue
		}
		a, b := variantsOf(words[i-1]), variantsOf(w)
		join(a, b)
		join(b, a)
		shortened = true
		if len(w) >= 4 && !unicode.IsDigit(rune(w[0])) {
			join(beginnings(words[i-1]), b)
		}
		if len(words[i-1]) >= 4 && !unicode.IsDigit(rune(w[0])) {
			join(a, beginnings(w))
		}
		shortened = false
		for _, between := range tellingWords()["articles"] {
			join([]string{w + between}, a)
		}
		s.slipOf(kind, member, words[i-1]+w)
	}
	if len(initials) > 1 && !slices.Contains(tellingWords()["plainCapitals"], initials) {
		s.note(hash('i', initials), s.of(kind, member))
	}
}

// beginnings are how a word is cut short.
func beginnings(word string) (out []string) {
	for n := 1; n <= min(5, len(word)-1); n++ {
		out = append(out, word[:n])
	}
	return out
}

// codeOf reports whether the letters that a number on a bag begins with are made of a name: its initials, the
// beginning of a word, or letters of it in their order that hold the initials.
func codeOf(number, name string) bool {
	end := strings.IndexFunc(number, func(r rune) bool { return !unicode.IsLetter(r) })
	if end < 0 {
		end = len(number)
	}
	code, initials := keyOf(number[:end]), ""
	words := contentOf(name)
	for _, w := range words {
		initials += w[:1]
		if len(code) >= 3 && strings.HasPrefix(w, code) && !objectWords()[w] {
			return true
		}
	}
	if len(words) == 1 && len(words[0]) > 5 && len(code) == 2 && inOrder(code, words[0]) {
		return true // HF of Hinterfeld
	}
	if len(initials) < 2 || len(code) < 2 {
		return false
	}
	return code == initials || len(code) > 2 && inOrder(code, strings.Join(words, "")) && inOrder(initials, code)
}

// inOrder reports whether the letters of one text stand in another in their order, with the first of both alike.
func inOrder(letters, text string) bool {
	if letters[0] != text[0] {
		return false
	}
	for i := range len(letters) {
		at := strings.IndexByte(text, letters[i])
		if at < 0 {
			return false
		}
		text = text[at+1:]
	}
	return true
}
