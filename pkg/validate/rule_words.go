package validate

import (
	"fmt"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/lexicon"
	"github.com/findslip/findslip/pkg/text"
	"github.com/findslip/findslip/pkg/validate/internal/phrase"
)

var privateInWords = &Rule{
	Kind: kinds.PrivateInWords,
	Check: func(c *Case, say Say) {
		f := c.Find
		if f.Generalised["/position"] != "" {
			return
		}
		for _, m := range [...]struct{ pointer, text string }{{"/notes", f.Notes}, {"/description", f.Description}} {
			figures := 0
			for i := range len(m.text) {
				if c := m.text[i]; c >= '0' && c <= '9' {
					figures++
				}
			}
			mail := strings.Contains(m.text, "@")
			switch { // what cannot be there is not looked for
			case figures == 0 && !mail:
				continue
			case (mail || figures > 8) && contact().MatchString(m.text), figures > 5 && calls(m.text):
				say(m.pointer, "there is a telephone number or an e-mail address in the words")
			case pacedOut(m.text):
				say(m.pointer, "the words tell the exact spot")
			default:
				continue
			}
			return
		}
	},
}

var contact, sixFigures = text.Pattern(`[\w.+-]+@[\w-]+\.\w\w|(?:\+|\b0)(?:[ ./-]?\d){9,13}(?:\D|$)`),
	text.Pattern(`^\D{0,30}?(?:\d[ ./-]?){6,}`)

// calls reports whether a number of a telephone stands behind a word for calling.
func calls(text string) bool {
	var buf [phrase.MaxWord]byte
	for rest := text; rest != ""; {
		_, at := theTables().care["call"].At(rest)
		_, next, ok := phrase.Next(rest, &buf)
		if !ok {
			return false
		}
		if at > 0 && sixFigures().MatchString(next) {
			return true
		}
		rest = next
	}
	return false
}

// pacedOut reports whether a text says how far from a thing that stays where it is.
func pacedOut(text string) bool {
	var buf [phrase.MaxWord]byte
	care := theTables().care
	number, left := false, 0 // left: words in which the thing may still come
	for rest := text; ; {
		_, far := care["distance"].At(rest)
		_, thing := care["landmark"].At(rest)
		w, next, ok := phrase.Next(rest, &buf)
		switch {
		case !ok:
			return false
		case thing > 0 && left > 0:
			return true
		case far > 0 && number:
			left = 9
		}
		_, isFigure := digits(w)
		number, left, rest = isFigure || numberWord(w) > 0, left-1, next
	}
}

// weekdays are the names of the days of the week in every language, short ones left out.
var weekdays = sync.OnceValue(func() map[string]time.Weekday {
	days := map[string]time.Weekday{}
	for _, l := range lexicon.Languages() {
		for _, w := range l.Words["weekday"] {
			n, _ := strconv.Atoi(string(w.Is))
			for _, form := range w.Forms {
				if utf8.RuneCountInString(form) >= 5 {
					days[form] = time.Weekday(n % 7)
				}
			}
		}
	}
	return days
})

// otherWeekday returns the one day of the week with which the notes of a find, or a clause of them, begin, where it is
// not that of the day of finding.
func otherWeekday(c *Case) (words string) {
	f := c.Find
	found, ok := c.found()
	day, one := found.oneDay()
	if !ok || !one || f.Notes == "" {
		return ""
	}
	var buf [phrase.MaxWord]byte
	seen := 0
	for clause := range strings.FieldsFuncSeq(f.Notes, func(r rune) bool { return strings.ContainsRune(",;.:()–", r) }) {
		w, rest, ok := phrase.Next(clause, &buf)
		is, known := weekdays()[string(w)]
		if !ok || !known {
			continue
		}
		if seen++; seen > 1 {
			return ""
		}
		want := time.Date(day.Year, time.Month(day.Month), int(day.Day), 0, 0, 0, 0, time.UTC).Weekday()
		if is != want && len(strings.Fields(rest)) != 1 { // Sunday list is a name
			words = fmt.Sprintf("the words say %q, but %s is another day of the week", strings.TrimSpace(clause), day)
		}
	}
	return words
}
