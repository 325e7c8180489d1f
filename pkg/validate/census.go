package validate

import (
	"hash/maphash"
	"strings"

	"github.com/findslip/findslip/pkg/find"
)

// A census is what a run remembers of every find, for the rules that look for what comes again or for
// what lies together: sums of its id and spot, its label, and what the law asks. It takes 29 bytes a
// find beside its number and the tables by which finds are looked up, about 50 in all; it holds no
// pointers, so that the garbage collector passes it by.
type census struct {
	blocks  []*censusBlock
	n       uint32
	origin  find.Origin // of the first
	indices drift       // of the finds, as their reader counts them
	rows    drift       // of the sheet
	lines   drift       // of the file
	ids     lookup
	numbers bags
	spots   lookup
	twice   map[uint64]uint32 // by id: the first find with a number, where another find had the id first
	crowds  map[uint32]int32  // how many claim the spot of a find as their own, where it is more than one
	sharers []sharer          // finds at a spot where one stood before them, for the rules of law
	labels  labelStore
	places  intern
	remote  map[uint32]string // places beyond the first few hundred
	many    map[uint32]int32  // how many objects, where it is more than two
	far     map[uint32]int32  // days that do not fit
}

// censusBlock is some finds, member by member so that nothing is lost between them.
type censusBlock struct {
	id, spot      [censusSize]uint64 // sums; nought stands for nothing
	digest, label [censusSize]uint32
	found         [censusSize]uint16 // the day, packed from 1950 on; 0: not known to the day
	flags, what   [censusSize]uint8
	place         [censusSize]uint8 // the law, where it looks at finds together; 0: it does not
}

const censusSize = 4096

// flags of a find. The two highest bits are the number of its objects.
const (
	ownsSpot  uint8 = 1 << iota // its spot is claimed for it alone
	hasBag                      // it counts among those with a number
	dayFar                      // its day is in far
	oneObject uint8 = 1 << 6
	manyMore  uint8 = 3 << 6 // the number is in many
)

// sharer is a find and the first at its spot.
type sharer struct{ find, first uint32 }

var censusSeed = maphash.MakeSeed()

func newCensus() *census {
	c := &census{twice: map[uint64]uint32{}, crowds: map[uint32]int32{}, many: map[uint32]int32{}, far: map[uint32]int32{}, remote: map[uint32]string{}}
	c.ids.sumAt, c.spots.sumAt = c.idOf, c.spotOf
	return c
}

func (c *census) block(i uint32) (*censusBlock, uint32) {
	return c.blocks[i/censusSize], i % censusSize
}

func (c *census) idOf(i uint32) uint64   { return c.blocks[i/censusSize].id[i%censusSize] }
func (c *census) spotOf(i uint32) uint64 { return c.blocks[i/censusSize].spot[i%censusSize] }

// sumOf sums up a text, never to nought; the empty text to nought.
func sumOf(s string) uint64 {
	if s == "" {
		return 0
	}
	return maphash.String(censusSeed, s) | 1
}

// spotSum sums up where a find lies, to nought where its exact position is not known.
func spotSum(f *find.Find) uint64 {
	p := f.Position
	if p == nil || !p.Latitude.Known() || !p.Longitude.Known() || f.Generalised["/position"] != "" {
		return 0
	}
	const odd = 0x9E3779B97F4A7C15
	h := (uint64(p.Longitude.Decimal()) ^ spotSeed) * odd
	h ^= h >> 29
	h = (h ^ uint64(p.Latitude.Decimal())) * 0xBF58476D1CE4E5B9
	h ^= h >> 32
	return h*odd | 1
}

var spotSeed = maphash.Comparable(censusSeed, 0)

// hasID tells whether a find with the id has been seen.
func (c *census) hasID(sum uint64) bool {
	_, has := c.ids.find(sum)
	return has
}

// sums are what of a find is summed up ahead, out of order.
type censusSums struct {
	made     bool
	id, spot uint64
	digest   uint32
	owns     bool
}

// prepare sums up what the census will ask for.
func (c *Case) prepare() *censusSums {
	if s := &c.sums; !s.made {
		*s = censusSums{made: true, id: sumOf(c.Find.ID), spot: spotSum(c.Find), digest: uint32(c.digest() >> 32)}
		s.owns = s.spot != 0 && ownSpot(c.Find)
	}
	return &c.sums
}

// A sighting is what the census says of the find at hand: who came before it.
type sighting struct {
	i, byID         uint32 // the find, and the first with its id
	sameID, sameBag int64  // -1: none
}

