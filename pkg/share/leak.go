package share

import (
	"archive/zip"
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"regexp"
	"slices"
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
)

// A Leak is something in the bytes of a copy that its audience may not see. It names the kind and
// the member, never the thing itself.
type Leak struct {
	Kind   string // position, grid-reference, name, place, contact, storage, value, id, email, phone, postcode, plate, file-path, picture-position and the like
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

// Leaks looks through the finished bytes of a copy, of whatever format, for what the source has and
// the audience may not see. Nil means that nothing was found, not that nothing is there.
func Leaks(data []byte, source *find.Report, copied *find.Report, a Audience) ([]Leak, error) {
	return LeaksWithin(data, source, copied, a, limit.Limits{})
}

// LeaksWithin is Leaks with limits, of which Held, for each part of a packed file, Expanded, for all
// of them, and Entries are looked at.
func LeaksWithin(data []byte, source *find.Report, copied *find.Report, a Audience, limits limit.Limits) ([]Leak, error) {
	if a == Self {
		return nil, nil
	}
	s := secretsOf(source, copied, a)
	if !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		return s.search(data, ""), nil
	}
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("looking for leaks: %w", err)
	}
	limits = limits.WithDefaults()
	if int64(len(r.File)) > limits.Entries {
		return nil, fmt.Errorf("looking for leaks: %w", limit.Over("entries", limits.Entries))
	}
	var out []Leak
	left := limits.Expanded
	for _, part := range r.File {
		f, err := part.Open()
		if err != nil {
			return nil, fmt.Errorf("looking for leaks in %.80q: %w", part.Name, err)
		}
		text, err := limit.ReadAll(f, "held", limits.Held)
		f.Close()
		if err != nil {
			return nil, fmt.Errorf("looking for leaks in %.80q: %w", part.Name, err)
		}
		if left -= int64(len(text)); left < 0 {
			return nil, fmt.Errorf("looking for leaks: %w", limit.Over("expanded", limits.Expanded))
		}
		out = append(out, s.search(text, part.Name)...)
	}
	return out, nil
}

// secret is one text that must not be found.
type secret struct {
	kind, member string
	text         string // folded
	whole        bool   // only as a whole word
}

type secrets struct {
	list      []secret
	quick     map[string]secret  // ids, and figures cut after four decimals: looked up, not searched for
	listed    map[[2]string]bool // kind and folded text of the list
	positions []place
	allowed   map[string]bool // numbers of the copy that may stand
	own       map[string]bool // folded words for the places of a landowner's own land
	audience  Audience
}

type place struct {
	point  coordinate.Point
	member string
}

// fold brings text to the form in which it is searched. It keeps every byte offset.
func fold(s string) string {
	return strings.Map(func(r rune) rune {
		if l := unicode.ToLower(r); utf8.RuneLen(l) == utf8.RuneLen(r) {
			return l
		}
		return r
	}, s)
}

// secretsOf gathers what an audience may not see.
func secretsOf(source, copied *find.Report, a Audience) *secrets {
	s := &secrets{allowed: map[string]bool{}, listed: map[[2]string]bool{}, quick: map[string]secret{}, audience: a}
	hidesPlaces := a == Public || a == Expert
	for _, f := range copied.Finds {
		if p := f.Position; p != nil && (!hidesPlaces || onGrid(p, f.Generalised["/position"])) {
			s.allowed[p.Latitude.String()], s.allowed[p.Longitude.String()] = true, true
		}
	}
	shown := map[string]bool{}
	for _, p := range copied.People {
		shown[fold(p.Name)], shown[fold(p.Contact)], shown[fold(p.Handle)] = true, true, true
	}
	for i, p := range source.People {
		member := fmt.Sprintf("/people/%d", i)
		for name, text := range map[string]string{"name": p.Name, "contact": p.Contact, "handle": p.Handle} {
			if text != "" && !shown[fold(text)] && (name != "handle" || hidesPlaces) {
				s.add("name", member+"/"+name, text, true)
			}
		}
	}
	kept := map[string]bool{}
	for _, p := range copied.Permissions {
		kept[p.ID] = true
	}
	if a == Landowner {
		s.own = ownWords(source, kept)
	}
	for i := range source.Permissions {
		p := &source.Permissions[i]
		if (hidesPlaces || a == Landowner && !kept[p.ID]) && p.Place != nil {
			s.place(fmt.Sprintf("/permissions/%d/place", i), p.Place)
		}
	}
	for i, f := range source.Finds {
		member := fmt.Sprintf("/finds/%d", i)
		s.add("storage", member+"/storagePlace", f.StoragePlace, true)
		s.add("value", member+"/value", f.Value, true)
		if a == Public {
			s.add("id", member+"/id", f.ID, false)
		}
		if !hidesPlaces && (a != Landowner || kept[f.Permission]) {
			continue
		}
		if f.Place != nil {
			s.place(member+"/place", f.Place)
		}
		s.position(member+"/position", f.Position)
		for j := range f.OtherPositions {
			s.position(fmt.Sprintf("%s/otherPositions/%d", member, j), &f.OtherPositions[j])
		}
	}
	if a == Public {
		s.add("id", "/id", source.ID, false)
	}
	return s
}

