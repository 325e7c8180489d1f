package profile

import (
	"cmp"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// languages says which of the languages that are named texts lack, and which texts are in others: once a language.
func (c *checker) languages() {
	named := c.file.Languages
	if len(named) == 0 {
		named = []string{"en"}
	}
	told, first := map[string]int{}, map[string]string{}
	note := func(tag, what, at string) {
		message := fmt.Sprintf(what, tag)
		told[message]++
		first[message] = cmp.Or(first[message], at)
	}
	c.eachText(func(t Text, at string) {
		for _, tag := range named {
			if t[tag] == "" {
				note(tag, "texts have no words in %s, this the first", at)
			}
		}
		for tag := range t {
			if !slices.Contains(named, tag) {
				note(tag, "texts have words in %s, which languages does not name", at)
			}
		}
	})
	for _, message := range slices.Sorted(maps.Keys(told)) {
		c.say(&kinds.ProfileLanguage, first[message], "%d of its %s", told[message], message)
	}
}

// eachText visits every text of the profile, in the order of the file's members.
func (c *checker) eachText(visit func(t Text, at string)) {
	walk(reflect.ValueOf(&c.file.Profile), "", func(v reflect.Value, at string) {
		if t, ok := v.Interface().(Text); ok && len(t) > 0 {
			visit(t, at)
		}
	})
}

// walk visits the texts, words and maps of words of a profile, and what is in them.
func walk(v reflect.Value, at string, visit func(v reflect.Value, at string)) {
	switch {
	case v.Kind() == reflect.Pointer && !v.IsNil():
		walk(v.Elem(), at, visit)
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			if name != "-" {
				walk(v.Field(i), at+"/"+name, visit)
			}
		}
	case v.Kind() == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8:
		for i := range v.Len() {
			walk(v.Index(i), fmt.Sprintf("%s/%d", at, i), visit)
		}
	case v.Kind() == reflect.Map:
		visit(v, at)
		for _, key := range v.MapKeys() {
			visit(key, at+"/"+notice.Escape(key.String()))
			visit(v.MapIndex(key), at+"/"+notice.Escape(key.String()))
		}
	case v.Kind() == reflect.String:
		visit(v, at)
	}
}

// texts looks through everything that people may be shown.
func (c *checker) texts() {
	walk(reflect.ValueOf(&c.file.Profile), "", func(v reflect.Value, at string) {
		if v.Kind() != reflect.String {
			return
		}
		if what := unplain(v.String(), at); what != "" {
			c.say(&kinds.ProfileShape, at, "the text holds %s|Take it out of the text.", what)
		}
	})
}

// dangers says which texts and asks would have people handle what may kill, or the dead, or look like what is said of
// it.
func (c *checker) dangers(danger func(language, words string) (speaks bool, wrong string)) {
	if danger == nil {
		return
	}
	words := map[[2]string]string{} // of each ask, question and promise together, by language
	c.eachText(func(t Text, at string) {
		of := strings.Join(strings.Split(at, "/")[:min(3, strings.Count(at, "/")+1)], "/")
		for tag, text := range t {
			text = spaced().ReplaceAllStringFunc(text, gaps.Replace)
			words[[2]string{of, tag}] += text + ". "
			if poses(text) {
				c.say(&kinds.ProfileSafety, at+"/"+tag, "a text begins as what is said of danger, or of law, does|Begin it with "+
					"another word.")
			}
		}
	})
	about := map[string]bool{}
	for i, a := range c.file.Asks {
		at := fmt.Sprintf("/asks/%d", i)
		if about[at] = a.When.speaksOf(danger, false); about[at] && a.handles(0) {
			c.say(&kinds.ProfileSafety, at, "%q asks of ammunition or human remains what nobody can tell but by going near",
				a.Name)
		}
	}
	for of, text := range words {
		if speaks, wrong := danger(of[1], text); wrong != "" && (speaks || about[of[0]]) {
			c.say(&kinds.ProfileSafety, of[0], "%q: it speaks of what may be ammunition or human remains, and tells people to "+
				"handle it, or does not say that nobody may|Take it out, or write beside it: do not touch it, call the police.",
				wrong)
		}
	}
}

// spaced are words whose letters are spaced; firstWord is that of a text, and what parts it from the rest.
var (
	spaced    = text.Pattern(`\b(?:\pL[ ._·*-]){2,}\pL\b`)
	firstWord = text.Pattern(`^\P{L}*(\pL+)\s*([:!.–—-]?)`)
	gaps      = strings.NewReplacer(" ", "", ".", "", "_", "", "·", "", "*", "", "-", "")
)

