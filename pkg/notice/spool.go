package notice

import (
	"bufio"
	"container/heap"
	"encoding/binary"
	"fmt"
	"io"
	"iter"
	"os"
)

// A Spool holds any number of notices and returns them in the order of List.Sort. Some are held in memory;
// beyond, they lie in sorted runs in a temporary file, which is unlinked as soon as it is open where the
// system allows it. The zero value is ready. Close it.
type Spool struct {
	Held int // notices held in memory; 0: 16384

	list  List
	kinds []*Kind
	known map[*Kind]uint64
	file  *os.File
	name  string // of the file where it could not be unlinked
	end   int64
	runs  []run
	n     int
}

// run is a sorted part of the file.
type run struct{ from, to int64 }

// Len returns how many notices were added.
func (s *Spool) Len() int { return s.n }

// Add takes a notice.
func (s *Spool) Add(n Notice) error {
	s.n++
	s.list = append(s.list, n)
	if most := s.Held; len(s.list) < most || most == 0 && len(s.list) < 1<<14 {
		return nil
	}
	return s.spill()
}

// spill writes what is held as one more run.
func (s *Spool) spill() error {
	if s.file == nil {
		file, err := os.CreateTemp("", "findslip-notices-*")
		if err != nil {
			return fmt.Errorf("keeping notices aside: %w", err)
		}
		s.file, s.known = file, map[*Kind]uint64{}
		if os.Remove(file.Name()) != nil {
			s.name = file.Name() // removed by Close, on systems that keep the names of open files
		}
	}
	s.list.Sort()
	out := bufio.NewWriterSize(io.NewOffsetWriter(s.file, s.end), 1<<16)
	r := run{from: s.end}
	var line []byte
	for i := range s.list {
		line = s.appendNotice(line[:0], &s.list[i])
		s.end += int64(len(line))
		if _, err := out.Write(line); err != nil {
			return fmt.Errorf("keeping notices aside: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("keeping notices aside: %w", err)
	}
	r.to = s.end
	s.runs = append(s.runs, r)
	clear(s.list)
	s.list = s.list[:0]
	return nil
}

// All returns the notices in order. It may be ranged over again. A notice is good until the next one comes.
func (s *Spool) All() iter.Seq2[*Notice, error] {
	return func(yield func(*Notice, error) bool) {
		s.list.Sort()
		var h merge
		size := 1 << 15
		if len(s.runs) > 200 {
			size = 1 << 12
		}
		for i, r := range s.runs {
			c := &cursor{spool: s, order: i, left: r.to - r.from,
				r: bufio.NewReaderSize(io.NewSectionReader(s.file, r.from, r.to-r.from), size)}
			if err := c.next(); err != nil {
				yield(nil, err)
				return
			}
			h = append(h, c)
		}
		if len(s.list) > 0 {
			h = append(h, &cursor{order: len(s.runs), held: s.list[1:], n: s.list[0]})
		}
		heap.Init(&h)
		for len(h) > 0 {
			if !yield(&h[0].n, nil) {
				return
			}
			switch err := h[0].next(); err {
			case nil:
				heap.Fix(&h, 0)
			case io.EOF:
				heap.Pop(&h)
			default:
				yield(nil, fmt.Errorf("reading notices that were kept aside: %w", err))
				return
			}
		}
	}
}

// Close removes the temporary file.
func (s *Spool) Close() error {
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if s.name != "" {
		err = os.Remove(s.name)
	}
	s.file = nil
	return err
}

// cursor is where a run has been read to.
type cursor struct {
	spool *Spool
	order int // of the run: earlier ones first where notices compare equal
	left  int64
	r     *bufio.Reader
	held  List
	n     Notice
	room  []byte
}

// next reads the next notice into c.n.
func (c *cursor) next() error {
	if c.r == nil {
		if len(c.held) == 0 {
			return io.EOF
		}
		c.n, c.held = c.held[0], c.held[1:]
		return nil
	}
	size, err := binary.ReadUvarint(c.r)
	if err != nil {
		return err
	}
	if uint64(cap(c.room)) < size {
		c.room = make([]byte, size)
	}
	c.room = c.room[:size]
	if _, err := io.ReadFull(c.r, c.room); err != nil {
		return err
	}
	c.n = c.spool.notice(string(c.room))
	return nil
}

// merge is a heap of cursors.
type merge []*cursor

func (m merge) Len() int      { return len(m) }
func (m merge) Swap(i, j int) { m[i], m[j] = m[j], m[i] }
func (m *merge) Push(x any)   { *m = append(*m, x.(*cursor)) }
func (m *merge) Pop() any {
	last := (*m)[len(*m)-1]
	*m = (*m)[:len(*m)-1]
	return last
}
func (m merge) Less(i, j int) bool {
	if c := compare(m[i].n, m[j].n); c != 0 {
		return c < 0
	}
	return m[i].order < m[j].order
}

// texts are the texts of a notice, in the order in which they are written.
func texts(n *Notice) [11]*string {
	return [...]*string{&n.Message, &n.Help, &n.Written, &n.Accepted, &n.AcceptedOn, &n.File, &n.Pointer, &n.Sheet,
		&n.Cell, &n.Heading, &n.Find}
}

// appendNotice writes a notice behind its length: numbers as varints, texts behind their lengths.
func (s *Spool) appendNotice(out []byte, n *Notice) []byte {
	id, ok := s.known[n.Kind]
	if !ok {
		id = uint64(len(s.kinds))
		s.kinds, s.known[n.Kind] = append(s.kinds, n.Kind), id
	}
	var room [512]byte
	b := binary.AppendUvarint(room[:0], id)
	for _, v := range []int{n.Row, n.Column, n.Line, len(n.Proposals)} {
		b = binary.AppendUvarint(b, uint64(v))
	}
	for _, p := range n.Proposals {
		b = append(binary.AppendUvarint(b, uint64(len(p))), p...)
	}
	for _, p := range texts(n) {
		b = append(binary.AppendUvarint(b, uint64(len(*p))), *p...)
	}
	return append(binary.AppendUvarint(out, uint64(len(b))), b...)
}

// notice reads what appendNotice has written, behind its length.
func (s *Spool) notice(line string) (n Notice) {
	number := func() int {
		v, size := uint64(0), 0
		for shift := 0; size < len(line); shift += 7 {
			b := line[size]
			size++
			if v |= uint64(b&0x7f) << shift; b < 0x80 {
				break
			}
		}
		line = line[size:]
		return int(v)
	}
	text := func() string {
		size := number()
		t := line[:size]
		line = line[size:]
		return t
	}
	n.Kind = s.kinds[number()]
	n.Row, n.Column, n.Line = number(), number(), number()
	for range number() {
		n.Proposals = append(n.Proposals, text())
	}
	for _, p := range texts(&n) {
		*p = text()
	}
	return n
}
