package share

import (
	"context"
	"fmt"
	"reflect"
	"strconv"
	"strings"
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
	at       int    // of the find among those of the copy, from 1; 0: the report
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
func Spans(ctx context.Context, source *find.Report, c *Copied, a Audience) ([]Span, error) {
	if a == Self {
		return nil, ctx.Err()
	}
	s, copied := secretsOf(ctx, source, c, a), c.Report
	out := flatSpans(s, "", "", &find.Report{Title: copied.Title})
	for i := range copied.People {
		out = append(out, flatSpans(s, "", fmt.Sprintf("/people/%d", i), &copied.People[i])...)
	}
	for i := range copied.Permissions {
		out = append(out, flatSpans(s, "", fmt.Sprintf("/permissions/%d", i), &copied.Permissions[i])...)
	}
	for i := range copied.Outings {
		out = append(out, flatSpans(s, "", fmt.Sprintf("/outings/%d", i), &copied.Outings[i])...)
	}
	for at, f := range copied.Finds {
		if ctx.Err() != nil {
			break
		}
		spans := flatSpans(s, c.Label(f), "", f)
		for i := range spans {
			spans[i].at = at + 1
		}
		out = append(out, spans...)
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	return out, nil
}

// Label is the number or name that the owner knows a find of the copy by.
func (c *Copied) Label(f *find.Find) string {
	if label := c.labels[c.Back[f.ID]]; label != "" {
		return label
	}
	return findLabel(f)
}

func flatSpans[T find.Record](s *secrets, label, prefix string, record *T) (out []Span) {
	for c := range find.Flat(record) {
		if s.ctx.Err() != nil {
			return nil // Spans says so
		}
		if c.Pointer != "/id" {
			out = append(out, s.spans(label, prefix+c.Pointer, c.Text)...)
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

// offerNotes gives notes back that the table takes away, where nothing in them leaks.
func (c *copier) offerNotes() {
	if c.action("finds.notes") != withhold || c.o.Policy != nil && c.o.Policy.leaves["finds.notes"][c.o.Audience] != "" {
		return
	}
	s := secretsOf(c.ctx, c.source, c.out, c.o.Audience)
	for _, f := range c.out.Report.Finds {
		if c.ctx.Err() != nil {
			return // Copy says so
		}
		source := c.from[f]
		if source == nil || source.Notes == "" {
			continue
		}
		if leaks := s.spans(findLabel(source), "/notes", source.Notes); len(leaks) > 0 {
			c.out.Held = append(c.out.Held, leaks...)
			continue
		}
		f.Notes = source.Notes
		delete(f.Absent, "/notes")
	}
}

// HoldBack withholds from a copy the members in whose words something leaks, and names them in
// absent; of a picture only the caption. A name goes only where a number stays. It reports whether it
// changed anything.
func HoldBack(c *Copied, spans []Span) bool {
	copied := c.Report
	changed := false
	for _, s := range spans {
		parts := strings.Split(strings.TrimPrefix(s.Pointer, "/"), "/")
		var f *find.Find
		if s.at > 0 && s.at <= len(copied.Finds) {
			f = copied.Finds[s.at-1]
		}
		switch {
		case f != nil && len(parts) == 3 && parts[0] == "media" && parts[2] == "caption":
			if i, err := strconv.Atoi(parts[1]); err == nil && i < len(f.Media) {
				f.Media[i].Caption = ""
				f.Absent, changed = noted(f.Absent, "/media/caption"), true
			}
		case f != nil && (parts[0] != "name" || f.Number != "") && parts[0] != "number":
			f.Absent, changed = withheld(reflect.ValueOf(f).Elem(), parts[0], f.Absent, changed)
		case f == nil && parts[0] == "title":
			copied.Absent, changed = withheld(reflect.ValueOf(copied).Elem(), "title", copied.Absent, changed)
		case f == nil && len(parts) >= 3:
			i, err := strconv.Atoi(parts[1])
			if err != nil {
				continue
			}
			switch {
			case parts[0] == "permissions" && i < len(copied.Permissions):
				p := &copied.Permissions[i]
				p.Absent, changed = withheld(reflect.ValueOf(p).Elem(), parts[2], p.Absent, changed)
			case parts[0] == "outings" && i < len(copied.Outings):
				o := &copied.Outings[i]
				o.Absent, changed = withheld(reflect.ValueOf(o).Elem(), parts[2], o.Absent, changed)
			}
		}
	}
	return changed
}

// withheld takes a member out of a record by its name in JSON, and notes that it was withheld.
func withheld(v reflect.Value, member string, absent map[string]string, changed bool) (map[string]string, bool) {
	t := v.Type()
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name == member && name != "id" && !v.Field(i).IsZero() {
			v.Field(i).SetZero()
			return noted(absent, "/"+member), true
		}
	}
	return absent, changed
}
