package share

import (
	"context"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
)

// A Leak is something in the bytes of a copy that its audience may not see. It names the kind and
// the member, never the thing itself.
type Leak struct {
	// position, grid-reference, name, place, contact, storage, value, number, id, email, phone, postcode, plate,
	// file-path, picture-position and the like
	Kind   string
	Member string // pointer in the source that it comes from; empty for what is found by its form
	At, To int    // byte offsets, from and to, in the text that was looked through
	Part   string // part of a packed file; empty else
}

// String says what leaks without quoting it.
func (l Leak) String() string {
	s := l.Kind
	if l.Member != "" {
		s += " from " + l.Member
	}
	if l.Part != "" {
		return fmt.Sprintf("%s at byte %d of %s", s, l.At, l.Part)
	}
	return fmt.Sprintf("%s at byte %d", s, l.At)
}

// Looked is what a search for leaks has found, and what it could not look into. Where both are empty
// nothing was found, which does not say that nothing is there.
type Looked struct {
	Leaks  []Leak
	Unread []string // parts that could not be looked into, and why
}

// Leaks looks through the finished bytes of a copy, of whatever format, for what the source has and
// the audience may not see. Packed files (XLSX, KMZ, zip, gzip, PDF, base64) are looked into, their names
// and comments too. copied may be nil: what it shows by right is then not known. Of the limits
// Held, for each part of a packed file, Expanded, for all of them, and Entries are looked at; a limit
// that is reached is a *limit.Error. The finder's own copy has no leaks.
func Leaks(ctx context.Context, data []byte, source *find.Report, copied *Copied, a Audience,
	limits limit.Limits) (Looked, error) {
	if a == Self {
		return Looked{}, ctx.Err()
	}
	limits = limits.WithDefaults()
	o := &opening{s: secretsOf(ctx, source, copied, a), limits: limits, left: limits.Expanded}
	err := o.open(data, "")
	if stopped := ctx.Err(); stopped != nil {
		return Looked{}, fmt.Errorf("looking for leaks: %w", stopped)
	}
	return Looked{o.out, o.unread}, err
}

// LeaksInName looks through the name of a file, without its folder, as Leaks does through its bytes.
func LeaksInName(ctx context.Context, name string, source *find.Report, copied *Copied, a Audience) ([]Leak, error) {
	if a == Self {
		return nil, ctx.Err()
	}
	leaks := secretsOf(ctx, source, copied, a).look(name, "")
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	return leaks, nil
}

// once keeps the first leak of each kind, member and part, so that several forms of one text tell
// each thing once.
func once(list []Leak) []Leak {
	type key struct{ kind, member, part string }
	seen := map[key]bool{}
	return slices.DeleteFunc(list, func(l Leak) bool {
		k := key{l.Kind, l.Member, l.Part}
		if seen[k] {
			return true
		}
		seen[k] = true
		return false
	})
}

// carried names what a picture tells beside what is seen.
func carried(img []byte, part string) (out []Leak) {
	for _, what := range picture.Carries(img) {
		if what == "position" || what == "serial-number" || what == "owner" || what == "words" || what == "maker-note" ||
			what == "trailer" {
			out = append(out, Leak{Kind: "picture-" + what, Part: part})
		}
	}
	return out
}

// look looks through a text as it is read.
func (s *secrets) look(text, part string) []Leak {
	if text == "" || s.ctx.Err() != nil {
		return nil
	}
	found := map[Leak]bool{}
	add := func(kind, member string, at, to int) {
		found[Leak{Kind: kind, Member: member, At: at, To: to, Part: part}] = true
	}
	ids := idsOf(text)
	for _, m := range ids {
		if x := s.uuids[strings.ToLower(text[m[0]:m[1]])]; x.kind != "" {
			add(x.kind, x.member, m[0], m[1])
		}
	}
	meant := blank(text, ids, sumsOf(text)) // without ids and sums, of which the digits mean nothing
	s.names(meant, add)
	s.slips(meant, add)
	timeless := blank(meant, stampsOf(meant))
	s.forms(timeless, add)
	if len(s.positions) > 0 {
		s.digits(figuresText(meant), add)
		s.spellings(figuresText(timeless), add)
	}
	out := make([]Leak, 0, len(found))
	for l := range found {
		l.At, l.To = min(l.At, len(text)), min(l.To, len(text))
		out = append(out, l)
	}
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i], out[j]
		return a.At < b.At || a.At == b.At && (a.Kind+a.Member < b.Kind+b.Member || a.Kind+a.Member == b.Kind+b.Member &&
			a.To > b.To)
	})
	// The same stretch may be read in several lengths: the longest tells enough.
	seen := map[[2]string]int{}
	return slices.Clip(slices.DeleteFunc(out, func(l Leak) bool {
		key := [2]string{l.Kind, l.Member}
		if end, ok := seen[key]; ok && l.At < end {
			return true
		}
		seen[key] = l.To
		return false
	}))
}
