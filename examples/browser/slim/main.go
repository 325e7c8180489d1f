// Command slim takes out of a program for js/wasm what only a trace of the stack shows: names of
// functions, files and lines. What the program does stays the same; a panic names functions of the Go runtime alone.
//
//	slim findslip.wasm
//
// The linker has no such switch. The tables are those of runtime/symtab.go (magic of Go 1.20); a
// program that is laid out otherwise is left as it is, with an error.
package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"strings"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "slim PROGRAM.wasm")
		os.Exit(2)
	}
	whole, err := os.ReadFile(os.Args[1])
	if err == nil {
		whole, err = slim(whole)
	}
	if err == nil {
		err = os.WriteFile(os.Args[1], whole, 0o666)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "slim:", err)
		os.Exit(1)
	}
}

var errForeign = errors.New("the tables of the program are not as Go 1.26 lays them out")

// slim returns the program without those tables. A read outside the file ends in the error.
func slim(program []byte) (out []byte, err error) {
	defer func() {
		if recover() != nil {
			out, err = nil, errForeign
		}
	}()
	if !bytes.HasPrefix(program, []byte("\x00asm\x01\x00\x00\x00")) {
		return nil, errors.New("this is no program for js/wasm")
	}
	out = append(out, program[:8]...)
	r := reader(program[8:])
	for len(r) > 0 {
		kind := r.take(1)[0]
		content := r.take(r.number())
		if kind == 11 { // data
			if content, err = data(content); err != nil {
				return nil, err
			}
		}
		out = append(out, kind)
		out = binary.AppendUvarint(out, uint64(len(content)))
		out = append(out, content...)
	}
	return out, nil
}

// data reads the data section into one image of the memory, changes that, and writes it again
// without the long runs of noughts, which memory begins with.
func data(content []byte) ([]byte, error) {
	var image []byte
	r := reader(content)
	for range r.number() {
		if h := r.take(2); h[0] != 0 || h[1] != 0x41 { // at a constant place of memory 0
			return nil, errForeign
		}
		at := r.signed()
		if r.take(1)[0] != 0x0b {
			return nil, errForeign
		}
		piece := r.take(r.number())
		if grow := at + len(piece) - len(image); grow > 0 {
			image = append(image, make([]byte, grow)...)
		}
		copy(image[at:], piece)
	}
	if err := tables(image); err != nil {
		return nil, err
	}
	const run = 64 // noughts that are worth a new piece
	var pieces []byte
	count := 0
	for at := 0; at < len(image); {
		for at < len(image) && image[at] == 0 {
			at++
		}
		from := at
		for at < len(image) && !bytes.HasPrefix(image[at:], make([]byte, min(run, len(image)-at))) {
			at++
		}
		if from == at {
			continue
		}
		pieces = append(pieces, 0, 0x41)
		pieces = appendSigned(pieces, from)
		pieces = append(pieces, 0x0b)
		pieces = binary.AppendUvarint(pieces, uint64(at-from))
		pieces = append(pieces, image[from:at]...)
		count++
	}
	return append(binary.AppendUvarint(nil, uint64(count)), pieces...), nil
}

// Places of a function's record (_func in runtime/runtime2.go), and its length without what follows.
const (
	pcsp, pcfile, pcln, npcdata, startLine, record = 16, 20, 24, 28, 36, 44
	header                                         = 72
)

// tables blanks names, files and lines.
func tables(image []byte) error {
	// Magic, minimum size of an instruction, size of a pointer.
	start := bytes.Index(image, []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8})
	if start < 0 {
		return errForeign
	}
	t := image[start:]
	word := func(at int) int { return int(binary.LittleEndian.Uint64(t[at:])) }
	half := func(at int) int { return int(binary.LittleEndian.Uint32(t[at:])) }
	functions, names, units, files, pcs, functab := word(8), word(32), word(40), word(48), word(56), word(64)
	if names != header || functions < 1000 || !(names < units && units < files && files < pcs && pcs < functab) {
		return errForeign
	}
	// Tables of one function may be those of another, so it is first seen what is still needed.
	needed, spare := map[int]bool{}, map[int]bool{}
	for i := range functions {
		f := functab + half(functab+8*i+4)
		needed[half(f+pcsp)] = true
		for d := range half(f + npcdata) {
			needed[half(f+record+4*d)] = true
		}
		for _, p := range []int{pcfile, pcln} {
			spare[half(f+p)] = true
			clear(t[f+p : f+p+4]) // 0 is: there is no table
		}
		clear(t[f+startLine : f+startLine+4])
	}
	for at := range spare {
		if needed[at] || at == 0 {
			continue
		}
		table := reader(t[pcs+at : functab])
		for first := true; ; first = false { // pairs of a change of the value and of the place
			if table.number() == 0 && !first {
				break
			}
			table.number()
		}
		clear(t[pcs+at : functab-len(table)])
	}
	clear(t[units:pcs])
	for at := names; at < units; {
		n := bytes.IndexByte(t[at:units], 0)
		if n < 0 {
			break
		}
		if !asked(string(t[at : at+n])) {
			clear(t[at : at+n])
		}
		at += n + 1
	}
	return nil
}

// asked tells whether the runtime may ask for a function by its name, as it does for its own and for
// those of reflection.
func asked(name string) bool {
	for _, p := range []string{"runtime.", "reflect.makeFuncStub", "reflect.methodValueCall"} {
		if strings.HasPrefix(name, p) {
			return true
		}
	}
	return false
}

// reader is what is left to be read.
type reader []byte

func (r *reader) take(n int) []byte {
	out := (*r)[:n:n]
	*r = (*r)[n:]
	return out
}

func (r *reader) number() int {
	v, n := binary.Uvarint(*r)
	if n <= 0 {
		panic(errForeign)
	}
	*r = (*r)[n:]
	return int(v)
}

// signed reads a number in the signed form of LEB128, which has no zigzag.
func (r *reader) signed() int {
	v, shift := 0, 0
	for {
		b := r.take(1)[0]
		v |= int(b&0x7f) << shift
		shift += 7
		if b < 0x80 {
			if b&0x40 != 0 {
				v -= 1 << shift
			}
			return v
		}
	}
}

func appendSigned(b []byte, v int) []byte {
	for v >= 0x40 {
		b = append(b, byte(v)|0x80)
		v >>= 7
	}
	return append(b, byte(v))
}
