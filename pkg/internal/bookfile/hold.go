package bookfile

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// A workbook can hold every character, by escapes such as _x0007_ (ISO/IEC 29500-1 clause 22.4.2.4),
// but the writer below replaces those that XML does not allow, and loses a text that looks like the
// escape of half a character. So such characters are held as a mark with four digits behind it, and
// become escapes when the file is written. The mark is a character for private use; where a text has
// it, it is held like the others.
const mark = '\uE0F5'

// Hold returns a text with what a workbook must escape held, and whether there was any. A text that
// needs nothing is returned as it is.
func Hold(text string) (string, bool) {
	if !needsHold(text) {
		return text, false
	}
	var b strings.Builder
	for i, r := range text {
		if r == mark || r == '_' && isEscape(text[i:]) || !isCharacter(r) {
			fmt.Fprintf(&b, "%c%04X", mark, r)
		} else {
			b.WriteRune(r)
		}
	}
	return b.String(), true
}

func needsHold(text string) bool {
	for i, r := range text {
		switch {
		case r == mark, !isCharacter(r), r == '_' && isEscape(text[i:]):
			return true
		}
	}
	return false
}

// isCharacter reports whether XML 1.0 section 2.2 allows a character of a Go string.
func isCharacter(r rune) bool {
	if r < 0x20 {
		return r == '\t' || r == '\n' || r == '\r'
	}
	return r != 0xFFFE && r != 0xFFFF
}

// isEscape reports whether a text begins as an escape does.
func isEscape(text string) bool {
	if len(text) < len("_x0007_") || text[1] != 'x' || text[6] != '_' {
		return false
	}
	for _, c := range []byte(text[2:6]) {
		if !(c >= '0' && c <= '9' || c|0x20 >= 'a' && c|0x20 <= 'f') {
			return false
		}
	}
	return true
}

// release copies XML and makes escapes of what was held.
func release(w io.Writer, r io.Reader) error {
	in, out := bufio.NewReaderSize(r, 1<<16), bufio.NewWriterSize(w, 1<<16)
	first := string(mark)[0]
	for {
		piece, err := in.ReadSlice(first)
		switch {
		case err == nil:
			out.Write(piece[:len(piece)-1])
			if err := in.UnreadByte(); err != nil {
				return err
			}
			next, _ := in.Peek(utf8.RuneLen(mark) + 4)
			if bytes.HasPrefix(next, []byte(string(mark))) && len(next) == utf8.RuneLen(mark)+4 {
				fmt.Fprintf(out, "_x%s_", next[utf8.RuneLen(mark):])
				in.Discard(len(next))
			} else {
				in.ReadByte()
				out.WriteByte(first)
			}
		case err == bufio.ErrBufferFull:
			out.Write(piece)
		case err == io.EOF:
			out.Write(piece)
			return out.Flush()
		default:
			return err
		}
	}
}
