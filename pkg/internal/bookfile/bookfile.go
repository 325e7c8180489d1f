// Package bookfile writes workbooks whose bytes depend on nothing but what is in them. A workbook
// is a zip archive (ECMA-376 part 2), and the parts of an archive carry an order and clocks of their
// own: both are taken away here, so that the same work twice gives the same file.
//
//	err := bookfile.Write(w, f)
package bookfile

import (
	"archive/zip"
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// contentTypes is the part that readers expect first.
const contentTypes = "[Content_Types].xml"

// Write writes a workbook with its parts in one order, the list of parts first, and no clock in the
// archive. It changes nothing in the parts; a clock inside a part, such as the properties of the
// document, is the caller's.
func Write(w io.Writer, f *excelize.File) error { return write(w, f, false) }

// WriteHeld is Write for a workbook of whose texts some were held by Hold: the parts that texts stand
// in are written anew, with the escapes of ISO/IEC 29500-1 clause 22.4.2.4.
func WriteHeld(w io.Writer, f *excelize.File) error { return write(w, f, true) }

// firstDay is 1 January 1980 as an archive has it (APPNOTE 4.4.6): the first day that it can state,
// and so none that says anything.
const firstDay = 1<<5 | 1

func write(w io.Writer, f *excelize.File, held bool) error {
	var raw bytes.Buffer
	if err := f.Write(&raw); err != nil {
		return err
	}
	in, err := zip.NewReader(bytes.NewReader(raw.Bytes()), int64(raw.Len()))
	if err != nil {
		return err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int {
		return cmp.Or(cmp.Compare(rank(a.Name), rank(b.Name)), strings.Compare(a.Name, b.Name))
	})
	out := zip.NewWriter(w)
	for _, part := range in.File {
		put := copyPart
		if held && hasTexts(part.Name) {
			put = escapePart
		}
		if err := put(out, part); err != nil {
			return err
		}
	}
	return out.Close()
}

// copyPart copies a part as it is packed. The times, and all else that says when and where it was
// packed, are left out.
func copyPart(out *zip.Writer, part *zip.File) error {
	r, err := part.OpenRaw()
	if err != nil {
		return err
	}
	head := zip.FileHeader{Name: part.Name, Method: part.Method, Flags: part.Flags, CRC32: part.CRC32,
		CompressedSize64: part.CompressedSize64, UncompressedSize64: part.UncompressedSize64}
	//lint:ignore SA1019 a part that is copied as it is packed takes its day from here and from nowhere else
	head.ModifiedDate = firstDay
	to, err := out.CreateRaw(&head)
	if err != nil {
		return err
	}
	_, err = io.Copy(to, r)
	return err
}

// escapePart packs a part anew with the texts that were held escaped.
func escapePart(out *zip.Writer, part *zip.File) error {
	r, err := part.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	head := zip.FileHeader{Name: part.Name, Method: zip.Deflate}
	//lint:ignore SA1019 Modified would put a clock beside the day
	head.ModifiedDate = firstDay
	to, err := out.CreateHeader(&head)
	if err != nil {
		return err
	}
	return release(to, r)
}

// hasTexts reports whether the texts of cells stand in a part.
func hasTexts(name string) bool {
	return strings.HasPrefix(name, "xl/worksheets/") || name == "xl/sharedStrings.xml"
}

func rank(name string) int {
	if name == contentTypes {
		return 0
	}
	return 1
}

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
