package desk

import (
	"bytes"
	"errors"
	"regexp"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/limit"
)

// Steps are the names of those steps of a page in which people do what they type into a command elsewhere. A page has
// no command: what would name one, or a flag of one, names the step, or says nothing of it.
type Steps struct{ Understood, Mend string }

// commandTalk is what is said of commands and flags, in the order in which it is looked for, with what stands for it: U
// and M are the names of the steps.
var commandTalk = sync.OnceValue(func() []commandWords {
	return []commandWords{
		{regexp.MustCompile(`Or write the plan with findslip columns (?:[^.]|\.json)*\.`),
			"Or say in U what each column is."},
		{regexp.MustCompile(`, as share and pack --for[^.]*| with share, or pack --for[^.]*|\s?: findslip check\b[^.]*`), ""},
		{regexp.MustCompile(` ?\([^()]*(?:--[a-z]|findslip [a-z])[^()]*\)`), ""},
		{regexp.MustCompile(`, such as --[a-z-]+ [\w:]+|,[^,.;]*--pivot[^.;]*`), ""},
		{regexp.MustCompile(` in (?:the reading plan|a column map): findslip columns\b(?:\.json|[^<.;,:])*`), " in U"},
		{regexp.MustCompile(`findslip columns\b(?:\.json|[^<.;,:])*`), "U"},
		{regexp.MustCompile(`findslip repair\b`), "M"},
		{regexp.MustCompile(`[^.;:]*findslip (?:[a-z]+)\b[^.;:]*[.;:]?`), ""},
		{regexp.MustCompile(`--(?:date-order|system|log-language|unit|columns|encoding|sheet)\b` +
			`(?: (?:dmy|mdy|de|EPSG:\d+|\d{4}|\p{Lu}{3,}))?(?: or mdy)?`), "U"},
		{regexp.MustCompile(`\s*:? ?--[a-z][a-z-]{2,}(?: \p{Lu}{3,})?`), ""},
	}
})

type commandWords struct {
	said    *regexp.Regexp
	instead string
}

// Plain says a text without commands and flags.
func (s Steps) Plain(text string) string {
	if s == (Steps{}) || !strings.Contains(text, "--") && !strings.Contains(text, "findslip ") {
		return text
	}
	names := strings.NewReplacer("U", s.Understood, "M", s.Mend)
	for _, one := range commandTalk() {
		text = one.said.ReplaceAllLiteralString(text, names.Replace(one.instead))
	}
	return strings.TrimRight(strings.TrimSpace(text), ": ")
}

var betweenTags = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`>[^<]+`) })

// page says the texts of a page of HTML plainly. Its style stands before its body.
func (s Steps) page(html []byte) []byte {
	at := max(0, bytes.Index(html, []byte("<body")))
	said := betweenTags().ReplaceAllFunc(html[at:], func(text []byte) []byte {
		if !bytes.Contains(text, []byte("--")) && !bytes.Contains(text, []byte("findslip ")) {
			return text
		}
		return []byte(">" + s.Plain(string(text[1:])))
	})
	return append(html[:at:at], said...)
}

// error says plainly why something could not be done. Of a log that is too long for a page the page has its own words.
func (s Steps) error(err error) error {
	var beyond *limit.Error
	switch {
	case err == nil || s == (Steps{}):
		return err
	case errors.As(err, &beyond):
		return errors.New("too long")
	}
	return errors.New(s.Plain(err.Error()))
}
