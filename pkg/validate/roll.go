package validate

import (
	"cmp"
	"fmt"
	"hash/maphash"
	"maps"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
)

// A Roll is what a run remembers of every find, one line each in the order of the file, for the rules that compare
// finds with each other. It holds nothing that stands in a find, so that the memory of a find can be used for the
// next; a line is some 80 bytes with its label.
type Roll struct {
	blocks  [][]line
	n       int
	labels  []byte
	texts   []string // permissions, finders and places, numbered
	textAt  map[string]uint16
	origins []find.Origin
	links   []link
	beside  []besideOf
}

// A line is what is remembered of one find.
type line struct {
	id, bag, twin uint64 // sums of its id, of its number with finder and permission, and of what it says; 0: none
	x, y          int32  // longitude and latitude in units of 1e-7 degree, or metres
	radius        float32
	day           int32   // of finding, as dayNumber counts; noDay: not known to the day
	depth         float32 // cm; -1: not known
	light, heavy  float32 // grams of one object, least and greatest; -1: not known
	label         uint32  // offset among the labels
	words         uint32  // a sum of its name
	index, at     int32   // position in the file; row of the sheet or line of the text
	origin        uint16
	permission    uint16
	name          uint16 // of the place
	finder        uint16
	place         uint16 // the law that it stands under
	count         uint16
	thing         uint16 // place in schema/data/things.json and one; 0: none
	what          trait
	flags         flag
}

// flag is a yes about a find.
type flag uint16

const (
	hasSpot  flag = 1 << iota // it has an exact position
	onPlane                   // x and y are an easting and a northing in metres, of a grid that is not known
	ownsSpot                  // which claims to be its own
	made                      // its id was made from its number
	isRetracted
	inPieces  // not a whole thing
	noted     // notes or a description say something
	depthTold // of the depth
	clocked   // the time of recording is kept, as forms do
	misplaced // another rule speaks of its position
	hasName
	inInches   // its depth was said in inches or feet
	inPair     // its spot was written as two figures of a grid
	northFirst // and the larger stood first
)

const (
	noDay     = math.MinInt32
	rollBlock = 4096
)

var rollSeed = maphash.MakeSeed()

// sumOf sums up a text, never to zero; the empty text to zero.
func sumOf(s string) uint64 {
	if s == "" {
		return 0
	}
	return maphash.String(rollSeed, s) | 1
}

// sourceFile is the log that a find comes from, where several were read as one.
func sourceFile(f *find.Find) string {
	if f.Source == nil {
		return ""
	}
	return f.Source.File
}

// lineOf works out what is remembered of a find, but for what depends on the finds before it. It may be called for
// several finds at the same time.
func lineOf(c *Case) line {
	f := c.Find
	l := line{id: sumOf(f.ID), day: noDay, depth: -1, count: uint16(min(countOf(f), math.MaxUint16))}
	l.setBag(c)
	if f.Retracted != nil {
		l.flags |= isRetracted
	}
	if strings.HasPrefix(f.ID, "urn:uuid:") && len(f.ID) > 23 && f.ID[23] == '5' {
		l.flags |= made
	}
	l.setSpot(f)
	if found, ok := c.found(); ok {
		if day, one := found.oneDay(); one {
			l.day = int32(dayNumber(day))
		}
	}
	if f.Depth != nil && !implausible(c) {
		if d, ok := middle(&f.Depth.Quantity); ok {
			l.depth = float32(d)
		}
		if f.Depth.Said == "in" || f.Depth.Said == "ft" {
			l.flags |= inInches
		}
	}
	l.setNoted(f)
	if f.Recorded != nil && f.Recorded.At != "" {
		l.flags |= clocked
	}
	if f.Name != "" {
		l.flags |= hasName
		l.words = uint32(sumOf(f.Name) >> 32)
	}
	l.light, l.heavy = weights(f)
	if c.said != nil && slices.ContainsFunc(c.said.notices, func(s saying) bool { return s.notice.Pointer == "/weight" }) {
		l.light, l.heavy = -1, -1 // another rule speaks of it
	}
	if row, at := c.thing(); row != nil {
		l.thing = uint16(at + 1)
		if isPiece(c) {
			l.flags |= inPieces
		}
	}
	if p := c.placed(); !p.impossible && (p.onNull() || len(p.slips) > 0 || p.verdict == coordinate.Outside) {
		l.flags |= misplaced
	}
	if c.law().Has("treasure-same-find") {
		l.what = traitsOf(c)
	}
	if nearCoinOf(c) {
		if l.what |= nearCoin; material(f) == "gold" {
			l.what |= goldCoin
		}
	}
	if f.Retracted == nil && firstRow(c, "treasure-prehistoric") == nil && ofMetal(f) && !coinLike(c) && !isWaste(f) &&
		isPrehistoric(c) && !anybodyTold(f) {
		l.what |= prehistoricAlone
	}
	if goldIsTold(c) {
		l.what |= goldAlone
	}
	return l
}

