// Package tape reads JSON into a flat list of nodes that point into the text, without memory of its
// own for each value. It is the quick way for the plain and correct text that most records are:
// what it takes, every strict reader takes in the same way (I-JSON, RFC 7493), and what it does not
// take is not therefore wrong. Who gets false asks a reader that has words for the fault.
//
// Beyond what is no JSON it leaves aside: names and surrogates written with escapes, numbers with an
// exponent or of many digits, and what is nested deeper than 64.
package tape

import (
	"encoding/binary"
	"math/bits"
	"unicode/utf8"
)

// Kind is what a node is.
type Kind uint8

// The kinds. A name stands before its value in an object.
const (
	Null Kind = iota
	False
	True
	Number
	String
	Name
	Array
	Object
)

// A Node is one value or name.
type Node struct {
	// Start and End are the place in the text: of a string or name between its quotes, of anything else
	// from its first byte to behind its last.
	Start, End uint32
	// Next is the node behind this one and all that stands in it.
	Next uint32
	// Count is the number of members or items of an object or list.
	Count uint32
	Kind  Kind
	// Escaped tells that a string holds escapes, so that it is not what stands in the text.
	Escaped bool
	// Plain tells that a string is of ASCII.
	Plain bool
}

// MaxDepth is how many objects and lists may stand within each other.
const MaxDepth = 64

// MostMembers is how many members an object may have, so that the search for names that stand twice
// stays short.
const MostMembers = 1000

// MaxDigits is how many bytes a number may have, with sign and point.
const MaxDigits = 17

const (
	maxText = 1 << 30
)

// A Tape is one text and its nodes. It is used again for the next text.
type Tape struct {
	Text  []byte
	Nodes []Node
}

// Parse reads one value and reports whether it could. The text must not change while the tape is used.
func (t *Tape) Parse(text []byte) bool {
	t.Text, t.Nodes = text, t.Nodes[:0]
	if len(text) > maxText {
		return false
	}
	p := parser{text: text, nodes: t.Nodes}
	at := p.value(p.blank(0), 0)
	t.Nodes = p.nodes
	return at >= 0 && p.blank(at) == len(text)
}

// ParseFirst reads the value at the start of the text and returns where it ends, or -1.
func (t *Tape) ParseFirst(text []byte) int {
	t.Text, t.Nodes = text, t.Nodes[:0]
	if len(text) > maxText {
		return -1
	}
	p := parser{text: text, nodes: t.Nodes}
	at := p.value(0, 0)
	t.Nodes = p.nodes
	return at
}

// Bytes returns what stands in the text for a node.
func (t *Tape) Bytes(i uint32) []byte { return t.Text[t.Nodes[i].Start:t.Nodes[i].End] }

// Value returns the text of the value at a node, a string with its quotes.
func (t *Tape) Value(i uint32) []byte {
	n := &t.Nodes[i]
	if n.Kind == String {
		return t.Text[n.Start-1 : n.End+1]
	}
	return t.Text[n.Start:n.End]
}

// parser goes over the text. Its methods return where they ended, or -1.
type parser struct {
	text  []byte
	nodes []Node
}

func (p *parser) blank(at int) int {
	for at < len(p.text) {
		switch p.text[at] {
		case ' ', '\n', '\t', '\r':
			at++
		default:
			return at
		}
	}
	return at
}

func (p *parser) value(at, depth int) int {
	if at >= len(p.text) {
		return -1
	}
	switch p.text[at] {
	case '"':
		return p.quoted(at, String)
	case '{':
		return p.object(at, depth+1)
	case '[':
		return p.array(at, depth+1)
	case 't':
		return p.word(at, "true", True)
	case 'f':
		return p.word(at, "false", False)
	case 'n':
		return p.word(at, "null", Null)
	}
	return p.number(at)
}

func (p *parser) word(at int, word string, k Kind) int {
	end := at + len(word)
	if end > len(p.text) || string(p.text[at:end]) != word {
		return -1
	}
	p.nodes = append(p.nodes, Node{Start: uint32(at), End: uint32(end), Next: uint32(len(p.nodes) + 1), Kind: k})
	return end
}

// number reads a number of RFC 8259 section 6 without exponent.
func (p *parser) number(at int) int {
	text, i := p.text, at
	if text[i] == '-' {
		i++
	}
	first := i
	for i < len(text) && text[i]-'0' < 10 {
		i++
	}
	if i == first || i > first+1 && text[first] == '0' {
		return -1
	}
	if i < len(text) && text[i] == '.' {
		i++
		point := i
		for i < len(text) && text[i]-'0' < 10 {
			i++
		}
		if i == point {
			return -1
		}
	}
	if i-at > MaxDigits || i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		return -1
	}
	p.nodes = append(p.nodes, Node{Start: uint32(at), End: uint32(i), Next: uint32(len(p.nodes) + 1), Kind: Number})
	return i
}

const (
	ones  = 0x0101010101010101
	highs = 0x8080808080808080
)

