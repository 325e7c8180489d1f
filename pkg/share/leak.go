package share

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/render"
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
	// Beyond is what the table does not give the audience, by the places of the finds in the copy; Compared says that it
	// was looked for, in a copy that is read as a find report.
	Beyond   []string
	Compared bool
}

// A Search looks for what a source has and the audience of a copy may not see. It holds no texts of the source,
// only hashes of them.
type Search struct{ s *secrets }

// NewSearch gathers what is to be looked for. copied may be nil: what it shows by right is then not known.
func NewSearch(ctx context.Context, source Source, copied *Copied, a Audience) (*Search, error) {
	if a == Self {
		return &Search{}, ctx.Err()
	}
	s, err := secretsOf(ctx, source, copied, a)
	if err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	return &Search{s}, nil
}

// File looks through the finished bytes of a copy, of whatever format, piece by piece. Packed files (XLSX, KMZ,
// zip, gzip, xz, PDF, base64) are looked into, their names and comments too. Of the limits Held, for what has to be
// held whole, Expanded, for all that is unpacked, and Entries are looked at; a limit that is reached is a
// *limit.Error. The finder's own copy has no leaks.
func (s *Search) File(ctx context.Context, file io.ReaderAt, size int64, limits limit.Limits) (Looked, error) {
	if s.s == nil {
		return Looked{}, ctx.Err()
	}
	s.s.ctx = ctx
	limits = limits.WithDefaults()
	o := &opening{s: s.s, limits: limits, left: limits.Expanded}
	err := o.file(file, size, "")
	if stopped := ctx.Err(); stopped != nil {
		return Looked{}, fmt.Errorf("looking for leaks: %w", stopped)
	}
	return Looked{Leaks: once(o.out), Unread: o.unread}, err
}

// Name looks through the name of a file, without its folder, as File does through its bytes.
func (s *Search) Name(ctx context.Context, name string) ([]Leak, error) {
	if s.s == nil {
		return nil, ctx.Err()
	}
	s.s.ctx = ctx
	leaks := s.s.look(name, "")
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	return leaks, nil
}

// Leaks is File for a report that is held whole.
func Leaks(ctx context.Context, data []byte, source *find.Report, copied *Copied, a Audience,
	limits limit.Limits) (Looked, error) {
	s, err := NewSearch(ctx, Held(source), copied, a)
	if err != nil {
		return Looked{}, err
	}
	return s.File(ctx, bytes.NewReader(data), int64(len(data)), limits)
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
	s.quiet.begin(s)
	found := map[Leak]bool{}
	add := func(kind, member string, at, to int) {
		found[Leak{Kind: kind, Member: member, At: at, To: to, Part: part}] = true
	}
	ids, sums, stamps := fixedOf(text)
	for _, m := range ids {
		if x, ok := s.uuids[hash('u', strings.ToLower(text[m[0]:m[1]]))]; ok && x.find > -2 {
			s.tell(x, m[0], m[1], add)
		}
	}
	meant := blank(text, ids, sums, styleOf(text)) // without ids and sums, of which the digits mean nothing
	s.names(meant, add)
	s.slips(meant, add)
	s.byName(meant, add)
	timeless := blank(meant, stamps)
	figures := figuresText(timeless)
	if s.byForm(timeless, add); figures != timeless {
		s.byForm(figures, add)
	}
	if len(s.points) > 0 {
		s.digits(figures, add)
		s.spellings(figures, add)
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
	same := map[Leak]bool{}
	return slices.Clip(slices.DeleteFunc(out, func(l Leak) bool {
		stretch := Leak{Kind: l.Kind, At: l.At, To: l.To}
		if same[stretch] && strings.HasPrefix(l.Member, "/finds/") {
			return true // several finds lie on one spot
		}
		same[stretch] = true
		key := [2]string{l.Kind, l.Member}
		if end, ok := seen[key]; ok && l.At < end {
			return true
		}
		seen[key] = l.To
		return false
	}))
}

// styleOf finds the style of our own pages: its words are those of CSS, and "background" is no hill.
func styleOf(text string) [][2]int {
	if at := strings.Index(text, sheetStyle()); at >= 0 {
		return [][2]int{{at, at + len(sheetStyle())}}
	}
	return nil
}

var sheetStyle = sync.OnceValue(func() string {
	_, style, _ := strings.Cut(sheetText, "{{look}}")
	style, _, _ = strings.Cut(style, "</style>")
	return string(render.Look()) + style
})
