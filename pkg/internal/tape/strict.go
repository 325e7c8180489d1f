package tape

import (
	"bytes"
	"errors"
	"io"

	"github.com/go-json-experiment/json/jsontext"
)

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