// quoted reads a string or a name.
func (p *parser) quoted(at int, k Kind) int {
	text := p.text
	start := at + 1
	i := start
	var wide uint64
	escaped := false
	for {
		for i+8 <= len(text) {
			w := binary.LittleEndian.Uint64(text[i:])
			quote, slash := w^(ones*'"'), w^(ones*'\\')
			// A byte that is below 0x20, a quote or a backslash borrows into its high bit.
			if hit := ((w - ones*0x20) | (quote - ones) | (slash - ones)) &^ w & highs; hit != 0 {
				before := bits.TrailingZeros64(hit) - 7 // of the lowest, which is a true one
				wide |= w & (1<<before - 1)
				i += before >> 3
				break
			}
			wide |= w
			i += 8
		}
		if i >= len(text) {
			return -1
		}
		switch c := text[i]; {
		case c == '"':
			n := Node{Start: uint32(start), End: uint32(i), Next: uint32(len(p.nodes) + 1), Kind: k, Escaped: escaped,
				Plain: wide&highs == 0}
			if !n.Plain && !utf8.Valid(text[start:i]) {
				return -1
			}
			if k == Name {
				if escaped {
					return -1
				}
				n.Count = hash(text[start:i])
			}
			p.nodes = append(p.nodes, n)
			return i + 1
		case c == '\\':
			n := escape(text[i:])
			if n < 0 {
				return -1
			}
			escaped = true
			i += n
		case c < 0x20:
			return -1
		default:
			wide |= uint64(c)
			i++
		}
	}
}

// escape returns how long the escape at the start of the text is, or -1 where it is none or makes a
// surrogate.
func escape(text []byte) int {
	if len(text) < 2 {
		return -1
	}
	switch text[1] {
	case '"', '\\', '/', 'b', 'f', 'n', 'r', 't':
		return 2
	case 'u':
		if r, ok := codeUnit(text); ok && (r < 0xD800 || r > 0xDFFF) {
			return 6
		}
	}
	return -1
}

// codeUnit reads the four digits behind \u.
func codeUnit(text []byte) (rune, bool) {
	if len(text) < 6 {
		return 0, false
	}
	var r rune
	for _, c := range text[2:6] {
		switch {
		case c-'0' < 10:
			r = r<<4 | rune(c-'0')
		case c-'a' < 6:
			r = r<<4 | rune(c-'a'+10)
		case c-'A' < 6:
			r = r<<4 | rune(c-'A'+10)
		default:
			return 0, false
		}
	}
	return r, true
}

func (p *parser) array(at, depth int) int {
	if depth > MaxDepth {
		return -1
	}
	self := len(p.nodes)
	p.nodes = append(p.nodes, Node{Start: uint32(at), Kind: Array})
	count := uint32(0)
	if at = p.blank(at + 1); at < len(p.text) && p.text[at] == ']' {
		return p.close(self, at+1, 0)
	}
	for {
		if at = p.value(at, depth); at < 0 {
			return -1
		}
		count++
		at = p.blank(at)
		if at >= len(p.text) {
			return -1
		}
		switch p.text[at] {
		case ',':
			at = p.blank(at + 1)
		case ']':
			return p.close(self, at+1, count)
		default:
			return -1
		}
	}
}

func (p *parser) object(at, depth int) int {
	if depth > MaxDepth {
		return -1
	}
	self := len(p.nodes)
	p.nodes = append(p.nodes, Node{Start: uint32(at), Kind: Object})
	count := uint32(0)
	if at = p.blank(at + 1); at < len(p.text) && p.text[at] == '}' {
		return p.close(self, at+1, 0)
	}
	var seen uint64 // a bit for each hash of a name so far
	for {
		if at >= len(p.text) || p.text[at] != '"' {
			return -1
		}
		name := len(p.nodes)
		if at = p.quoted(at, Name); at < 0 {
			return -1
		}
		bit := uint64(1) << (p.nodes[name].Count >> 26)
		if seen&bit != 0 && p.repeated(self+1, name) {
			return -1
		}
		seen |= bit
		if at = p.blank(at); at >= len(p.text) || p.text[at] != ':' {
			return -1
		}
		if at = p.value(p.blank(at+1), depth); at < 0 {
			return -1
		}
		count++
		at = p.blank(at)
		if at >= len(p.text) {
			return -1
		}
		switch p.text[at] {
		case ',':
			at = p.blank(at + 1)
		case '}':
			return p.close(self, at+1, count)
		default:
			return -1
		}
		if count > MostMembers {
			return -1
		}
	}
}

// repeated reports whether a name stands before in its object.
func (p *parser) repeated(from, name int) bool {
	n := &p.nodes[name]
	for i := from; i < name; i = int(p.nodes[i+1].Next) {
		if m := &p.nodes[i]; m.Count == n.Count && string(p.text[m.Start:m.End]) == string(p.text[n.Start:n.End]) {
			return true
		}
	}
	return false
}

func (p *parser) close(self, at int, count uint32) int {
	n := &p.nodes[self]
	n.End, n.Next, n.Count = uint32(at), uint32(len(p.nodes)), count
	return at
}

// hash is that of a name, for a quick look whether an object has it twice.
func hash(name []byte) uint32 {
	h := uint32(len(name)) * 0x9E3779B1
	for i := 0; i < len(name); i++ {
		h = (h ^ uint32(name[i])) * 0x01000193
	}
	return h ^ h>>15
}
