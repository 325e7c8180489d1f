package share

import (
	"fmt"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/find"
)

// A Span is a stretch of words that leaks, named by its place and never quoted.
type Span struct {
	Find     string // label of the find in the source; empty: the report
	Pointer  string // of the text, relative to the find
	From, To int    // characters, counted from 0; To is the one after the last
	Kind     string // as in Leak
	Member   string // as in Leak
}

// String says where the span is.
func (s Span) String() string {
	where := "find " + s.Find
	if s.Find == "" {
		where = "the report"
	}
	text := fmt.Sprintf("%s: %s, characters %d to %d: %s", where, s.Pointer, s.From+1, s.To, s.Kind)
	if s.Member != "" {
		text += " from " + s.Member
	}
	return text
}

// Spans looks through every text of a copy for what leaks and says where it stands, so that its
// owner can take it out. What leaks in the bytes and not in a text of a find is not among them.
func Spans(source, copied *find.Report, a Audience) []Span {
	if a == Self {
		return nil
	}
	s := secretsOf(source, copied, a)
	var out []Span
	for c := range find.Flat(&find.Report{Title: copied.Title}) {
		out = append(out, s.spans("", c.Pointer, c.Text)...)
	}
	for _, f := range copied.Finds {
		for c := range find.Flat(f) {
			if c.Pointer != "/id" {
				out = append(out, s.spans(findLabel(f), c.Pointer, c.Text)...)
			}
		}
	}
	return out
}

func (s *secrets) spans(label, pointer, text string) (out []Span) {
	for _, l := range s.look(text, "") {
		out = append(out, Span{Find: label, Pointer: pointer, Kind: l.Kind, Member: l.Member,
			From: utf8.RuneCountInString(text[:l.At]), To: utf8.RuneCountInString(text[:l.To])})
	}
	return out
}

// offerNotes gives notes back that the policy takes away, where nothing in them leaks.
func (c *copier) offerNotes() {
	if c.action("notes") != withhold || c.o.Policy.withholds("notes", c.o.Audience) {
		return
	}
	byID := map[string]*find.Find{}
	for _, f := range c.source.Finds {
		byID[f.ID] = f
	}
	s := secretsOf(c.source, c.out.Report, c.o.Audience)
	for _, f := range c.out.Report.Finds {
		id := f.ID
		if back, ok := c.out.Back[id]; ok {
			id = back
		}
		source := byID[id]
		if source == nil || source.Notes == "" {
			continue
		}
		if leaks := s.spans(findLabel(source), "/notes", source.Notes); len(leaks) > 0 {
			c.out.Held = append(c.out.Held, leaks...)
			continue
		}
		f.Notes = source.Notes
		delete(f.Absent, "/notes")
		if len(f.Absent) == 0 {
			f.Absent = nil
		}
	}
}
