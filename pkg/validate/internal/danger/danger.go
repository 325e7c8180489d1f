// Package danger finds the words of a text that may speak of ordnance, human remains or aircraft: those of every
// language of schema/lexicon at once, for nobody writes in one language when frightened. Who asks decides what a
// find is.
package danger

import (
	"fmt"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
	"github.com/findslip/findslip/schema"
)

// A Kind is what a word in a record may speak of.
type Kind uint8

// The dangers, as bits.
const (
	Ordnance Kind = 1 << iota
	HumanRemains
	Aircraft
)

// level says how a word speaks of a danger.
type level uint8

const (
	stop     level = iota // wherever it stands
	soft                  // unless a blunt word stands near
	own                   // so where a text is of the object itself; elsewhere with a sharp word near
	hint                  // with a sharp word near
	sharp                 // says that a danger is meant
	blunt                 // says that something harmless is meant
	shape                 // with a trigger in the same text it is a danger, without its name
	trigger               //
	harmless              // a phrase that is passed over
)

var levels = []string{"stop", "soft", "own", "hint", "sharp", "blunt", "shape", "trigger"}

// reach is how many words away a blunt or a sharp word still counts.
const reach = 4

// listed is the member danger of a file of the lexicon.
type listed struct {
	Source   string              `json:"source"`
	Ordnance map[string][]string `json:"ordnance"`
	Remains  map[string][]string `json:"human-remains"`
	Aircraft map[string][]string `json:"aircraft"`
	Harmless []string            `json:"harmless"`
	Handling []string            `json:"handling"`
	Named    []string            `json:"named"`
	Near     []string            `json:"near"`
	Not      []string            `json:"unhandled"`
	Warning  []string            `json:"warning"`
	Idle     []string            `json:"idle"`
	Joint    []string            `json:"joint"`
	After    bool                `json:"after"`
}

// Words is all words of danger, by how they begin or end. It is made once and read by many.
type Words struct {
	first map[string][]term
	stems map[string][]term // by the first stemKey bytes
	ends  map[string][]term // by the last endKey bytes

	whole, begun, ended phrase.Sieve // of the keys of each

	orders map[string]*orders // by language

	held *Words // the words by which a copy leaves a find out, with the look-alikes of their own
}

func newWords() *Words {
	return &Words{first: map[string][]term{}, stems: map[string][]term{}, ends: map[string][]term{}}
}

const stemKey, endKey = 4, 3

// term is a word or a phrase. A word with a star at its end begins a longer one, with a star before it ends one.
type term struct {
	words []string
	about Kind
	level level
}

// Read reads the words of the lexicon.
func Read() (*Words, error) {
	w := newWords()
	w.held, w.orders = newWords(), map[string]*orders{}
	for _, l := range lexicon.Languages() {
		var d listed
		if err := json.Unmarshal(l.Danger, &d); err != nil {
			return nil, fmt.Errorf("reading the words of danger of %s: %w", l.Tag, err)
		}
		for about, all := range map[Kind]map[string][]string{Ordnance: d.Ordnance, HumanRemains: d.Remains,
			Aircraft: d.Aircraft} {
			for i, name := range levels {
				w.add(about, level(i), all[name])
			}
		}
		w.add(0, harmless, d.Harmless)
		w.orders[l.Tag] = ordersOf(&d)
		w.held.add(0, harmless, d.Harmless)
		w.held.add(HumanRemains, blunt, d.Remains[levels[blunt]])
	}
	return w, w.held.readHeld()
}

// readHeld adds the words by which a copy for others leaves a find out as one of the dead: who is kept from a copy for
// such a word is told so in a check, but for those that more often mean something else.
func (w *Words) readHeld() error {
	held, err := schema.Table[struct {
		Remains    []string `json:"remains"`
		OnlyHeld   []string `json:"remainsOnlyHeld"`
		NotRemains []string `json:"notRemains"`
	}]("telling")
	if err != nil {
		return err
	}
	for _, one := range held.Remains {
		if slices.Contains(held.OnlyHeld, one) || strings.HasPrefix(one, "=") {
			continue
		}
		w.add(HumanRemains, soft, []string{one})
		if !strings.HasSuffix(one, "*") {
			w.add(HumanRemains, soft, []string{one + "s"})
		}
		if end, ok := strings.CutPrefix(one, "*"); ok {
			w.add(HumanRemains, soft, []string{end, strings.TrimSuffix(one, "*")})
		}
	}
	w.add(0, harmless, held.NotRemains)
	return nil
}

// wordsOf are the words of an entry; two points stand for up to three others.
func wordsOf(entry string) []string {
	return strings.FieldsFunc(entry, func(r rune) bool { return r == ' ' || r == '\'' || r == '’' || r == '-' })
}

// add puts words in as they are spelt, and as who has no such keys writes them.
func (w *Words) add(about Kind, how level, words []string) {
	for _, one := range words {
		w.put(term{wordsOf(one), about, how})
		if how == harmless {
			continue // bombé is harmless, bombe is not
		}
		if plain := text.Bare(one); plain != one {
			w.put(term{wordsOf(plain), about, how})
		}
		if spelt := text.Typed(one); spelt != one {
			w.put(term{wordsOf(spelt), about, how})
		}
	}
}