// setNoted records whether the words of a find are any, and whether they speak of its depth.
func (l *line) setNoted(f *find.Find) {
	if f.Notes != "" || f.Description != "" {
		l.flags |= noted
	}
	if l.depth < leastFar {
		return
	}
	deep := theTables().care["depth"]
	told := deep.Has(f.Notes) || deep.Has(f.Description)
	for _, text := range f.Columns {
		told = told || deep.Has(text)
	}
	if told {
		l.flags |= depthTold
	}
}

// setBag sums up the number on the bag with who made the find and where.
func (l *line) setBag(c *Case) {
	f := c.Find
	if f.Number != "" && f.Retracted == nil {
		var h maphash.Hash
		h.SetSeed(rollSeed)
		permission := f.Permission
		if c.Permission != nil {
			permission = c.Permission.ID
		}
		for _, part := range [...]string{f.Finder, permission, sourceFile(f), find.FoldNumber(f.Number)} {
			h.WriteString(part)
			h.WriteByte(0)
		}
		l.bag = h.Sum64() | 1
	}
}

// setSpot takes over where a find lay.
func (l *line) setSpot(f *find.Find) {
	if p, ok := pointOf(f.Position); ok && f.Generalised["/position"] == "" {
		l.x, l.y = int32(math.Round(p.Longitude*1e7)), int32(math.Round(p.Latitude*1e7))
		radius, _ := radiusOf(f.Position)
		l.radius = float32(radius)
		l.flags |= hasSpot
		if claimsSpot(f) {
			l.flags |= ownsSpot
		}
	}
	if p := f.Position; p != nil && f.Generalised["/position"] == "" {
		if x, y, ok := twoNumbers(p.Verbatim); ok && l.flags&hasSpot == 0 {
			l.x, l.y = x, y
			l.flags |= onPlane
		} else if ok && 2*max(x, y) > 3*min(x, y) {
			if l.flags |= inPair; x > y {
				l.flags |= northFirst
			}
		}
	}
}

// add enters a find.
func (r *Roll) add(c *Case, l line, ref Ref) {
	if r.n%rollBlock == 0 {
		r.blocks = append(r.blocks, make([]line, 0, rollBlock))
	}
	l.index, l.at = int32(ref.Index), int32(max(ref.Origin.Row, ref.Origin.Line))
	l.label = uint32(len(r.labels))
	label := ref.Label[:min(len(ref.Label), 255)]
	r.labels = append(append(r.labels, byte(len(label))), label...)
	l.origin = r.originOf(ref.Origin)
	permission := c.Find.Permission
	if c.Permission != nil {
		permission = c.Permission.ID
	}
	l.permission, l.finder, l.place = r.text(permission), r.text(c.Find.Finder), r.text(c.law().Code)
	if c.Find.Place != nil {
		l.name = r.text(c.Find.Place.Name)
	}
	last := &r.blocks[len(r.blocks)-1]
	*last = append(*last, l)
	r.link(c.Find)
	if l.what&nearCoin != 0 || c.law().Has("treasure-same-find") {
		r.besides(c.Find)
	}
	r.n++
}

// line returns the i-th find.
func (r *Roll) line(i int) *line { return &r.blocks[i/rollBlock][i%rollBlock] }

