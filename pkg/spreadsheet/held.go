package spreadsheet

import (
	"encoding/binary"
	"iter"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// A sheet of a workbook is read twice: its columns are looked through before the first find is made. So
// the rows of finds are held, in few bytes, when they are first read, and given back from there. Beyond a
// bound they are read from the file again.

const (
	heldMost    = 40 << 20 // bytes of rows that are held
	heldChunk   = 256 << 10
	heldTexts   = 8192 // texts that are known by where they were last seen
	heldLongest = 64   // bytes of such a text
)

// heldRows are rows in their order. Texts that came before stand there as a number.
type heldRows struct {
	chunks  [][]byte
	size    int
	last    int            // the number of the last row
	full    bool           // rows behind it are not held
	formats []string       // of cells, in the order in which they first came
	known   map[string]int // the place of those formats that are behind the first few
	seen    *[heldTexts]heldText
	marks   []byte // of the row at hand
	texts   []byte
	fresh   []freshText
}

// heldText is where a text was last written out.
type heldText struct{ chunk, start, length int }

// freshText is a text that is written out in the row at hand.
type freshText struct {
	slot          uint32
	start, length int
}

// The mark of a cell: its kind, and what else is to be known of it.
const (
	heldKind    = 7
	heldFormula = 1 << 3
	heldNext    = 1 << 4 // it stands in the next column
	heldFormat  = 1 << 5
	heldBefore  = 1 << 6 // the text came before
	heldUUID    = 1 << 7 // the text is urn:uuid: and 16 bytes
)

func newHeldRows() *heldRows { return &heldRows{seen: new([heldTexts]heldText)} }

// add takes a row in, as long as there is room.
func (h *heldRows) add(row grid.Row) {
	if h.full {
		return
	}
	h.marks, h.texts = h.marks[:0], h.texts[:0]
	h.fresh = h.fresh[:0]
	column := 0
	for i := range row.Cells {
		c := &row.Cells[i]
		at := len(h.marks)
		mark := byte(c.Kind)
		h.marks = append(h.marks, 0)
		if c.Formula {
			mark |= heldFormula
		}
		if c.Column == column+1 {
			mark |= heldNext
		} else {
			h.marks = binary.AppendUvarint(h.marks, uint64(c.Column))
		}
		column = c.Column
		if c.Format != "" {
			mark |= heldFormat
			h.marks = binary.AppendUvarint(h.marks, uint64(h.format(c.Format)))
		}
		if uuid, ok := uuidOf(c.Text); ok {
			h.marks = append(h.marks, uuid[:]...)
			h.marks[at] = mark | heldUUID
			continue
		}
		slot := slotOf(c.Text)
		if slot < heldTexts && h.is(slot, c.Text) {
			mark |= heldBefore
			h.marks = binary.LittleEndian.AppendUint16(h.marks, uint16(slot))
		} else {
			h.marks = binary.AppendUvarint(h.marks, uint64(len(c.Text)))
			if slot < heldTexts {
				h.fresh = append(h.fresh, freshText{slot, len(h.texts), len(c.Text)})
			}
			h.texts = append(h.texts, c.Text...)
		}
		h.marks[at] = mark
	}
	var room [4 * binary.MaxVarintLen64]byte
	head := binary.AppendUvarint(room[:0], uint64(row.Number-h.last)<<1|bit(row.Hidden))
	head = binary.AppendUvarint(head, uint64(len(row.Cells)))
	head = binary.AppendUvarint(head, uint64(len(h.marks)))
	head = binary.AppendUvarint(head, uint64(len(h.texts)))
	n := len(head) + len(h.marks) + len(h.texts)
	if h.full = h.size+n > heldMost; h.full {
		return
	}
	chunk := len(h.chunks) - 1
	if chunk < 0 || cap(h.chunks[chunk])-len(h.chunks[chunk]) < n {
		h.chunks = append(h.chunks, make([]byte, 0, max(n, min(heldChunk, 4096<<(2*len(h.chunks))))))
		chunk++
	}
	b := append(append(append(h.chunks[chunk], head...), h.marks...), h.texts...)
	h.chunks[chunk] = b
	for _, t := range h.fresh { // a row knows only the texts of the rows before it
		h.seen[t.slot] = heldText{chunk, len(b) - len(h.texts) + t.start, t.length}
	}
	h.size, h.last = h.size+n, row.Number
}

const uuidStem = "urn:uuid:"

// uuidOf reads a text such as ids are written: urn:uuid: and 32 figures of base 16 in lower case.
func uuidOf(text string) (uuid [16]byte, ok bool) {
	if len(text) != len(uuidStem)+36 || text[:len(uuidStem)] != uuidStem {
		return uuid, false
	}
	text = text[len(uuidStem):]
	for i, at := 0, 0; i < len(uuid); i++ {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			if text[at] != '-' {
				return uuid, false
			}
			at++
		}
		high, low := figures[text[at]], figures[text[at+1]]
		if high|low > 15 {
			return uuid, false
		}
		uuid[i] = high<<4 | low
		at += 2
	}
	return uuid, true
}