func (w *Words) put(t term) {
	at, sieve, key := w.first, &w.whole, t.words[0]
	switch {
	case strings.HasPrefix(key, "*") && !strings.HasSuffix(key, "*"):
		at, sieve, key = w.ends, &w.ended, key[len(key)-endKey:]
	case strings.HasSuffix(key, "*") && len(key) > stemKey:
		at, sieve, key = w.stems, &w.begun, key[:stemKey]
	}
	sieve.Add(key)
	for _, known := range at[key] {
		if known.about == t.about && known.level == t.level && strings.Join(known.words, " ") == strings.Join(t.words, " ") {
			return
		}
	}
	at[key] = append(at[key], t)
}

// Heard is what the words of one text speak of: Surely wherever they stand, Perhaps where the text is of the object
// itself.
type Heard struct{ Surely, Perhaps Kind }

// hit is a word of a text that speaks of a danger, or for or against one.
type hit struct {
	term
	at, clause int
}

// Scan looks for words of danger in a text.
func (w *Words) Scan(s string) (h Heard) {
	if w == nil {
		return h
	}
	var hits []hit
	var room [12]hit
	hits = room[:0]
	var buf [phrase.MaxWord]byte
	clause, at := 0, 0
	grave := false
	for rest := s; ; at++ {
		word, next, ok := phrase.Next(rest, &buf)
		if !ok {
			break
		}
		var found [4]term
		n, behind := w.longest(word, next, &found)
		for _, t := range found[:n] {
			if t.level != harmless {
				hits = append(hits, hit{t, at, clause})
				grave = grave || t.level < sharp || t.level == shape
			}
		}
		if n > 0 {
			at += len(found[0].words) - 1
			next = behind
		}
		if endsClause(next) {
			clause++
		}
		rest = next
	}
	if grave {
		h.weigh(hits)
	}
	h.Surely |= w.held.Scan(s).Surely
	return h
}

// longest finds the phrases of most words that begin with a word, and returns what stands behind them. What equals
// the word goes before what only begins or ends it, and of those the longest.
func (w *Words) longest(word []byte, next string, found *[4]term) (n int, behind string) {
	most, closest := 0, 0
	try := func(terms []term, exact bool) {
		for i := range terms {
			t := &terms[i]
			close := len(t.words[0])
			if exact {
				close = 1000
			} else if !meets(t.words[0], word) {
				continue
			}
			if len(t.words) < most || len(t.words) == most && close < closest {
				continue
			}
			after, ok := follows(next, t.words[1:])
			if !ok {
				continue
			}
			if len(t.words) > most || close > closest {
				n = 0
			}
			most, closest, behind = len(t.words), close, after
			if n < len(found) {
				found[n] = *t
				n++
			}
		}
	}
	if w.whole.Lets(word) {
		try(w.first[string(word)], true)
	}
	if len(word) < stemKey {
		return n, behind
	}
	if w.begun.Lets(word[:stemKey]) {
		try(w.stems[string(word[:stemKey])], false)
	}
	if end := word[len(word)-endKey:]; w.ended.Lets(end) {
		try(w.ends[string(end)], false)
	}
	return n, behind
}

// meets reports whether a word is the one wanted, or begins or ends as a star says.
func meets(want string, word []byte) bool {
	switch {
	case want[0] == '*':
		return len(word) > len(want)+1 && string(word[len(word)-len(want)+1:]) == want[1:]
	case want[len(want)-1] == '*':
		return len(word) >= len(want)-1 && string(word[:len(want)-1]) == want[:len(want)-1]
	}
	return string(word) == want
}

func follows(rest string, words []string) (string, bool) {
	var buf [phrase.MaxWord]byte
	gap := 0
	for _, want := range words {
		if want == ".." {
			gap = 3
			continue
		}
		for {
			w, next, ok := phrase.Next(rest, &buf)
			if !ok || endsClause(rest) {
				return "", false
			}
			rest = next
			if meets(want, w) {
				break
			}
			if gap--; gap < 0 {
				return "", false
			}
		}
		gap = 0
	}
	return rest, true
}

// endsClause reports whether a sentence ends before the next word.
func endsClause(rest string) bool {
	for i := 0; i < len(rest); i++ {
		switch c := rest[i]; {
		case c == ';' || c == '\n' || c == '|' || (c == '.' || c == '!') && (i+1 == len(rest) || rest[i+1] == ' '):
			return true
		case c != ' ' && c != ',' && c != ')' && c != '(' && c != '"' && c != '?' && c != ':' && c != '-':
			return false
		}
	}
	return false
}

// weigh makes of the hits of one text what it speaks of.
func (h *Heard) weigh(hits []hit) {
	near := func(a *hit, how level) bool {
		for i := range hits {
			if b := &hits[i]; b.about == a.about && b.level == how && b.clause == a.clause && b.at != a.at &&
				b.at <= a.at+len(a.words)-1+reach && a.at <= b.at+len(b.words)-1+reach {
				return true
			}
		}
		return false
	}
	for i := range hits {
		switch a := &hits[i]; {
		case a.level == stop:
			h.Surely |= a.about
		case a.level >= sharp && a.level != shape, a.level < sharp && near(a, blunt):
		case a.level == soft, a.level < sharp && near(a, sharp), a.level == shape && near(a, trigger):
			h.Surely |= a.about
		case a.level == own:
			h.Perhaps |= a.about
		}
	}
}
