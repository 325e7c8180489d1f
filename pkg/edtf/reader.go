package edtf

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/lexicon"
)

// reader is one reading of a text, with its options and the notes it gathers.
type reader struct {
	input   string // as given
	text    string // without blanks around it
	options Options
	notes   []Note
	clash   uint32 // languages that differ in a word
}

func (r *reader) note(code, message string) {
	for _, n := range r.notes {
		if n.Code == code && n.Message == message {
			return
		}
	}
	r.notes = append(r.notes, Note{Code: code, Message: message})
}

// fail makes an error about one part of the input.
func (r *reader) fail(code, part, message, help string, proposals ...string) *Error {
	part = strings.TrimSpace(part)
	return &Error{Input: r.input, Code: code, Part: part, At: max(0, strings.Index(r.input, part)),
		Message: message, Help: help, Proposals: proposals}
}

// failText makes an error about the whole text.
func (r *reader) failText(code, message, help string, proposals ...string) *Error {
	return r.fail(code, r.text, message, help, proposals...)
}

func (r *reader) notRead() *Error {
	if lexicon.Says("day-near", r.text) {
		return r.failText("date-relative", "a day counted from another day is not read",
			"type the date itself, such as 2026-04-12")
	}
	return r.failText("date-not-read", "this is not read as a date",
		"type the date as year-month-day, such as 2026-04-12, or with the month in words, such as 12 April 2026")
}

// beginsAfter reports whether even the first day of a point is after a day; of
// a season, whether its year is.
func (p point) beginsAfter(today Day) bool {
	if day, ok := p.bound(false); ok {
		return day.Compare(today) > 0
	}
	return p.yearBound(false) > today.Year
}

// future refuses a date of which one end begins after today.
func (r *reader) future(d Date) *Error {
	today := r.options.Today
	if today.IsZero() || d.IsZero() {
		return nil
	}
	if !(d.start == Stated && d.from.beginsAfter(today)) && !(d.end == Stated && d.to.beginsAfter(today)) {
		return nil
	}
	return r.failText("date-future", "this is after "+today.String()+", the day that counts as today",
		"look at the year and at the order of day and month")
}

// inLanguages reads a text with the words of all languages. Where one of its words means another thing in another
// language, it is read in each that has the word: what they read alike stands, and what they do not is refused.
func inLanguages[T any](s string, o Options, read func(Options) (T, uint32, *Error), show func(T) string) (T, error) {
	out, clash, err := read(o)
	if clash == 0 || o.Language != nil {
		return result(out, err)
	}
	var first T
	var texts, names []string
	languages := lexicon.Each(clash)
	if len(languages) == 1 {
		o.Language = languages[0]
		if one, _, bad := read(o); bad == nil {
			return one, nil
		}
		return result(out, err)
	}
	for _, l := range languages {
		o.Language = l
		one, _, bad := read(o)
		if bad != nil || slices.Contains(texts, show(one)) {
			continue
		}
		if len(texts) == 0 {
			first = one
		}
		texts, names = append(texts, show(one)), append(names, l.English)
	}
	switch {
	case len(texts) == 1:
		return first, nil
	case len(texts) == 0:
		return result(out, err)
	}
	var none T
	return none, &Error{Input: s, Code: "language-ambiguous", Part: s, Proposals: texts,
		Message: "this is one date in " + names[0] + " and another in " + names[1],
		Help:    "say which language the log is in, or write the date in figures, with the year first"}
}

// result keeps an error that is none from being one.
func result[T any](out T, err *Error) (T, error) {
	if err != nil {
		var none T
		return none, err
	}
	return out, nil
}
