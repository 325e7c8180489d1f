package pipeline

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/render"
)

// saying gathers what is reported in a run: groups always, and the notices themselves as far as they are asked for.
type saying struct {
	r      *Result
	spool  *notice.Spool
	brief  bool
	fields map[string]struct{}
	lines  *lines             // of native JSON; nil: not asked for
	known  map[[2]string]bool // of an entry with very many notices: those that were given
}

// mostNotices is how many notices Result holds; Groups count on, and a Spool takes all.
const mostNotices = 200_000

// mostFields is how many fields are told apart; a log of more is said to have many.
const mostFields = 10_000

func newSaying(r *Result, o Options, file string) *saying {
	r.Groups = &notice.Groups{}
	r.Seen = render.Seen{File: file, Table: r.Format == XLSX || r.Format == CSV}
	return &saying{r: r, spool: o.Spool, brief: o.Brief, fields: map[string]struct{}{}}
}

// entry takes the notices of an entry, each located and once for its place, and what was read of the find.
func (s *saying) entry(e *find.Entry) error {
	if e.Find != nil {
		s.see(e.Find)
	}
	clear(s.known)
	for i := range e.Notices {
		n := e.Notices[i]
		if !s.first(e.Notices[:i], &n) {
			continue
		}
		n.Written = wordsAt(e.Find, n.Pointer)
		e.Locate(&n)
		s.line(&n)
		if err := s.add(n); err != nil {
			return err
		}
	}
	return nil
}

// line says on which line of a report in native JSON a notice is, where that is asked for.
func (s *saying) line(n *notice.Notice) {
	if s.lines != nil && n.Line == 0 {
		n.Line = s.lines.at(n.Pointer)
	}
}

// add counts a notice and keeps it where it is asked for.
func (s *saying) add(n notice.Notice) error {
	if n.Accepted == "" {
		s.r.Groups.Add(&n)
	} else if len(s.r.Accepted) < mostNotices {
		s.r.Accepted.Add(n)
	}
	switch {
	case n.Accepted != "", s.brief:
	case s.spool != nil:
		return s.spool.Add(n)
	case len(s.r.Notices) < mostNotices:
		s.r.Notices.Add(n)
	default:
		s.r.Truncated = true
	}
	return nil
}

func (s *saying) end() {
	s.r.Notices.Sort()
	s.r.Accepted.Sort()
	s.r.Seen.Fields = len(s.fields)
}

// see counts a find, its field and its day.
func (s *saying) see(f *find.Find) {
	s.r.Seen.Finds++
	field := f.Permission
	if field == "" && f.Place != nil {
		field = f.Place.Name
	}
	if _, ok := s.fields[field]; field != "" && !ok && len(s.fields) < mostFields {
		s.fields[strings.Clone(field)] = struct{}{}
	}
	if f.Found != nil {
		s.r.Seen.Days++
		s.r.Seen.Day(f.Found.Date)
	}
	if field != "" || f.Position != nil || f.Place != nil {
		s.r.Seen.Spots++
	}
	if f.Name != "" || f.ObjectClass != nil {
		s.r.Seen.Named++
	}
}

const many = 50

// first reports whether a notice has not been given at its place already: a reading and a rule may
// both speak of one fault, and to the rule gr is a unit that is missing.
func (s *saying) first(before notice.List, n *notice.Notice) bool {
	if len(before) < many {
		for i := range before {
			if before[i].Pointer == n.Pointer && (before[i].Kind.Code == n.Kind.Code ||
				before[i].Kind.Code == alias(n.Kind.Code)) {
				return false
			}
		}
		return true
	}
	if len(s.known) == 0 {
		s.known = map[[2]string]bool{}
		for i := range before {
			s.known[[2]string{before[i].Kind.Code, before[i].Pointer}] = true
		}
	}
	key := [2]string{n.Kind.Code, n.Pointer}
	was := s.known[key] || s.known[[2]string{alias(n.Kind.Code), n.Pointer}]
	s.known[key] = true
	return !was
}

// alias is the code of the notice of a reading that says what the rule with this code would say.
func alias(code string) string {
	if code == kinds.UnitMissing.Code {
		return kinds.UnitAmbiguous.Code
	}
	return ""
}

// wordsAt returns what stood at a pointer of a find, where a notice may show it: words about a day, a measure,
// a count, an age, a material or a state. Names, places and notes are never shown, and no text that looks as
// if such a thing had come into the wrong column.
func wordsAt(f *find.Find, pointer string) string {
	if f == nil {
		return ""
	}
	text, day := "", false
	first, rest, _ := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
	switch {
	case first == "columns":
		text = f.Columns[notice.Unescape(rest)]
	case first == "name":
		text = f.Name
	case first == "number":
		text = f.Number
	case first == "notes":
		text = f.Notes
	case rest == "completeness" && f.Condition != nil && f.Condition.Completeness != nil:
		text = f.Condition.Completeness.Verbatim
	case first == "dimensions" && f.Dimensions != nil:
		d := f.Dimensions
		if q := map[string]*find.Quantity{"length": d.Length, "width": d.Width, "height": d.Height,
			"thickness": d.Thickness, "diameter": d.Diameter}[rest]; q != nil {
			text = q.Verbatim
		}
	case first == "found" && f.Found != nil:
		text, day = f.Found.Verbatim, true
	case first == "depth" && f.Depth != nil:
		text = f.Depth.Verbatim
	case first == "count" && f.Count != nil:
		text = f.Count.Verbatim
	case first == "weight" && f.Weight != nil:
		text = f.Weight.Verbatim
	case first == "dating" && f.Dating != nil:
		text, day = f.Dating.Verbatim, true
	case strings.HasPrefix(pointer, "/materials/0") && len(f.Materials) > 0:
		text = f.Materials[0].Verbatim
	case strings.HasPrefix(pointer, "/objectClass") && f.ObjectClass != nil:
		text = f.ObjectClass.Verbatim
	case strings.HasPrefix(pointer, "/disposition") && f.Disposition != nil:
		text = f.Disposition.Verbatim
	}
	if text == "" || utf8.RuneCountInString(text) > 32 || strings.ContainsRune(text, '@') || placelike(text, day) {
		return ""
	}
	return strings.Clone(text)
}

// placelike reports whether a text has so many figures that it may be a position or a telephone number. A day
// has up to eight, and then it is of figures with one sort of mark between them, or names its month.
func placelike(text string, day bool) bool {
	figures, letters, longest := 0, 0, 0
	for _, r := range text {
		switch {
		case r >= '0' && r <= '9':
			figures++
			letters = 0
		case unicode.IsLetter(r):
			letters++
			longest = max(longest, letters)
		default:
			letters = 0
		}
	}
	if !day || figures <= 4 {
		return figures > 4
	}
	mixed := strings.Contains(text, ".") && strings.Contains(text, "-")
	return figures > 8 || mixed || longest == 1 || longest == 2
}