// ownWords are the words for places that a landowner knows: two fields may lie in one parish.
func ownWords(source *find.Report, kept map[string]bool) map[string]bool {
	own := map[string]bool{}
	add := func(p *find.Place) {
		if p != nil {
			own[fold(p.Name)], own[fold(p.Parish)], own[fold(p.Verbatim)] = true, true, true
		}
	}
	for i := range source.Permissions {
		if kept[source.Permissions[i].ID] {
			add(source.Permissions[i].Place)
		}
	}
	for _, f := range source.Finds {
		if kept[f.Permission] {
			add(f.Place)
		}
	}
	return own
}

func (s *secrets) add(kind, member, text string, whole bool) {
	text = strings.TrimSpace(text)
	if len([]rune(text)) < 3 || kind == "place" && s.own[fold(text)] {
		return // too short to mean anything, or told of the owner's own land
	}
	key := [2]string{kind, fold(text)}
	if s.listed[key] {
		return // one member tells enough
	}
	s.listed[key] = true
	if kind == "id" && strings.HasPrefix(key[1], urn) && len(key[1]) == urnLength || kind == "position" && cutForm.MatchString(key[1]) {
		s.quick[key[1]] = secret{kind, member, key[1], whole}
		return
	}
	s.list = append(s.list, secret{kind, member, key[1], whole})
}

func (s *secrets) place(member string, p *find.Place) {
	s.add("place", member+"/name", p.Name, true)
	s.add("place", member+"/parish", p.Parish, true)
	s.add("place", member+"/verbatim", p.Verbatim, true)
}

func (s *secrets) position(member string, p *find.Position) {
	if p == nil {
		return
	}
	s.add("position", member+"/verbatim", p.Verbatim, false)
	if len(squeeze(p.Verbatim)) >= 6 {
		s.add("position", member+"/verbatim", squeeze(p.Verbatim), false)
	}
	if !p.Latitude.Known() || !p.Longitude.Known() {
		return
	}
	for _, n := range []find.Number{p.Latitude, p.Longitude} {
		text := fourDecimals(n)
		if s.audience == Landowner {
			// The next field shares the first decimals: there only the whole figure tells.
			text = strings.TrimPrefix(n.String(), "-")
		}
		if len(text) >= 6 && !s.allowed[n.String()] {
			s.add("position", member, text, false)
		}
	}
	s.positions = append(s.positions, place{coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}, member})
}

// squeeze takes out all blanks.
func squeeze(s string) string { return strings.Join(strings.Fields(s), "") }

// fourDecimals returns a number cut after its fourth decimal, empty if it has fewer: digits that no
// centre of a cell has.
func fourDecimals(n find.Number) string {
	text := strings.TrimPrefix(n.String(), "-")
	whole, decimals, ok := strings.Cut(text, ".")
	if !ok || len(decimals) < 4 {
		return ""
	}
	return whole + "." + decimals[:4]
}

