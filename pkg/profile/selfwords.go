package profile

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
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
	for _, message := range sortedKeys(told) {
		c.say(&kinds.ProfileLanguage, first[message], "%d of its %s", told[message], message)
	}
}

// eachText visits every text of the profile, in the order of the file's members.
func (c *checker) eachText(visit func(t Text, at string)) {
	textType := reflect.TypeFor[Text]()
	var walk func(v reflect.Value, at string)
	walk = func(v reflect.Value, at string) {
		switch {
		case v.Type() == textType:
			if t := v.Interface().(Text); len(t) > 0 {
				visit(t, at)
			}
		case v.Kind() == reflect.Pointer && !v.IsNil():
			walk(v.Elem(), at)
		case v.Kind() == reflect.Struct:
			for i := range v.NumField() {
				name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
				if v.Type().Field(i).IsExported() && name != "" {
					walk(v.Field(i), at+"/"+name)
				}
			}
		case v.Kind() == reflect.Slice && v.Type().Elem().Kind() != reflect.Uint8:
			for i := range v.Len() {
				walk(v.Index(i), fmt.Sprintf("%s/%d", at, i))
			}
		}
	}
	walk(reflect.ValueOf(&c.file.Profile), "")
}

// texts looks through everything that people are shown.
func (c *checker) texts() {
	look := func(at, text string) {
		if what := unplain(text); what != "" {
			c.say(&kinds.ProfileShape, at, "the text holds %s|Take it out of the text.", what)
		}
	}
	c.eachText(func(t Text, at string) {
		for _, tag := range sortedKeys(t) {
			look(at+"/"+tag, t[tag])
		}
	})
	f := &c.file.Profile
	for i, a := range f.Asks {
		look(fmt.Sprintf("/asks/%d/from", i), a.From)
		a.When.eachWord(fmt.Sprintf("/asks/%d/when", i), look)
	}
	if f.Covers != nil {
		f.Covers.When.eachWord("/covers/when", look)
	}
	for i := range f.Waivers {
		look(fmt.Sprintf("/waivers/%d/by", i), f.Waivers[i].By)
		f.Waivers[i].When.eachWord(fmt.Sprintf("/waivers/%d/when", i), look)
	}
	for _, heading := range sortedKeys(f.Headings) {
		look("/headings/"+notice.Escape(heading), heading)
	}
	for i, t := range f.Terms {
		for _, word := range sortedKeys(t.Words) {
			look(fmt.Sprintf("/terms/%d/words/%s", i, notice.Escape(word)), word)
		}
	}
}

// eachWord visits the words that a condition names, which are shown with it.
func (c *Condition) eachWord(at string, visit func(at, text string)) {
	if c == nil {
		return
	}
	for _, word := range slices.Concat(c.Is, c.Land) {
		visit(at, word)
	}
	for _, part := range c.parts() {
		part.eachWord(at, visit)
	}
}

// unplain says what a text holds beside plain words; empty if nothing.
func unplain(s string) string {
	lower := strings.ToLower(s)
	for _, link := range []string{"://", "www.", "mailto:", "javascript:", "data:", "file:"} {
		if strings.Contains(lower, link) {
			return "a link"
		}
	}
	if strings.ContainsAny(s, "<>") || strings.Contains(s, "](") || strings.Contains(s, "&#") {
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