// text returns the number of a text, 0 for the empty one. Of more than 65,000 the last ones have one number.
func (r *Roll) text(s string) uint16 {
	if n, known := r.textAt[s]; known {
		return n
	}
	if r.textAt == nil {
		r.textAt, r.texts = map[string]uint16{"": 0}, []string{""}
	}
	if s == "" || len(r.texts) == math.MaxUint16 {
		return uint16(len(r.texts) - 1)
	}
	s = strings.Clone(s)
	r.textAt[s] = uint16(len(r.texts))
	r.texts = append(r.texts, s)
	return r.textAt[s]
}

func (r *Roll) originOf(o find.Origin) uint16 {
	for i := len(r.origins) - 1; i >= 0; i-- {
		if k := &r.origins[i]; k.File == o.File && k.Layout == o.Layout && (k.Row > 0) == (o.Row > 0) {
			return uint16(i)
		}
	}
	if len(r.origins) < math.MaxUint16 {
		r.origins = append(r.origins, o)
	}
	return uint16(len(r.origins) - 1)
}

// ref is the way back to the i-th find.
func (r *Roll) ref(i int) Ref {
	l := r.line(i)
	o := r.origins[l.origin]
	if o.Row > 0 {
		o.Row = int(l.at)
	} else {
		o.Line = int(l.at)
	}
	return Ref{Index: int(l.index), Label: r.label(i), Origin: o}
}

// label is what the i-th find is called: its number, else its id.
func (r *Roll) label(i int) string {
	at := r.line(i).label
	return string(r.labels[at+1 : at+1+uint32(r.labels[at])])
}

// sheet names the sheet of the i-th find; empty where it comes from none.
func (r *Roll) sheet(i int) string {
	if layout := r.origins[r.line(i).origin].Layout; layout != nil {
		return layout.Sheet
	}
	return ""
}

// same returns the finds that have one key, group by group: those of two and more, in the order of the file. A key
// of zero is none.
func (r *Roll) same(key func(l *line) uint64) [][]int {
	type keyed struct {
		key uint64
		i   uint32
	}
	// Most keys come once. A bit for each key tells which may have come before; only those are sorted.
	size := uint64(64)
	for size < 16*uint64(r.n) {
		size *= 2
	}
	once, again := make([]uint64, size/64), make([]uint64, size/64)
	bit := func(key uint64) (at, mask uint64) {
		key *= 0x9E3779B97F4A7C15
		key >>= 64 - bits.Len64(size-1)
		return key / 64, 1 << (key % 64)
	}
	for i := range r.n {
		if k := key(r.line(i)); k != 0 {
			at, mask := bit(k)
			again[at] |= once[at] & mask
			once[at] |= mask
		}
	}
	var list []keyed
	for i := range r.n {
		if k := key(r.line(i)); k != 0 {
			if at, mask := bit(k); again[at]&mask != 0 {
				list = append(list, keyed{k, uint32(i)})
			}
		}
	}
	slices.SortFunc(list, func(a, b keyed) int { return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.i, b.i)) })
	var out [][]int
	for from := 0; from < len(list); {
		to := from + 1
		for to < len(list) && list[to].key == list[from].key {
			to++
		}
		if to-from > 1 {
			group := make([]int, 0, to-from)
			for _, k := range list[from:to] {
				group = append(group, int(k.i))
			}
			out = append(out, group)
		}
		from = to
	}
	slices.SortFunc(out, func(a, b []int) int { return a[0] - b[0] })
	return out
}

// spotKey is the key of finds at one exact point.
func spotKey(l *line) uint64 {
	if l.flags&hasSpot == 0 {
		return 0
	}
	return uint64(uint32(l.x))<<32 | uint64(uint32(l.y))
}

// A link leads from one find to another by id.
type link struct {
	from    uint32 // place in the roll
	n       uint16 // place in its list
	kind    linkKind
	oneFind bool   // it makes one find of the two in law
	to      uint64 // sum of the id
}

type linkKind uint8

