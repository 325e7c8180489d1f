package validate

import (
	"encoding/binary"
	"hash/maphash"
	"math"
	"math/bits"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"github.com/findslip/findslip/pkg/find"
)

// lookup finds the first find with a sum. A find is known by its place in the census; its sum is asked
// for there. The slots stand in groups of eight, with a byte for each that spares most of the asking, and
// in parts that grow one by one, so that little room is needed for growing.
type lookup struct {
	sumAt func(uint32) uint64
	parts [64]lookupPart
}

type lookupPart struct {
	tags  []byte // of each slot: nought, or the highest bit and seven of the sum
	slots []uint32
	n     int
}

const (
	slotGroup = 8
	everyByte = 0x0101010101010101
	highBits  = 0x8080808080808080
)

// first returns the find that had the sum first. Where there is none, it is the i-th.
func (l *lookup) first(sum uint64, i uint32) (found uint32, again bool) {
	p := &l.parts[sum>>58]
	if 8*p.n >= 7*len(p.slots) {
		l.grow(p)
	}
	at, found, again := l.search(p, sum)
	if !again {
		p.tags[at], p.slots[at] = tagOf(sum), i
		p.n++
		return i, false
	}
	return found, true
}

// find returns the find that had the sum first, if there is one.
func (l *lookup) find(sum uint64) (uint32, bool) {
	p := &l.parts[sum>>58]
	if p.n == 0 {
		return 0, false
	}
	_, found, has := l.search(p, sum)
	return found, has
}

func tagOf(sum uint64) byte { return byte(sum>>1) | 0x80 }

// search returns the find with the sum, or the slot where it belongs. There is always an empty slot.
func (l *lookup) search(p *lookupPart, sum uint64) (slot int, found uint32, has bool) {
	groups := uint64(len(p.slots) / slotGroup)
	tag := everyByte * uint64(tagOf(sum))
	for g := sum << 6 >> 32 * groups >> 32; ; {
		at := int(g) * slotGroup
		word := binary.LittleEndian.Uint64(p.tags[at:])
		same := word ^ tag
		// A byte that is nought borrows into its high bit; those above it may seem to.
		for hit := (same - everyByte) &^ same & highBits; hit != 0; hit &= hit - 1 {
			if k := p.slots[at+bits.TrailingZeros64(hit)/8]; l.sumAt(k) == sum {
				return 0, k, true
			}
		}
		if empty := ^word & highBits; empty != 0 {
			return at + bits.TrailingZeros64(empty)/8, 0, false
		}
		if g++; g == groups {
			g = 0
		}
	}
}

// grow makes room in a part for half as many again.
func (l *lookup) grow(p *lookupPart) {
	old := *p
	groups := max(2, len(old.slots)/slotGroup*3/2)
	p.tags, p.slots = make([]byte, groups*slotGroup), make([]uint32, groups*slotGroup)
	for k, tag := range old.tags {
		if tag != 0 {
			at, _, _ := l.search(p, l.sumAt(old.slots[k]))
			p.tags[at], p.slots[at] = tag, old.slots[k]
		}
	}
}

// drift keeps numbers that mostly rise by one from find to find, such as the rows of a sheet, as the
// places where they do not.
type drift []struct {
	from uint32
	off  int64
}

const nothingThere = -1 << 62

func (d *drift) note(i uint32, n int) {
	off := int64(n) - int64(i)
	if n == 0 && i != 0 {
		off = nothingThere
	}
	if k := len(*d) - 1; k < 0 || (*d)[k].off != off {
		*d = append(*d, struct {
			from uint32
			off  int64
		}{i, off})
	}
}

