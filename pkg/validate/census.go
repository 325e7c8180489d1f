package validate

import (
	"hash/maphash"

	"github.com/findslip/findslip/pkg/find"
)

// A census is what a run remembers of every find, for the rules that look for what comes again: sums of
// its id, number and spot, and where it stood. It takes 40 bytes a find, and about eight for each table
// by which finds are looked up; it holds no pointers, so that the garbage collector passes it by.
type census struct {
	blocks   [][]remembered
	n        uint32
	ids      lookup
	numbers  lookup
	spots    lookup
	numbered map[uint64]uint32 // by id: the first find with a number, where another find had the id first
	crowds   map[uint32]int32  // how many stand at the spot of a find, where it is more than one
}

// remembered is one find. A sum that is nought stands for nothing. The lowest bit of the digest tells that
// the find counts among those with a number.
type remembered struct {
	id, digest   uint64
	number, spot uint64
	index, row   int32
}

func (r *remembered) says(other *remembered) bool { return r.digest>>1 == other.digest>>1 }

const censusBlock = 4096

var censusSeed = maphash.MakeSeed()

func newCensus() *census {
	return &census{numbered: map[uint64]uint32{}, crowds: map[uint32]int32{}}
}

func (c *census) at(i uint32) *remembered { return &c.blocks[i/censusBlock][i%censusBlock] }

// sumOf sums up a text, never to nought; the empty text to nought.
func sumOf(s string) uint64 {
	if s == "" {
		return 0
	}
	return maphash.String(censusSeed, s) | 1
}

// lookup finds the first find with a sum. Its slots hold the number of a find, from 1.
type lookup struct {
	slots []uint32
	n     int
}

// first returns the find that had the sum first. Where there is none, it is the i-th.
func (l *lookup) first(sum uint64, i uint32, sumAt func(uint32) uint64) (found uint32, again bool) {
	if 4*l.n >= 3*len(l.slots) {
		l.grow(sumAt)
	}
	mask := uint64(len(l.slots) - 1)
	for at := (sum >> 1) & mask; ; at = (at + 1) & mask {
		switch k := l.slots[at]; {
		case k == 0:
			l.slots[at] = i + 1
			l.n++
			return i, false
		case sumAt(k-1) == sum:
			return k - 1, true
		}
	}
}

func (l *lookup) has(sum uint64, sumAt func(uint32) uint64) bool {
	if len(l.slots) == 0 {
		return false
	}
	mask := uint64(len(l.slots) - 1)
	for at := (sum >> 1) & mask; l.slots[at] != 0; at = (at + 1) & mask {
		if sumAt(l.slots[at]-1) == sum {
			return true
		}
	}
	return false
}

func (l *lookup) grow(sumAt func(uint32) uint64) {
	old := l.slots
	l.slots = make([]uint32, max(1024, 2*len(old)))
	mask := uint64(len(l.slots) - 1)
	for _, k := range old {
		if k == 0 {
			continue
		}
		at := (sumAt(k-1) >> 1) & mask
		for l.slots[at] != 0 {
			at = (at + 1) & mask
		}
		l.slots[at] = k
	}
}

func (c *census) idOf(i uint32) uint64     { return c.at(i).id }
func (c *census) numberOf(i uint32) uint64 { return c.at(i).number }
func (c *census) spotOf(i uint32) uint64   { return c.at(i).spot }

// hasID tells whether a find with the id has been seen.
func (c *census) hasID(sum uint64) bool { return c.ids.has(sum, c.idOf) }

// A sighting is what the census says of the find at hand: who came before it.
type sighting struct {
	own     *remembered
	i, byID uint32      // the find, and the first with its id
	sameID  *remembered // nil: none
	sameBag *remembered // same number, finder and permission
}

// see enters the find of a case, once, and returns who came before it.
func (c *census) see(of *Case, ref Ref) *sighting {
	if of.sighted {
		return &of.sighting
	}
	of.sighted = true
	f := of.Find
	if c.n%censusBlock == 0 {
		c.blocks = append(c.blocks, make([]remembered, censusBlock))
	}
	i := c.n
	c.n++
	own := c.at(i)
	*own = remembered{id: sumOf(f.ID), digest: of.digest() &^ 1, index: int32(ref.Index), row: int32(ref.Origin.Row)}
	s := &of.sighting
	s.own = own
	s.i, s.byID = i, i
	if own.id != 0 {
		if first, again := c.ids.first(own.id, i, c.idOf); again {
			s.byID, s.sameID = first, c.at(first)
		}
	}
	if f.Number != "" && f.Retracted == nil {
		own.number = numberSum(of)
		if first, again := c.numbers.first(own.number, i, c.numberOf); again {
			s.sameBag = c.at(first)
		}
	}
	if ownSpot(f) {
		own.spot = maphash.Comparable(censusSeed, [2]find.Number{f.Position.Longitude, f.Position.Latitude}) | 1
		if first, again := c.spots.first(own.spot, i, c.spotOf); again {
			c.crowds[first] = max(c.crowds[first], 1) + 1
		}
	}
	return s
}

// sameNumbered counts the find at hand among those with a number, unless one that counts has its id
// already; it returns that one.
func (c *census) sameNumbered(s *sighting) *remembered {
	first := c.at(s.byID)
	if s.byID != s.i && first.digest&1 == 0 {
		if earlier, again := c.numbered[s.own.id]; again {
			return c.at(earlier)
		}
		c.numbered[s.own.id] = s.i
		return nil
	}
	if s.byID != s.i {
		return first
	}
	s.own.digest |= 1
	return nil
}

// numberSum sums up what a bag is known by: its number, its finder and its permission.
func numberSum(c *Case) uint64 {
	f := c.Find
	permission := f.Permission
	if c.Permission != nil {
		permission = c.Permission.ID
	}
	var h maphash.Hash
	h.SetSeed(censusSeed)
	h.WriteString(f.Finder)
	h.WriteByte(0)
	h.WriteString(permission)
	h.WriteByte(0)
	h.WriteString(foldNumber(f.Number))
	return h.Sum64() | 1
}

// crowd returns how many of the finds so far stand at the spot of the find at hand.
func (c *census) crowd(own *remembered) int {
	if own.spot == 0 {
		return 0
	}
	first, _ := c.spots.first(own.spot, 0, c.spotOf)
	return int(max(c.crowds[first], 1))
}
