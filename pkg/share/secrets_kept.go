package share

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	lexica "github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/schema"
)

// keptAround gathers what a log says beside the fields of its finds: columns that no field took, rows that are no
// find, and the names of its sheets. Nobody knows what these tell, so that every short text of them that
// is no everyday word counts as a name.
func (s *secrets) keptAround(head *find.Report) {
	if s.audience.coarse() {
		s.fileName("/title", head.Title) // a track is called after its field
	}
	for i, note := range head.Notes {
		text := noteHead().ReplaceAllString(note, "")
		for part := range strings.SplitSeq(text, " | ") {
			s.loose(fmt.Sprintf("/notes/%d", i), part)
		}
	}
	for i := range head.People {
		s.columns(fmt.Sprintf("/people/%d", i), head.People[i].Columns)
	}
	for i := range head.Permissions {
		s.columns(fmt.Sprintf("/permissions/%d", i), head.Permissions[i].Columns)
	}
	for i := range head.Outings {
		s.columns(fmt.Sprintf("/outings/%d", i), head.Outings[i].Columns)
	}
}

func (s *secrets) keptOf(f *find.Find, sheets map[string]bool) {
	s.columns("", f.Columns)
	if f.Source == nil {
		return
	}
	for _, text := range []string{f.Source.Sheet, f.Source.File} {
		if text != "" && !sheets[text] {
			sheets[strings.Clone(text)] = true
			s.fileName("/source", text)
		}
	}
}

// noteHead is what the reader writes before the text of a row that is no find.
var noteHead = later(`^(?:[^:|]{0,60}\b)?row \d+: `)

func (s *secrets) columns(pointer string, columns map[string]string) {
	for _, head := range slices.Sorted(maps.Keys(columns)) {
		text, member := strings.TrimSpace(columns[head]), pointer+"/columns/"+head
		switch kind := kindOfHeading(head); {
		case text == "":
		case contactText().MatchString(text):
			s.add("contact", member, text)
		case kind == "", strings.HasSuffix(head, "(comment)"): // words beside a cell, and no name of one
			s.loose(member, text)
		case len(wordsIn(text)) > 8 || !strings.ContainsFunc(text, unicode.IsLetter):
		case !unknownIn(text) && len(wordsIn(text)) < 2:
		default:
			s.add(kind, member, text)
			for _, list := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;/&+", r) }) {
				s.add(kind, member, list)
				s.distinctive(kind, member, list)
				if kind == "place" {
					s.forms(kind, member, list)
				}
			}
		}
	}
}

// contactText is an e-mail address, or a number of a telephone.
var contactText = later(`^[^\s@]+@[^\s@]+\.[a-z]+$|^[+0(][\d ()/.-]{6,}\d$`)

// kindOfHeading reports whether a column of this heading names a person or a place.
func kindOfHeading(head string) string {
	switch field := heading.Understand(head).Field; {
	case field == heading.LandGiver, strings.HasPrefix(field, "finder"), strings.HasPrefix(field, "people"):
		return "name"
	case strings.HasPrefix(field, "permission.place"):
		return "place"
	}
	if phraseOf(head).speaks("verdicts") {
		return "" // what the mates say, and not who they are
	}
	for word := range strings.FieldsSeq(heading.Fold(head)) {
		if kind := headingKinds()[keyOf(word)]; kind != "" {
			return kind
		}
	}
	return ""
}

// headingKinds are words of headings under which a person or a place stands.
var headingKinds = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for kind, list := range map[string]string{"name": "people", "place": "places"} {
		for word := range wordSet(list) {
			out[word] = kind
		}
	}
	return out
})

// loose adds a short text of which nobody knows what it tells, where it has the looks of a name.
func (s *secrets) loose(member, text string) {
	text = strings.TrimSpace(text)
	words := wordsIn(text)
	if len(words) == 0 || len(words) > 6 || !unknownIn(text) || !titled(words) {
		return
	}
	if len(words) == 1 {
		if len([]rune(words[0])) >= 5 {
			s.lone(member, words[0])
		}
		return
	}
	s.add("place", member, text)
	s.distinctive("place", member, text)
}