func (d drift) at(i uint32) int {
	lo, hi := 0, len(d) // the last that begins at i or before it is lo-1
	for lo < hi {
		if mid := (lo + hi) / 2; d[mid].from <= i {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == 0 || d[lo-1].off == nothingThere {
		return 0
	}
	return int(int64(i) + d[lo-1].off)
}

// intern numbers texts of which there are few, from 1.
type intern struct {
	text []string
	at   map[string]uint8
	last string
	n    uint8
}

// elsewhere is the number of all texts for which there is no number left.
const elsewhere = 255

func (t *intern) of(s string) uint8 {
	if t.n != 0 && s == t.last {
		return t.n
	}
	if t.at == nil {
		t.at, t.text = map[string]uint8{}, []string{""}
	}
	n, known := t.at[s]
	if !known {
		if len(t.text) == elsewhere {
			return elsewhere
		}
		n = uint8(len(t.text))
		s = strings.Clone(s)
		t.text = append(t.text, s)
		t.at[s] = n
	}
	t.last, t.n = t.text[n], n
	return n
}

// labelStore keeps what finds are called: plain numbers as they are, ids that are UUIDs in 16 bytes.
type labelStore struct{ text []byte }

const (
	spelled  = 1 << 31 // the rest is a place in the text
	uuidHere = 0xff    // instead of a length
	longHere = 0xfe    // likewise: the length is in the next two bytes
)

func (l *labelStore) add(f *find.Find) uint32 {
	label := f.Number
	if n, plain := plainNumber(label); plain && n < spelled {
		return n
	}
	at := uint32(len(l.text))
	if at >= spelled {
		return spelled - 1 // two thousand million bytes of labels; the last words are no longer kept
	}
	if label == "" {
		if id, err := uuid.Parse(f.ID); err == nil && find.IsURN(f.ID) {
			l.text = append(append(l.text, uuidHere), id[:]...)
			return spelled | at
		}
		label = f.ID
	}
	if len(label) < longHere {
		l.text = append(l.text, byte(len(label)))
	} else {
		if len(label) > math.MaxUint16 { // no number of a bag is; what is kept of it ends with a whole letter
			label = strings.ToValidUTF8(label[:math.MaxUint16], "")
		}
		l.text = binary.BigEndian.AppendUint16(append(l.text, longHere), uint16(len(label)))
	}
	l.text = append(l.text, label...)
	return spelled | at
}

func (l *labelStore) string(label uint32) string {
	if label&spelled == 0 {
		return strconv.FormatUint(uint64(label), 10)
	}
	rest := l.text[label&^spelled:]
	switch rest[0] {
	case uuidHere:
		return uuid.UUID(rest[1:17]).URN()
	case longHere:
		return string(rest[3 : 3+int(binary.BigEndian.Uint16(rest[1:]))])
	}
	return string(rest[1 : 1+rest[0]])
}

// plainNumber reads a number of digits alone that does not begin with nought.
func plainNumber(s string) (n uint32, ok bool) {
	if s == "" || len(s) > 9 || s[0] == '0' && len(s) > 1 {
		return 0, false
	}
	for i := 0; i < len(s); i++ {
		d := s[i] - '0'
		if d > 9 {
			return 0, false
		}
		n = n*10 + uint32(d)
	}
	return n, true
}

// bags finds the first find with a number among those of its finder and permission.
type bags struct {
	series map[seriesName]*series
	name   seriesName // of the last one
	last   *series
	odd    map[uint64]uint32 // the finds with other numbers, by sum
}

// seriesName is what finds have in common that are numbered one after the other.
type seriesName struct{ finder, permission, prefix string }

// series holds, by number, the find and one; nought where there is none.
type series struct {
	name  seriesName
	finds []uint32
	n     int
}

// A number is looked up by position while it is not far beyond how many there are in the series.
const (
	seriesSlack = 4
	seriesAhead = 64
	seriesMost  = 1000 // series; where there are more, as of numbers that begin with the day, few finds are in each
)

// first returns the find that had the number first, and whether there was one before the i-th.
func (b *bags) first(c *Case, i uint32) (uint32, bool) {
	f := c.Find
	name := seriesName{finder: f.Finder, permission: f.Permission}
	if c.Permission != nil {
		name.permission = c.Permission.ID
	}
	folded := foldNumber(f.Number)
	cut := len(folded)
	for cut > 0 && folded[cut-1]-'0' <= 9 {
		cut--
	}
	name.prefix = folded[:cut]
	n, plain := plainNumber(folded[cut:])
	s, near := b.of(name), false
	if s != nil {
		s.n++
		near = plain && int(n) < seriesSlack*s.n+seriesAhead
	}
	if at := int(n); near && at < len(s.finds) && s.finds[at] != 0 {
		return s.finds[at] - 1, true
	}
	var sum uint64
	if !near || len(b.odd) > 0 {
		sum = oddSum(name, folded)
		if first, again := b.odd[sum]; again {
			return first, true
		}
	}
	if !near {
		if b.odd == nil {
			b.odd = map[uint64]uint32{}
		}
		b.odd[sum] = i
		return i, false
	}
	if grow := int(n) + 1 - len(s.finds); grow > 0 {
		s.finds = append(s.finds, make([]uint32, grow)...)
	}
	s.finds[n] = i + 1
	return i, false
}

// of returns a series, or nil where there are too many of them.
func (b *bags) of(name seriesName) *series {
	if b.last != nil && b.name == name {
		return b.last
	}
	s := b.series[name]
	if s == nil {
		if len(b.series) >= seriesMost {
			return nil
		}
		if b.series == nil {
			b.series = map[seriesName]*series{}
		}
		s = &series{name: seriesName{strings.Clone(name.finder), strings.Clone(name.permission), strings.Clone(name.prefix)}}
		b.series[s.name] = s
	}
	b.name, b.last = s.name, s
	return s
}

// oddSum sums up what a bag is known by.
func oddSum(name seriesName, folded string) uint64 {
	var h maphash.Hash
	h.SetSeed(censusSeed)
	h.WriteString(name.finder)
	h.WriteByte(0)
	h.WriteString(name.permission)
	h.WriteByte(0)
	h.WriteString(folded)
	return h.Sum64()
}