var (
	emailForm = regexp.MustCompile(`[\pL\d._%+-]+@[\pL\d-]+(\.[\pL\d-]+)*\.\pL{2,}`)
	phoneForm = regexp.MustCompile(`(\+|\b00|\b0)[1-9][\d ()/-]{7,14}\d\b`)
	postcodes = regexp.MustCompile(`\b[A-Z]{1,2}\d[A-Z\d]? \d[A-Z]{2}\b|\b\d{4} [A-Z]{2}\b`)
	plateForm = regexp.MustCompile(`\b[A-Z]{2}\d{2} [A-Z]{3}\b|\b[A-Z]{1,3}-[A-Z]{1,2} ?\d{1,4}\b`)
	pathForm  = regexp.MustCompile(`[A-Za-z]:\\\w|file://|(^|[\s"'>])/(home/\w|Users/\w|mnt/\w|media/[a-z][\w-]*/)`) // /media/view is a member
	harmless  = regexp.MustCompile(`urn:uuid:[0-9a-f-]{36}|[0-9a-f]{64}|\d{4}-\d{2}-\d{2}(T[\d:.]+(Z|[+-]\d{2}:\d{2})?)?|https?://[^\s"<]+`)
	wordForm  = regexp.MustCompile(`[\pL\d.,°'"′″+-]+`)
)

var jsonQuotes = strings.NewReplacer(`\"`, `"`, `\\`, `\`)

// dataAddress is a picture within a page.
var dataAddress = regexp.MustCompile(`data:image/[a-z]+;base64,[A-Za-z0-9+/=]*`)

// search looks through one text or picture, as it stands in a file.
func (s *secrets) search(raw []byte, part string) []Leak {
	if picture.Extension(raw) != "" {
		return carried(raw, part)
	}
	var out []Leak
	text := string(raw)
	trimmed := bytes.TrimSpace(bytes.TrimPrefix(raw, []byte("\xef\xbb\xbf")))
	switch {
	case bytes.HasPrefix(trimmed, []byte("<")), part != "":
		text = dataAddress.ReplaceAllStringFunc(text, func(address string) string {
			_, code, _ := strings.Cut(address, ",")
			if img, err := base64.StdEncoding.DecodeString(code); err == nil {
				out = append(out, carried(img, part)...)
			}
			return strings.Repeat(" ", len(address)) // letters that mean nothing
		})
		text = html.UnescapeString(text)
	case bytes.HasPrefix(trimmed, []byte("{")):
		text = jsonQuotes.Replace(text) // so that marks of minutes and paths stand as they were typed
	default:
		text = strings.ReplaceAll(text, `""`, `"`) // as a table of text doubles them
	}
	return append(out, s.look(text, part)...)
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
	found := map[Leak]bool{}
	add := func(kind, member string, at, to int) {
		l := Leak{Kind: kind, Member: member, At: at, To: to, Part: part}
		found[l] = true
	}
	folded := fold(text)
	squeezed := squeeze(folded)
	s.lookUp(folded, squeezed, add)
	for _, x := range s.list {
		if at := indexOf(folded, x.text, x.whole); at >= 0 {
			add(x.kind, x.member, at, at+len(x.text))
		} else if x.kind == "position" && strings.Contains(squeezed, x.text) && len(x.text) >= 6 {
			at, to := unsqueezed(folded, x.text)
			add(x.kind, x.member, at, to)
		}
	}
	blanked := harmless.ReplaceAllStringFunc(text, func(m string) string { return strings.Repeat(" ", len(m)) })
	for kind, form := range map[string]*regexp.Regexp{"email": emailForm, "file-path": pathForm} {
		if at := form.FindStringIndex(blanked); at != nil {
			add(kind, "", at[0], at[1])
		}
	}
	if s.audience == Public || s.audience == Expert {
		for kind, form := range map[string]*regexp.Regexp{"phone": phoneForm, "postcode": postcodes, "plate": plateForm} {
			if at := form.FindStringIndex(blanked); at != nil {
				add(kind, "", at[0], at[1])
			}
		}
		s.spellings(blanked, add)
	}
	out := make([]Leak, 0, len(found))
	for l := range found {
		out = append(out, l)
	}
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i], out[j]
		return a.At < b.At || a.At == b.At && (a.Kind+a.Member < b.Kind+b.Member || a.Kind+a.Member == b.Kind+b.Member && a.To < b.To)
	})
	// The same stretch may be read in several lengths: one of them tells enough.
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

const (
	urn       = "urn:uuid:"
	urnLength = len(urn) + 36
)

// cutForm is a figure of degrees cut after its fourth decimal.
var cutForm = regexp.MustCompile(`^\d{1,3}\.\d{4}$`)

