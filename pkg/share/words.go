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
func (s *Search) Spans(ctx context.Context, c *Copied) (out []Span, err error) {
	if s.s == nil {
		return nil, ctx.Err()
	}
	s.s.ctx = ctx
	copied := c.Report
	out = flatSpans(s.s, "", "", &find.Report{Title: copied.Title})
	for i := range copied.People {
		out = append(out, flatSpans(s.s, "", fmt.Sprintf("/people/%d", i), &copied.People[i])...)
	}
	for i := range copied.Permissions {
		out = append(out, flatSpans(s.s, "", fmt.Sprintf("/permissions/%d", i), &copied.Permissions[i])...)
	}
	for i := range copied.Outings {
		out = append(out, flatSpans(s.s, "", fmt.Sprintf("/outings/%d", i), &copied.Outings[i])...)
	}
	at := 0
	err = c.Each(ctx, func(f *find.Find) error {
		at++
		spans := flatSpans(s.s, c.Label(f), "", f)
		for i := range spans {
			spans[i].at = at
		}
		out = append(out, spans...)
		return nil
	})
	if err != nil {
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
func (c *copier) offerNotes(chosen []int32) error {
	if !c.o.Notes || c.action("finds.notes") != withhold ||
		c.o.Policy != nil && c.o.Policy.leaves["finds.notes"][c.o.Audience] != "" {
		return nil
	}
	s, err := secretsOf(c.ctx, c.source, c.out, c.o.Audience)
	if err != nil {
		return err
	}
	for i := range c.out.Len() {
		if c.ctx.Err() != nil {
			return c.ctx.Err()
		}
		source, err := c.source.Finds.Get(int(chosen[c.out.places[i]]))
		if err != nil {
			return err
		}
		if source.Notes == "" {
			continue
		}
		text := source.Notes
		if c.o.Audience.coarse() {
			var left []string
			if text, left = c.sieve.sift(text); left != nil {
				c.out.Doubts = append(c.out.Doubts, Doubt{findLabel(source), "finds.notes", leftOutWhy, left})
			}
		}
		if text == "" {
			continue
		}
		leaks := s.spans(findLabel(source), "/notes", text)
		if len(leaks) > 0 {
			c.out.Held = append(c.out.Held, leaks...)
			continue
		}
		f, err := c.out.At(i)
		if err != nil {
			return err
		}
		f.Notes = text
		delete(f.Absent, "/notes")
		if err := c.out.put(i, f); err != nil {
			return err
		}
	}
	return nil
}

// HoldBack withholds from a copy the members in whose words something leaks, and names them in
// absent; of a picture only the caption. Where neither number nor name stays, the end of the id is the number, in
// figures. It reports whether it changed anything.
func HoldBack(ctx context.Context, c *Copied, spans []Span) (changed bool, err error) {
	ofFind := map[int][]string{}
	for _, s := range spans {
		parts := strings.Split(strings.TrimPrefix(s.Pointer, "/"), "/")
		if s.at > 0 {
			ofFind[s.at] = append(ofFind[s.at], s.Pointer)
		} else if heldAround(c.Report, parts) {
			changed = true
		}
	}
	at := 0
	err = c.Change(ctx, func(f *find.Find) bool {
		at++
		did := false
		for _, pointer := range ofFind[at] {
			if heldIn(f, strings.Split(strings.TrimPrefix(pointer, "/"), "/")) {
				did, changed = true, true
			}
		}
		return did
	})
	return changed, err
}

// heldIn withholds a member of a find.
func heldIn(f *find.Find, parts []string) (changed bool) {
	switch {
	case len(parts) == 3 && parts[0] == "media" && parts[2] == "caption":
		if i, err := strconv.Atoi(parts[1]); err == nil && i < len(f.Media) {
			f.Media[i].Caption = ""
			f.Absent, changed = noted(f.Absent, "/media/caption"), true
		}
	case len(parts) > 1 && parts[0] == "position" && f.Position != nil && parts[1] != "latitude" &&
		parts[1] != "longitude":
		gone := map[string]string{}
		if _, changed = withheld(reflect.ValueOf(f.Position).Elem(), parts[1], gone); changed {
			f.Absent = noted(f.Absent, "/position/"+parts[1])
		}
	default:
		f.Absent, changed = withheld(reflect.ValueOf(f).Elem(), parts[0], f.Absent)
		if f.Number == "" && f.Name == "" && len(f.ID) > 6 { // one of the two has to stay
			f.Number = figuresOf(f.ID)
			delete(f.Absent, "/number")
		}
	}
	return changed
}

// figuresOf is the end of an id in figures: letters among them may look like a postcode.
func figuresOf(id string) string {
	n, _ := strconv.ParseUint(id[max(0, len(id)-6):], 16, 32) // 0 where it is none
	return strconv.FormatUint(n%1e6, 10)
}

// heldAround withholds a member of a report, or of a record around its finds.
func heldAround(r *find.Report, parts []string) (changed bool) {
	if parts[0] == "title" {
		r.Absent, changed = withheld(reflect.ValueOf(r).Elem(), "title", r.Absent)
		return changed
	}
	if len(parts) < 3 {
		return false
	}
	i, err := strconv.Atoi(parts[1])
	switch {
	case err != nil:
	case parts[0] == "permissions" && i < len(r.Permissions):
		p := &r.Permissions[i]
		p.Absent, changed = withheld(reflect.ValueOf(p).Elem(), parts[2], p.Absent)
	case parts[0] == "outings" && i < len(r.Outings):
		o := &r.Outings[i]
		o.Absent, changed = withheld(reflect.ValueOf(o).Elem(), parts[2], o.Absent)
	}
	return changed
}

// withheld takes a member out of a record by its name in JSON, and notes that it was withheld.
func withheld(v reflect.Value, member string, absent map[string]string) (map[string]string, bool) {
	t := v.Type()
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name == member && name != "id" && !v.Field(i).IsZero() {
			v.Field(i).SetZero()
			return noted(absent, "/"+member), true
		}
	}
	return absent, false
}