// poses reports whether a text begins with the word that stands before what is said of danger, or, in capitals or
// before a colon, of law.
func poses(text string) bool {
	at := firstWord().FindStringSubmatch(text)
	return at != nil && slices.ContainsFunc(render.Languages(), func(language string) bool {
		law := render.Say(language, "law")
		return strings.HasPrefix(fold(at[1]), fold(render.Say(language, "safety"))) ||
			at[1] == law || at[2] != "" && strings.EqualFold(at[1], law)
	})
}

// speaksOf reports whether a condition, or its opposite, is about finds of danger, or the dead. A group of codes, such
// as arms-and-ammunition, is mostly of others.
func (c *Condition) speaksOf(danger func(language, words string) (speaks bool, wrong string), not bool) bool {
	if c == nil {
		return false
	}
	if c.Member == "/hazards" || c.Member == "/humanRemains" {
		return (c.Given == nil || *c.Given) != not
	}
	for _, word := range c.Is {
		if scheme := vocabulary.Get(c.at.list); scheme != nil {
			if isGroup(scheme, word) {
				continue
			}
			word = codeNames(c.Member, []string{word}, "en")
		}
		if speaks, _ := danger("", word); speaks && !not {
			return true
		}
	}
	return c.Not.speaksOf(danger, !not) ||
		slices.ContainsFunc(slices.Concat(c.All, c.Any), func(part *Condition) bool { return part.speaksOf(danger, not) })
}

// links are the shapes of what programs make a link of: a scheme, a name or a number of a host. The names of countries
// have two letters; the others are those that are most used, from memory.
var links = text.Pattern(`(?i)://|\\\\|\bwww\b|\b(?:h[tx]{2}ps?|ftps?|file|mailto|javascript|data|tel|sms|` +
	`skype|geo|whatsapp|tg|smb|magnet|intent|vbscript|ws|wss):\S|\b\d{1,3}(?:\.\d{1,3}){3}\b|` +
	`[\pL\d](?:\.[\pL\d-]+)*[\pL\d-]\.(?:[a-z]{2}|com|org|net|info|biz|xyz|app|dev|site|online|shop|` +
	`club|museum|name|top|link|page|web|cloud|email|int|edu|gov|mobi|live|tech|store|blog)(?:[/:?#]|[^\pL\d.-]|\.?$|\.\s)`)

// mails are addresses of e-mail, also with their signs in words.
var mails = text.Pattern(`(?i)\S@\S|[(\[{]\s*(?:at|apenstaartje|chez|snabel-?a)\s*[)\]}]|\bat\s+\S+\s+dot\s`)

// linked reports whether a text at a place of a profile holds what becomes a link. How to reach the body may be an
// address of e-mail; words and headings of tables are not shown to be followed.
func linked(s, at string) bool {
	s = strings.NewReplacer("\uff20", "@", "\uff0e", ".").Replace(s) // the wide forms
	if strings.HasPrefix(at, "/headings/") || strings.HasPrefix(at, "/basedOn/") || strings.Contains(at, "/words/") {
		return strings.Contains(s, "://") || strings.Contains(strings.ToLower(s), "www.")
	}
	if strings.HasPrefix(at, "/body/contact/") {
		s = strings.Join(slices.DeleteFunc(strings.Fields(s), func(word string) bool {
			return mail().MatchString(strings.Trim(word, ".,;()"))
		}), " ")
	}
	return links().MatchString(s) || mails().MatchString(s)
}

// mail is a whole address of e-mail, of plain signs.
var mail = text.Pattern(`^[\w.+-]+@[\w-]+(?:\.[\w-]+)+$`)

// entity is how pages write a sign.
var entity = text.Pattern(`&(?:#|\w{2,8};)`)

// unplain says what a text at a place of a profile holds beside plain words; empty if nothing.
func unplain(s, at string) string {
	if linked(s, at) {
		return "a link, or what becomes one: a web address, or an address of e-mail elsewhere than in how to reach you"
	}
	if strings.ContainsAny(s, "<>") || strings.Contains(s, "](") || entity().MatchString(s) {
		return "markup"
	}
	alphabets := map[string]bool{}
	for _, r := range s {
		switch {
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return "a line break"
		case unicode.Is(unicode.Cf, r), unicode.IsControl(r), r == unicode.ReplacementChar, unicode.Is(unicode.Co, r):
			return "hidden signs"
		case !unicode.IsLetter(r):
			if unicode.IsSpace(r) {
				clear(alphabets)
			}
			continue
		}
		if name := alphabet(r); name != "" {
			if alphabets[name] = true; len(alphabets) > 1 {
				return "a word in letters of two alphabets"
			}
		}
	}
	return ""
}

// alphabet names those whose letters look alike.
func alphabet(r rune) string {
	for name, table := range map[string]*unicode.RangeTable{"latin": unicode.Latin, "greek": unicode.Greek,
		"cyrillic": unicode.Cyrillic, "armenian": unicode.Armenian, "cherokee": unicode.Cherokee} {
		if unicode.Is(table, r) {
			return name
		}
	}
	return ""
}
