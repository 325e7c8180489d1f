package main

import (
	"bytes"
	"testing"
)

// What is no program, or is cut off, or has a data section without the tables, is refused, never changed.
func TestForeignPrograms(t *testing.T) {
	magic := []byte("\x00asm\x01\x00\x00\x00")
	for name, program := range map[string][]byte{
		"nothing": nil, "a text": []byte("findslip"), "cut off": append(bytes.Clone(magic), 11, 200), "no tables": append(bytes.Clone(magic), 11, 7, 1, 0, 0x41, 8, 0x0b, 1, 'x'),
		"a piece of another memory": append(bytes.Clone(magic), 11, 7, 1, 2, 0x41, 8, 0x0b, 1, 'x'),
	} {
		if out, err := slim(program); err == nil || out != nil {
			t.Errorf("%s is taken", name)
		}
	}
}

// Numbers are read as they are written.
func TestSigned(t *testing.T) {
	for _, v := range []int{0, 1, 63, 64, 127, 128, 8191, 8192, 1 << 20, 1<<31 - 1} {
		r := reader(appendSigned(nil, v))
		if got := r.signed(); got != v || len(r) != 0 {
			t.Errorf("%d is read as %d, %d left", v, got, len(r))
		}
	}
}