// uuidText is the other way round.
func uuidText(uuid [16]byte) string {
	var b [len(uuidStem) + 36]byte
	at := copy(b[:], uuidStem)
	for i, c := range uuid {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			b[at] = '-'
			at++
		}
		b[at], b[at+1] = figuresOf[c>>4], figuresOf[c&15]
		at += 2
	}
	return string(b[:])
}

const figuresOf = "0123456789abcdef"

// figures is the value of each figure of base 16, more than 15 for what is none.
var figures = func() (t [256]byte) {
	for i := range t {
		t[i] = 0xff
	}
	for i := range len(figuresOf) {
		t[figuresOf[i]] = byte(i)
	}
	return t
}()

func bit(is bool) uint64 {
	if is {
		return 1
	}
	return 0
}

// format returns the number of a format. A workbook may have very many.
func (h *heldRows) format(text string) int {
	const few = 8
	for i := range min(few, len(h.formats)) {
		if h.formats[i] == text {
			return i
		}
	}
	i, ok := h.known[text]
	if !ok {
		i = len(h.formats)
		h.formats = append(h.formats, text)
		if i >= few {
			if h.known == nil {
				h.known = map[string]int{}
			}
			h.known[text] = i
		}
	}
	return i
}

// is tells whether a text was the last to be written out in its slot.
func (h *heldRows) is(slot uint32, text string) bool {
	s := &h.seen[slot]
	return s.length == len(text) && string(h.chunks[s.chunk][s.start:s.start+s.length]) == text
}

// slotOf returns the slot of a text; there is none for one that is empty or long.
func slotOf(text string) uint32 {
	if text == "" || len(text) > heldLongest {
		return heldTexts
	}
	h := uint32(len(text))
	for i := range len(text) {
		h = (h ^ uint32(text[i])) * 0x01000193
	}
	return (h ^ h>>15) % heldTexts
}

// rows gives the rows back, once: what has been given is let go. The cells are used again for the next row.
func (h *heldRows) rows() iter.Seq[grid.Row] {
	return func(yield func(grid.Row) bool) {
		var seen [heldTexts]string
		var cells []grid.Cell
		var fresh []string
		number := 0
		for i := range h.chunks {
			b := h.chunks[i]
			h.chunks[i] = nil
			next := func() int {
				v, n := binary.Uvarint(b)
				b = b[n:]
				return int(v)
			}
			for len(b) > 0 {
				step := next()
				count, marks, texts := next(), next(), next()
				row := grid.Row{Number: number + step>>1, Hidden: step&1 == 1}
				number = row.Number
				text, rest := string(b[marks:marks+texts]), b[marks+texts:]
				cells, fresh = cells[:0], fresh[:0]
				column := 0
				for range count {
					mark := b[0]
					b = b[1:]
					if column++; mark&heldNext == 0 {
						column = next()
					}
					c := grid.Cell{Column: column, Kind: grid.Kind(mark & heldKind), Formula: mark&heldFormula != 0}
					if mark&heldFormat != 0 {
						c.Format = h.formats[next()]
					}
					if mark&heldUUID != 0 {
						c.Text = uuidText([16]byte(b))
						b = b[16:]
					} else if mark&heldBefore != 0 {
						c.Text = seen[binary.LittleEndian.Uint16(b)]
						b = b[2:]
					} else {
						n := next()
						c.Text, text = text[:n], text[n:]
						fresh = append(fresh, c.Text)
					}
					cells = append(cells, c)
				}
				for _, text := range fresh {
					if slot := slotOf(text); slot < heldTexts {
						seen[slot] = text
					}
				}
				b = rest
				row.Cells = cells
				if !yield(row) {
					return
				}
			}
		}
	}
}