// see enters the find of a case, once, and returns who came before it.
func (c *census) see(of *Case, ref Ref) *sighting {
	if of.sighted {
		return &of.sighting
	}
	of.sighted = true
	f, sums := of.Find, of.prepare()
	if c.n%censusSize == 0 {
		c.blocks = append(c.blocks, new(censusBlock))
	}
	i := c.n
	if c.n++; i == 0 {
		c.origin = ref.Origin
	}
	b, k := c.block(i)
	b.id[k], b.spot[k], b.digest[k] = sums.id, sums.spot, sums.digest
	c.indices.note(i, ref.Index)
	c.rows.note(i, ref.Origin.Row)
	c.lines.note(i, ref.Origin.Line)
	c.ofLaw(of, i)
	s := &of.sighting
	*s = sighting{i: i, byID: i, sameID: -1, sameBag: -1}
	if sums.id != 0 {
		if first, again := c.ids.first(sums.id, i); again {
			s.byID, s.sameID = first, int64(first)
		}
	}
	if f.Number != "" && f.Retracted == nil {
		if first, again := c.numbers.first(of, i); again {
			s.sameBag = int64(first)
		}
	}
	if sums.spot != 0 {
		if sums.owns {
			b.flags[k] |= ownsSpot
		}
		if first, again := c.spots.first(sums.spot, i); again {
			c.share(i, first, sums.owns)
		}
	}
	return s
}

// share notes that a find is at the spot of an earlier one.
func (c *census) share(i, first uint32, owns bool) {
	b, k := c.block(first)
	if owns {
		n := c.crowds[first]
		if n == 0 && b.flags[k]&ownsSpot != 0 {
			n = 1
		}
		c.crowds[first] = n + 1
	}
	if own, at := c.block(i); own.place[at] != 0 {
		c.sharers = append(c.sharers, sharer{i, first})
	}
}

// ofLaw notes what the rules of law will ask, where the law of the place looks at finds together.
func (c *census) ofLaw(of *Case, i uint32) {
	b, k := c.block(i)
	b.label[k] = c.labels.add(of.Find)
	law := of.law()
	if law.sameFind == nil {
		return
	}
	place := law.place
	if b.place[k] = c.places.of(place); b.place[k] == elsewhere {
		c.remote[i] = strings.Clone(place)
	}
	b.what[k] = uint8(of.traits())
	switch n := countOf(of.Find); {
	case n <= 2:
		b.flags[k] |= uint8(n) * oneObject
	default:
		b.flags[k] |= manyMore
		c.many[i] = int32(n)
	}
	if found, ok := of.found(); ok {
		if day, one := found.oneDay(); one {
			packed := packDay(day) - firstYear
			if packed <= 0 || packed > 0xffff {
				b.flags[k] |= dayFar
				c.far[i] = packDay(day)
				return
			}
			b.found[k] = uint16(packed)
		}
	}
}

// firstYear is what is taken off a packed day, so that those of the years 1950 to 2077 fit.
const firstYear = 1950 << 9

// member returns what is remembered of a find for the rules of law.
func (c *census) member(i uint32) member {
	b, k := c.block(i)
	m := member{id: b.id[k], spot: b.spot[k], index: int32(c.indices.at(i)), row: int32(c.rows.at(i)), line: int32(c.lines.at(i)),
		label: c.labels.string(b.label[k]), what: trait(b.what[k])}
	if m.place = c.remote[i]; b.place[k] != elsewhere {
		m.place = c.places.text[b.place[k]]
	}
	if m.count = int32(b.flags[k] / oneObject); m.count == int32(manyMore/oneObject) {
		m.count = c.many[i]
	}
	switch {
	case b.flags[k]&dayFar != 0:
		m.found = unpackDay(c.far[i])
	case b.found[k] != 0:
		m.found = unpackDay(int32(b.found[k]) + firstYear)
	}
	return m
}

// ref is the way back to a find.
func (c *census) ref(i uint32) Ref {
	b, k := c.block(i)
	origin := c.origin
	origin.Row, origin.Line = c.rows.at(i), c.lines.at(i)
	return Ref{Index: c.indices.at(i), Label: c.labels.string(b.label[k]), Origin: origin}
}

// same tells whether two finds say the same, word for word.
func (c *census) same(i, k uint32) bool {
	a, at := c.block(i)
	b, bt := c.block(k)
	return a.digest[at] == b.digest[bt]
}

// sameNumbered counts the find at hand among those with a number, unless one that counts has its id
// already; it returns that one, and whether there is one.
func (c *census) sameNumbered(s *sighting) (uint32, bool) {
	if earlier, again := c.numberedBefore(s); again {
		return earlier, true
	}
	if s.byID == s.i {
		b, k := c.block(s.i)
		b.flags[k] |= hasBag
	} else {
		c.twice[c.idOf(s.i)] = s.i
	}
	return 0, false
}

// numberedBefore returns the one of the finds that count whose id the find at hand has too, and whether there is one.
func (c *census) numberedBefore(s *sighting) (uint32, bool) {
	if s.byID == s.i {
		return 0, false
	}
	if b, k := c.block(s.byID); b.flags[k]&hasBag != 0 {
		return s.byID, true
	}
	earlier, again := c.twice[c.idOf(s.i)]
	return earlier, again
}

// crowd returns how many of the finds so far claim the spot of a find as their own; nought where it
// does not do so itself.
func (c *census) crowd(i uint32) int {
	b, k := c.block(i)
	if b.flags[k]&ownsSpot == 0 {
		return 0
	}
	first, _ := c.spots.find(b.spot[k])
	return int(max(c.crowds[first], 1))
}