// lone adds one word that may as well be an everyday one: it counts where it has a capital within a text.
func (s *secrets) lone(member, word string) {
	if key := keyOf(word); len(key) >= 5 && !s.shows(key) {
		x := s.of("place", member)
		x.word = true
		s.put(key, x)
	}
}

// fileName adds what a name of a file or a sheet tells beside what its finds are.
func (s *secrets) fileName(member, name string) {
	stem := stemOf(name)
	all := strings.Join(wordsIn(stem), " ")
	if unknownIn(all) && strings.Contains(all, " ") && len(all) >= 8 {
		s.add("file-name", member, all)
	}
	for _, part := range strings.FieldsFunc(strings.ReplaceAll(stem, " - ", "_"),
		func(r rune) bool { return r == '_' || r == ',' || r == '(' || r == ')' }) {
		words := wordsIn(part)
		switch {
		case !unknownIn(part):
		case !titled(words):
			for _, word := range words {
				if !known(word) {
					s.lone(member, word)
				}
			}
		default:
			if len(words) > 1 {
				s.add("file-name", member, strings.Join(words, " "))
			}
			s.distinctive("file-name", member, part)
		}
	}
}

// distinctive adds the words of a name that are no everyday words: Rookery of Rookery Piece.
func (s *secrets) distinctive(kind, member, name string) {
	if s.shows(keyOf(name)) {
		return
	}
	for _, word := range wordsIn(name) {
		if len([]rune(word)) >= 5 && !known(word) {
			s.add(kind, member, word)
			s.misspelt(kind, member, word)
			if stem, ok := strings.CutSuffix(word, "y"); ok {
				s.add(kind, member, stem+"ies")
			}
		}
	}
}

// wordsIn are the runs of letters of a text, of at least two.
func wordsIn(text string) []string {
	list := strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' && r != '’' })
	return slices.DeleteFunc(list, func(w string) bool { return len([]rune(w)) < 2 })
}

func unknownIn(text string) bool {
	return slices.ContainsFunc(wordsIn(text), func(w string) bool { return len([]rune(w)) >= 3 && !known(w) })
}

// titled reports whether every word of a text that is not an everyday one has a capital.
func titled(words []string) bool {
	return !slices.ContainsFunc(words, func(w string) bool { return !unicode.IsUpper([]rune(w)[0]) && !known(w) })
}

// known reports whether a word tells nobody's name: words of the format, its lexicon and its tables, and
// those of any landscape and any log.
func known(word string) bool {
	if len(word) > longest {
		return false
	}
	key := keyOf(word)
	words := knownWords()
	if words[key] || heading.WordsKnown(word) {
		return true
	}
	return len(key) > 4 && (words[strings.TrimSuffix(key, "s")] || words[strings.TrimSuffix(key, "es")])
}

var knownWords = sync.OnceValue(func() map[string]bool {
	out := maps.Clone(everyday())
	var all func(v any)
	all = func(v any) {
		switch v := v.(type) {
		case string:
			addWords(out, v)
		case []any:
			for _, item := range v {
				all(item)
			}
		case map[string]any:
			for key, item := range v {
				if slices.Contains([]string{"named", "near", "warning", "idle", "joint"}, key) {
					continue // with which a body speaks of danger; some are names of people elsewhere
				}
				addWords(out, key)
				all(item)
			}
		}
	}
	read := func(text []byte) {
		var v any
		if json.Unmarshal(text, &v) == nil {
			all(v)
		}
	}
	for _, language := range lexica.Languages() {
		if text, err := schema.Lexicon(language.Tag); err == nil {
			read(text)
		}
	}
	if things, err := schema.Table[any]("things"); err == nil {
		all(things)
	}
	read(schema.Headings())
	maps.Copy(out, landscapeWords())
	return out
})