const (
	partLink linkKind = iota
	associatedLink
	duplicateLink // said by the one that is to go; it still answers a link
	replacesLink
)

// pointer returns where in its find a link stands.
func (k *link) pointer() string {
	switch k.kind {
	case partLink:
		return "/partOf"
	case replacesLink:
		return fmt.Sprintf("/replaces/%d", k.n)
	}
	return fmt.Sprintf("/associated/%d", k.n)
}

// link enters the links of a find.
func (r *Roll) link(f *find.Find) {
	add := func(kind linkKind, i int, to string, oneFind bool) {
		r.links = append(r.links, link{from: uint32(r.n), n: uint16(min(i, math.MaxUint16)), kind: kind, to: sumOf(to),
			oneFind: oneFind})
	}
	if f.PartOf != "" {
		add(partLink, 0, f.PartOf, true)
	}
	for i := range f.Associated {
		kind := associatedLink
		if f.Associated[i].Relation.Is("duplicate-of") {
			kind = duplicateLink
		}
		add(kind, i, f.Associated[i].Find, f.Associated[i].Relation.Is("same-hole", "touching", "joins"))
	}
	for i, id := range f.Replaces {
		add(replacesLink, i, id, false)
	}
}

// byID returns, by the sum of its id, where in the roll each find stands that a link of some sort leads to.
func (r *Roll) byID(of func(k *link) bool) map[uint64]int {
	at := map[uint64]int{}
	for i := range r.links {
		if of(&r.links[i]) {
			at[r.links[i].to] = -1
		}
	}
	for i := r.n - 1; i >= 0 && len(at) > 0; i-- {
		if _, wanted := at[r.line(i).id]; wanted {
			at[r.line(i).id] = i
		}
	}
	maps.DeleteFunc(at, func(_ uint64, i int) bool { return i < 0 })
	return at
}

// called is the pointer at which a find as a whole is spoken of: what it is called, where it is called anything.
func (l *line) called() string {
	if l.flags&hasName != 0 {
		return "/name"
	}
	return ""
}

// row returns what the thing that a find is called can be, or nil.
func (l *line) row() *thing {
	if l.thing == 0 {
		return nil
	}
	return &theTables().things.Rows[l.thing-1]
}

// twoNumbers reads an easting and a northing in metres from a text that holds two numbers and nothing else but the
// letters of their axes.
func twoNumbers(s string) (x, y int32, ok bool) {
	parts := strings.FieldsFunc(s, func(c rune) bool { return strings.ContainsRune(",; /XYEN", c) })
	if len(parts) != 2 {
		return 0, 0, false
	}
	a, err1 := strconv.ParseFloat(parts[0], 64)
	b, err2 := strconv.ParseFloat(parts[1], 64)
	if err1 != nil || err2 != nil || min(a, b) < 1000 || max(a, b) > 1e7 {
		return 0, 0, false
	}
	return int32(a), int32(b), true
}

// goesOn reports whether a day follows the one before it within a season, over the turn of the year.
func (r *Roll) goesOn(finds []int, at int) bool {
	if at == 0 {
		return false
	}
	before, day := int(r.line(finds[at-1]).day), int(r.line(finds[at]).day)
	return day >= before && day-before <= 150
}

// yearOf returns the one year that a sheet is named after and that most of its finds are of.
func (r *Roll) yearOf(finds []int) (year int, ok bool) {
	if len(finds) < 5 {
		return 0, false
	}
	words := strings.FieldsFunc(r.sheet(finds[0]), func(c rune) bool { return c < '0' || c > '9' })
	for k, word := range words {
		if k+1 < len(words) && len(word) == 4 {
			next, err := strconv.Atoi(words[k+1])
			if year, _ := strconv.Atoi(word); err == nil && (next == year+1 || next == (year+1)%100) {
				return 0, false // a season of two years
			}
		}
		if year, err := strconv.Atoi(word); err == nil && len(word) == 4 {
			n := 0
			for _, i := range finds {
				if dayOf(int(r.line(i).day)).Year == year {
					n++
				}
			}
			return year, 5*n >= 4*len(finds)
		}
	}
	return 0, false
}
