package spreadsheet

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/scratch"
)

// spool holds the finds while the columns are gathered: a table must know all its columns before
// its first row. Up to a limit it is memory, beyond it a file of its own that is removed.
type spool struct {
	memory bytes.Buffer
	file   *scratch.File
	out    *bufio.Writer
	finds  int
	used   map[string]find.Field // flat names that are given somewhere, with their field
	extra  map[string]bool       // headings of Find.Columns
}

// spoolMemory is how many bytes are held before a file is used.
const spoolMemory = 16 << 20

func newSpool() *spool {
	return &spool{used: map[string]find.Field{}, extra: map[string]bool{}}
}

// fill takes in all finds of a stream.
func (s *spool) fill(in *find.Stream, wanted func(find.Field) bool) error {
	for e, err := range in.Entries {
		if err != nil {
			return err
		}
		if e.Find == nil {
			continue
		}
		for c := range find.Flat(e.Find) {
			if heading, ok := strings.CutPrefix(c.Name, "columns."); ok {
				s.extra[heading] = true
			} else if wanted(c.Field) {
				s.used[c.Name] = c.Field
			}
		}
		raw, err := find.Marshal(e.Find)
		if err != nil {
			return err
		}
		if err := s.write(raw); err != nil {
			return fmt.Errorf("holding the finds: %w", err)
		}
		s.finds++
	}
	if s.out != nil {
		return s.out.Flush()
	}
	return nil
}

func (s *spool) write(raw []byte) error {
	if s.file == nil && s.memory.Len()+len(raw) > spoolMemory {
		f, err := scratch.New()
		if err != nil {
			// No folder for it, as in a browser: memory then.
			s.memory.Write(raw)
			return s.memory.WriteByte('\n')
		}
		s.file, s.out = f, bufio.NewWriterSize(f, 1<<16)
		if _, err := s.memory.WriteTo(s.out); err != nil {
			return err
		}
	}
	if s.out == nil {
		s.memory.Write(raw)
		return s.memory.WriteByte('\n')
	}
	if _, err := s.out.Write(raw); err != nil {
		return err
	}
	return s.out.WriteByte('\n')
}

// close removes what was held.
func (s *spool) close() {
	if s.file != nil {
		s.file.Close()
	}
}

// each gives back the finds in their order.
func (s *spool) each(visit func(*find.Find) error) error {
	var r io.Reader = bytes.NewReader(s.memory.Bytes())
	if s.file != nil {
		if _, err := s.file.Seek(0, io.SeekStart); err != nil {
			return err
		}
		r = s.file
	}
	lines := bufio.NewReaderSize(r, 1<<16)
	for {
		line, err := lines.ReadBytes('\n')
		if len(line) > 0 {
			f := new(find.Find)
			find.DecodeFind(line, f)
			if err := visit(f); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// names returns the flat names that are used, in the order of the table of fields, positions in
// lists ascending; id comes last.
func names[T find.Record](used map[string]find.Field) []string {
	rank := map[string]int{}
	for i, f := range find.FieldsOf[T]() {
		rank[f.Name] = i
	}
	out := slices.Collect(maps.Keys(used))
	slices.SortFunc(out, func(a, b string) int {
		if (a == "id") != (b == "id") {
			if a == "id" {
				return 1
			}
			return -1
		}
		return compareNames(a, b, rank)
	})
	return out
}

// compareNames orders two flat names segment by segment: lists by position, members by rank.
func compareNames(a, b string, rank map[string]int) int {
	x, y := strings.Split(a, "."), strings.Split(b, ".")
	var general []string
	for i := 0; i < len(x) && i < len(y); i++ {
		if x[i] == y[i] {
			general = append(general, hash(x[i]))
			continue
		}
		n, err1 := strconv.Atoi(x[i])
		m, err2 := strconv.Atoi(y[i])
		if err1 == nil && err2 == nil {
			return n - m
		}
		return rankOf(append(general, hash(x[i])), rank) - rankOf(append(slices.Clone(general), hash(y[i])), rank)
	}
	return len(x) - len(y)
}

func hash(segment string) string {
	if _, err := strconv.Atoi(segment); err == nil {
		return "#"
	}
	return segment
}

// rankOf returns the rank of the first field at or below a prefix.
func rankOf(prefix []string, rank map[string]int) int {
	name := strings.Join(prefix, ".")
	if r, ok := rank[name]; ok {
		return r
	}
	best := len(rank)
	for field, r := range rank {
		if r < best && strings.HasPrefix(field, name+".") {
			best = r
		}
	}
	return best
}