// lookUp finds the ids and the cut figures of the source wherever they stand, also within longer
// figures. A report of many finds has many of them, too many to search for one by one.
func (s *secrets) lookUp(folded, squeezed string, add func(kind, member string, at, to int)) {
	if len(s.quick) == 0 {
		return
	}
	for from := 0; ; {
		i := strings.Index(folded[from:], urn)
		if i < 0 {
			break
		}
		if i += from; i+urnLength <= len(folded) {
			if x, ok := s.quick[folded[i:i+urnLength]]; ok {
				add(x.kind, x.member, i, i+urnLength)
			}
		}
		from = i + len(urn)
	}
	told := map[string]bool{}
	for n, text := range []string{folded, squeezed} {
		for from := 0; ; {
			dot := strings.IndexByte(text[from:], '.')
			if dot < 0 {
				break
			}
			dot += from
			from = dot + 1
			if dot+5 > len(text) {
				break
			}
			for k := 1; k <= 3 && dot-k >= 0 && text[dot-k] >= '0' && text[dot-k] <= '9'; k++ {
				x, ok := s.quick[text[dot-k:dot+5]]
				if !ok || told[x.text] {
					continue
				}
				told[x.text] = true
				at, to := dot-k, dot+5
				if n == 1 {
					at, to = unsqueezed(folded, x.text)
				}
				add(x.kind, x.member, at, to)
			}
		}
	}
}

// unsqueezed finds where a text without blanks begins and ends in one that has some.
func unsqueezed(text, want string) (at, to int) {
	for start := range len(text) {
		i, j := start, 0
		for i < len(text) && j < len(want) {
			switch {
			case text[i] == want[j]:
				i, j = i+1, j+1
			case j > 0 && (text[i] == ' ' || text[i] == '\t' || text[i] == '\n' || text[i] == '\r'):
				i++
			default:
				i = len(text)
			}
		}
		if j == len(want) {
			return start, i
		}
	}
	return 0, len(text)
}

// indexOf finds a text, as a whole word where asked.
func indexOf(text, want string, whole bool) int {
	for from := 0; ; {
		i := strings.Index(text[from:], want)
		if i < 0 {
			return -1
		}
		i += from
		if !whole || !wordByte(text, i-1) && !wordByte(text, i+len(want)) {
			return i
		}
		from = i + 1
	}
}

func wordByte(s string, i int) bool {
	return i >= 0 && i < len(s) && (s[i] >= 'a' && s[i] <= 'z' || s[i] >= '0' && s[i] <= '9' || s[i] >= 0x80)
}

// near is how close, in metres, a spelling must lie to a position of the source to be its leak.
const near = 2500

// spellings reads every run of words that could be a position, in any spelling that package
// coordinate knows, and compares it with the positions of the source.
func (s *secrets) spellings(text string, add func(kind, member string, at, to int)) {
	if len(s.positions) == 0 {
		return
	}
	words := wordForm.FindAllStringIndex(text, -1)
	for i := range words {
		if !strings.ContainsAny(text[words[i][0]:words[i][1]], "0123456789") && words[i][1]-words[i][0] > 3 {
			continue
		}
		for n := 1; n <= 8 && i+n <= len(words); n++ {
			from, to := words[i][0], words[i+n-1][1]
			if to-from > 60 || n > 1 && words[i+n-1][0]-words[i+n-2][1] > 3 {
				break
			}
			run := strings.Trim(text[from:to], `"',`)
			if s.allowedRun(run) || strings.Count(run, "") < 6 {
				continue
			}
			r, err := coordinate.Normalise(run, coordinate.Options{})
			if err != nil || r.Absent != "" || r.Uncertainty > near {
				continue
			}
			for _, p := range s.positions {
				if coordinate.Distance(r.Point, p.point) < near {
					add("grid-reference", p.member, from, to)
					break
				}
			}
		}
	}
}

// allowedRun tells a run made only of numbers that the copy gives as its own.
func (s *secrets) allowedRun(run string) bool {
	for _, w := range strings.FieldsFunc(run, func(r rune) bool { return r == ' ' || r == ',' }) {
		if !s.allowed[w] {
			return false
		}
	}
	return true
}
