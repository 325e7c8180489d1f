package spreadsheet

import (
	"encoding/binary"
	"hash/maphash"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// rowSpool keeps the rows that the survey of the columns has seen, packed, so that they need not be
// read again. What it gives back are the same cells. It takes rows until it is full; those behind
// are read again from the file.
//
// A row is its number and its line, each as what it is more than that of the row before, then a mark
// for each cell and a mark for the end. A cell that came before in the same column is its place in a
// list; any other is what it does not share with the text before it in that column.
type rowSpool struct {
	most   int // bytes that it may hold
	held   int // bytes of the chunks
	chunks [][]byte
	full   bool // there were rows that it did not take
	last   int  // the number of the last row that it took

	number, line int // of the last row packed
	lanes        [spoolLanes]*spoolLane
	before       [spoolLanes]spoolText
	packed       []byte // the row being packed
	seed         maphash.Seed
}

const (
	rowSpoolMemory = 24 << 20
	firstChunk     = 4 << 10
	usualChunk     = 256 << 10
	longestRow     = 1 << 20 // a row with more text than this is not taken
	spoolLanes     = 128     // columns that have a lane to themselves
	spoolSlots     = 1024
)

// The marks of a row. Those from markListed on are places in the list of cells of the lane.
const (
	markEnd    = iota
	markLane   // the lane follows; without it, it is the one after that of the cell before
	markText   // a text follows, in the form of the text before it
	markForm   // a form follows, and then a text
	markListed // the first cell of the list
	mostListed = 256 - markListed
)

// spoolLane is what is known of a column, or of columns so far apart that they share a lane.
type spoolLane struct {
	forms []grid.Cell // what cells are beside their text
	cells []grid.Cell // those that came more than once
	slots [spoolSlots]spoolSlot
}

// spoolSlot is a text that came before: its hash and, if the cell is listed, its mark.
type spoolSlot struct {
	hash uint32
	mark uint8
}

// spoolText is the text that stood in a lane last, of those that are not listed, and its form.
type spoolText struct {
	form uint8
	n    uint8
	text [64]byte
}

func newRowSpool(most int) *rowSpool {
	return &rowSpool{most: most, seed: maphash.MakeSeed()}
}

// add takes a row in. When it cannot, it is full and takes no more.
func (s *rowSpool) add(row grid.Row) {
	if s.full {
		return
	}
	text := 0
	for i := range row.Cells {
		text += len(row.Cells[i].Text)
	}
	if s.full = text > longestRow || !s.pack(row); s.full {
		return
	}
	at := len(s.chunks) - 1
	if at < 0 || cap(s.chunks[at])-len(s.chunks[at]) < len(s.packed) {
		size := firstChunk
		if at >= 0 {
			size = min(2*cap(s.chunks[at]), usualChunk)
		}
		size = max(size, len(s.packed))
		if s.full = s.held+size > s.most; s.full {
			return
		}
		s.held += size
		s.chunks = append(s.chunks, make([]byte, 0, size))
		at++
	}
	s.chunks[at] = append(s.chunks[at], s.packed...)
	s.last = row.Number
}

// pack packs a row, and returns false if a lane has more forms than it can hold.
func (s *rowSpool) pack(row grid.Row) bool {
	b := s.packed[:0]
	ahead := uint64(row.Number-s.number) << 1
	if row.Hidden {
		ahead |= 1
	}
	b = binary.AppendUvarint(b, ahead)
	b = binary.AppendUvarint(b, uint64(row.Line-s.line))
	s.number, s.line = row.Number, row.Line
	next := 0
	for i := range row.Cells {
		c := &row.Cells[i]
		at := c.Column & (spoolLanes - 1)
		if at != next {
			b = append(b, markLane, byte(at))
		}
		next = (at + 1) & (spoolLanes - 1)
		lane := s.lanes[at]
		if lane == nil {
			lane = new(spoolLane)
			s.lanes[at] = lane
		}
		if mark := lane.mark(s.seed, c); mark != 0 {
			b = append(b, mark)
			continue
		}
		before := &s.before[at]
		form, ok := lane.form(int(before.form), c)
		switch {
		case !ok:
			return false
		case form == int(before.form):
			b = append(b, markText)
		default:
			before.form = uint8(form)
			b = append(b, markForm, byte(form))
		}
		head, tail := before.shared(c.Text)
		b = append(b, byte(head<<4|tail))
		b = binary.AppendUvarint(b, uint64(len(c.Text)-head-tail))
		b = append(b, c.Text[head:len(c.Text)-tail]...)
		before.keep(c.Text)
	}
	s.packed = append(b, markEnd)
	return true
}

// mark returns the mark of a cell that came before, and 0 for one to be written out. A cell is listed when it
// comes for the second time, as long as there is room.
func (l *spoolLane) mark(seed maphash.Seed, c *grid.Cell) uint8 {
	if len(c.Text) > 64 {
		return 0
	}
	hash := uint32(maphash.String(seed, c.Text))
	slot := &l.slots[hash%spoolSlots]
	switch {
	case slot.mark != 0:
		if slot.hash == hash && l.cells[slot.mark-markListed] == *c {
			return slot.mark
		}
	case slot.hash != hash:
		slot.hash = hash
	case len(l.cells) < mostListed:
		slot.mark = uint8(markListed + len(l.cells))
		kept := *c
		kept.Text, kept.Format = strings.Clone(c.Text), strings.Clone(c.Format)
		l.cells = append(l.cells, kept)
		return slot.mark
	}
	return 0
}

// form returns the place of what a cell is beside its text; likely is where it stands most often.
func (l *spoolLane) form(likely int, c *grid.Cell) (int, bool) {
	wanted := *c
	wanted.Text = ""
	if likely < len(l.forms) && l.forms[likely] == wanted {
		return likely, true
	}
	if i := slices.Index(l.forms, wanted); i >= 0 {
		return i, true
	}
	if len(l.forms) > 255 {
		return 0, false
	}
	l.forms = append(l.forms, wanted)
	return len(l.forms) - 1, true
}

// shared returns how many bytes at the start and at the end a text has in common with the one before.
func (t *spoolText) shared(text string) (head, tail int) {
	if len(text) > len(t.text) {
		return 0, 0
	}
	most := min(int(t.n), len(text))
	for head < most && head < 15 && t.text[head] == text[head] {
		head++
	}
	most -= head
	for tail < most && tail < 15 && t.text[int(t.n)-1-tail] == text[len(text)-1-tail] {
		tail++
	}
	return head, tail
}

// keep remembers a text for the one that follows it.
func (t *spoolText) keep(text string) {
	if len(text) <= len(t.text) {
		t.n = uint8(copy(t.text[:], text))
	}
}

// rows gives back the rows, once: what has been given back is let go.
func (s *rowSpool) rows(yield func(grid.Row) bool) {
	chunks := s.chunks
	s.chunks, s.packed = nil, nil
	var (
		row    grid.Row
		before [spoolLanes]spoolText
		text   []byte
		ends   []int // of the text of each cell in text; -1 for one that is listed
	)
	for i, b := range chunks {
		chunks[i] = nil
		for len(b) > 0 {
			ahead, n := binary.Uvarint(b)
			b = b[n:]
			line, n := binary.Uvarint(b)
			b = b[n:]
			row.Number += int(ahead >> 1)
			row.Hidden = ahead&1 != 0
			row.Line += int(line)
			row.Cells, text, ends = row.Cells[:0], text[:0], ends[:0]
			for at := 0; b[0] != markEnd; at = (at + 1) & (spoolLanes - 1) {
				if b[0] == markLane {
					at, b = int(b[1]), b[2:]
				}
				lane, mark := s.lanes[at], b[0]
				b = b[1:]
				if mark >= markListed {
					row.Cells = append(row.Cells, lane.cells[mark-markListed])
					ends = append(ends, -1)
					continue
				}
				last := &before[at]
				if mark == markForm {
					last.form, b = b[0], b[1:]
				}
				head, tail := int(b[0]>>4), int(b[0]&15)
				length, n := binary.Uvarint(b[1:])
				b = b[1+n:]
				start := len(text)
				text = append(text, last.text[:head]...)
				text = append(text, b[:length]...)
				text = append(text, last.text[int(last.n)-tail:last.n]...)
				b = b[length:]
				if len(text)-start <= len(last.text) {
					last.n = uint8(copy(last.text[:], text[start:]))
				}
				row.Cells = append(row.Cells, lane.forms[last.form])
				ends = append(ends, len(text))
			}
			b = b[1:]
			whole, start := string(text), 0
			for i, end := range ends {
				if end >= 0 {
					row.Cells[i].Text, start = whole[start:end], end
				}
			}
			if !yield(row) {
				return
			}
		}
	}
}
