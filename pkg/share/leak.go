package share

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"html"
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
	Kind   string // position, grid-reference, name, place, contact, storage, value, number, id, email, phone, postcode, plate, file-path, picture-position and the like
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

// maxDepth is how deep packed files within packed files are looked into.
const maxDepth = 3

// Leaks looks through the finished bytes of a copy, of whatever format, for what the source has and
// the audience may not see. Packed files (XLSX, KMZ, the zip of a hand-over) are looked into, their
// names and comments too. Nil means that nothing was found, not that nothing is there. Of the limits
// Held, for each part of a packed file, Expanded, for all of them, and Entries are looked at; a limit
// that is reached is a *limit.Error. The finder's own copy has no leaks.
func Leaks(ctx context.Context, data []byte, source, copied *find.Report, a Audience, limits limit.Limits) ([]Leak, error) {
	if a == Self {
		return nil, ctx.Err()
	}
	limits = limits.WithDefaults()
	s := secretsOf(ctx, source, copied, a)
	leaks, err := s.open(data, "", &opening{limits: limits, left: limits.Expanded})
	if stopped := ctx.Err(); stopped != nil {
		return nil, fmt.Errorf("looking for leaks: %w", stopped)
	}
	return leaks, err
}

// opening is what is left of the limits while packed files are looked into.
type opening struct {
	limits limit.Limits
	left   int64 // bytes that may still be unpacked
	depth  int
}

// LeaksInName looks through the name of a file, without its folder, as Leaks does through its bytes.
func LeaksInName(ctx context.Context, name string, source, copied *find.Report, a Audience) ([]Leak, error) {
	if a == Self {
		return nil, ctx.Err()
	}
	leaks := secretsOf(ctx, source, copied, a).look(name, "")
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	return leaks, nil
}

// open looks through one file, and through what is packed in it.
func (s *secrets) open(data []byte, part string, o *opening) ([]Leak, error) {
	if !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		return s.search(data, part), nil
	}
	if o.depth == maxDepth {
		return nil, fmt.Errorf("looking for leaks: files are packed more than %d deep; unpack them and look through each", maxDepth)
	}
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	if int64(len(r.File)) > o.limits.Entries {
		return nil, fmt.Errorf("looking for leaks: %w", limit.Over("entries", o.limits.Entries))
	}
	out := s.look(r.Comment, "the comment of the packed file")
	for i, file := range r.File {
		if s.ctx.Err() != nil {
			return nil, s.ctx.Err()
		}
		name := file.Name
		if leaks := s.look(name+"\n"+file.Comment+"\n"+string(file.Extra), fmt.Sprintf("the name of part %d", i+1)); len(leaks) > 0 {
			out = append(out, leaks...)
			name = fmt.Sprintf("part %d", i+1) // the name is not to be quoted
		}
		if part != "" {
			name = part + ": " + name
		}
		leaks, err := s.openPart(file, name, o)
		if err != nil {
			return nil, err
		}
		out = append(out, leaks...)
	}
	return out, nil
}

func (s *secrets) openPart(file *zip.File, name string, o *opening) ([]Leak, error) {
	f, err := file.Open()
	if err != nil {
		return nil, fmt.Errorf("looking for leaks in %.80q: %w", name, err)
	}
	defer f.Close()
	data, err := limit.ReadAll(f, "held", o.limits.Held)
	if err != nil {
		return nil, fmt.Errorf("looking for leaks in %.80q: %w", name, err)
	}
	if o.left -= int64(len(data)); o.left < 0 {
		return nil, fmt.Errorf("looking for leaks: %w", limit.Over("expanded", o.limits.Expanded))
	}
	o.depth++
	defer func() { o.depth-- }()
	return s.open(data, name, o)
}

// dataAddress is a picture within a page, whose signs may be written as marks of HTML: &#43; for +.
var dataAddress = later(`data:image/[a-z]+;base64,(?:[A-Za-z0-9+/=]|&#(?:43|47|61|x2[bBfF]|x3[dD]);)*`)

// markup is a tag of XML or HTML.
var markup = later(`<[^<>]*>`)

// search looks through one text or picture, as it stands in a file, in every form in which a
// reader would show it: escapes undone, and tags taken out, so that words split by them are whole.
func (s *secrets) search(raw []byte, part string) []Leak {
	if picture.Extension(raw) != "" {
		return carried(raw, part)
	}
	var out []Leak
	text := plain(raw)
	switch trimmed := strings.TrimSpace(text); {
	case strings.HasPrefix(trimmed, "<"):
		text = dataAddress().ReplaceAllStringFunc(text, func(address string) string {
			_, code, _ := strings.Cut(address, ",")
			img, err := base64.StdEncoding.DecodeString(html.UnescapeString(code))
			if err != nil || picture.Extension(img) == "" {
				return address // no picture, but words that somebody wrote
			}
			out = append(out, carried(img, part)...)
			return strings.Repeat(" ", len(address)) // letters that mean nothing
		})
		words := html.UnescapeString(markup().ReplaceAllString(text, " "))
		text = html.UnescapeString(text)
		out = append(out, s.look(text, part)...)
		out = append(out, s.look(words, part)...)
		if strings.Contains(text, `\`) { // JSON within XML
			out = append(out, s.look(unescaped(text), part)...)
		}
	case strings.HasPrefix(trimmed, "{"), strings.HasPrefix(trimmed, "["):
		out = append(out, s.look(unescaped(text), part)...)
	default:
		out = append(out, s.look(strings.ReplaceAll(text, `""`, `"`), part)...) // as a table of text doubles them
	}
	return once(out)
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
		if what == "position" || what == "serial-number" || what == "owner" || what == "words" || what == "maker-note" || what == "trailer" {
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
		if x, ok := s.uuids[strings.ToLower(text[m[0]:m[1]])]; ok {
			add(x.kind, x.member, m[0], m[1])
		}
	}
	meant := blank(text, ids, sumsOf(text)) // without ids and sums, of which the digits mean nothing
	s.words(meant, add)
	timeless := blank(meant, stampsOf(meant))
	s.forms(timeless, add)
	if len(s.positions) > 0 {
		s.digits(meant, add)
		s.spellings(timeless, add)
	}
	out := make([]Leak, 0, len(found))
	for l := range found {
		out = append(out, l)
	}
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i], out[j]
		return a.At < b.At || a.At == b.At && (a.Kind+a.Member < b.Kind+b.Member || a.Kind+a.Member == b.Kind+b.Member && a.To > b.To)
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
