// Package tape reads JSON into a flat list of nodes that point into the text, without memory of its
// own for each value. It is the quick way for the plain and correct text that most records are:
// what it takes, every strict reader takes in the same way (I-JSON, RFC 7493), and what it does not
// take is not therefore wrong. Who gets false asks a reader that has words for the fault.
//
// Beyond what is no JSON it leaves aside: names and surrogates written with escapes, numbers with an
// exponent or of many digits, and what is nested deeper than 64.
package tape

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math/bits"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"
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
	// Escaped reports whether a string holds escapes, so that it is not what stands in the text.
	Escaped bool
	// Plain reports whether a string is of ASCII.
	Plain bool
}

// MaxDepth is how many objects and lists may stand within each other.
const MaxDepth = 64

// MostMembers is how many members an object may have, so that the search for names that stand twice
// stays short.
const MostMembers = 1000

// MaxDigits is how many bytes a number may have, with sign and point.
const MaxDigits = 17

const maxText = 1 << 30

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

// AppendString appends what a string node says to b.
func (t *Tape) AppendString(b []byte, i uint32) []byte {
	raw := t.Bytes(i)
	if !t.Nodes[i].Escaped {
		return append(b, raw...)
	}
	return unquoted(b, raw)
}

// unquoted appends what a text with escapes says.
func unquoted(b, raw []byte) []byte {
	for at := 0; at < len(raw); {
		c := raw[at]
		if c != '\\' {
			b = append(b, c)
			at++
			continue
		}
		switch c := raw[at+1]; c {
		case 'b':
			b = append(b, '\b')
		case 'f':
			b = append(b, '\f')
		case 'n':
			b = append(b, '\n')
		case 'r':
			b = append(b, '\r')
		case 't':
			b = append(b, '\t')
		case 'u':
			r, _ := codeUnit(raw[at:])
			if utf16.IsSurrogate(r) { // with its other half behind it
				at += 6
				low, _ := codeUnit(raw[at:])
				r = utf16.DecodeRune(r, low)
			}
			b = utf8.AppendRune(b, r)
			at += 4
		default:
			b = append(b, c)
		}
		at += 2
	}
	return b
}

// Float returns the value of a number node. It is exact as strconv.ParseFloat is: fifteen digits and
// a power of ten are whole numbers that a float64 holds, and their quotient is rounded once. False
// where there are more digits.
func (t *Tape) Float(i uint32) (float64, bool) {
	raw := t.Bytes(i)
	negative := raw[0] == '-'
	if negative {
		raw = raw[1:]
	}
	var n uint64
	digits, places := 0, -1
	for _, c := range raw {
		if c == '.' {
			places = 0
			continue
		}
		if c-'0' > 9 { // an exponent
			return 0, false
		}
		n = n*10 + uint64(c-'0')
		digits++
		if places >= 0 {
			places++
		}
	}
	if digits > 15 {
		return 0, false
	}
	f := float64(n)
	if places > 0 {
		f /= powers[places]
	}
	if negative {
		f = -f
	}
	return f, true
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// ParseStrict reads one value as Parse does, but any that is strict JSON (RFC 7493), and says what is wrong with
// what is not. It is slower. A name may be Escaped on such a tape, and a number of any spelling.
func (t *Tape) ParseStrict(text []byte) error {
	t.Text, t.Nodes = text, t.Nodes[:0]
	if len(text) > maxText {
		return errors.New("the text is too long")
	}
	dec := jsontext.NewDecoder(bytes.NewReader(text))
	var open []int // objects and lists that are not closed yet
	for at := 0; ; {
		name := false
		if n := len(open); n > 0 {
			kind, count := dec.StackIndex(dec.StackDepth())
			name = kind == '{' && count%2 == 0
		} else if len(t.Nodes) > 0 {
			if _, err := dec.ReadToken(); !errors.Is(err, io.EOF) {
				return errors.Join(err, errors.New("there is more after the end of the value"))
			}
			return nil
		}
		token, err := dec.ReadToken()
		if err != nil {
			if errors.Is(err, io.EOF) {
				err = io.ErrUnexpectedEOF
			}
			return err
		}
		for bytes.IndexByte([]byte(" \t\r\n,:"), text[at]) >= 0 {
			at++
		}
		start := at
		at = int(dec.InputOffset())
		switch kind := token.Kind(); kind {
		case '}', ']':
			n := &t.Nodes[open[len(open)-1]]
			n.End, n.Next = uint32(at), uint32(len(t.Nodes))
			open = open[:len(open)-1]
			continue
		default:
			if n := len(open); n > 0 && !name {
				t.Nodes[open[n-1]].Count++
			}
			if kind == '{' || kind == '[' {
				open = append(open, len(t.Nodes))
			}
			t.Nodes = append(t.Nodes, t.node(kind, name, start, at))
		}
	}
}

// node makes the node of a token that stands from start to end.
func (t *Tape) node(kind jsontext.Kind, name bool, start, end int) Node {
	n := Node{Start: uint32(start), End: uint32(end), Next: uint32(len(t.Nodes) + 1)}
	switch kind {
	case 't':
		n.Kind = True
	case 'f':
		n.Kind = False
	case '0':
		n.Kind = Number
	case '{':
		n.Kind = Object
	case '[':
		n.Kind = Array
	case '"':
		n.Kind, n.Start, n.End = String, n.Start+1, n.End-1
		raw := t.Text[n.Start:n.End]
		n.Escaped = bytes.IndexByte(raw, '\\') >= 0
		if name {
			n.Kind = Name
		}
	}
	return n
}
