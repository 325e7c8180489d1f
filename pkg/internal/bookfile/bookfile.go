// Package bookfile writes workbooks whose bytes depend on nothing but what is in them. A workbook
// is a zip archive (ECMA-376 part 2), and the parts of an archive carry an order and clocks of their
// own: both are taken away here, so that the same work twice gives the same file.
//
//	err := bookfile.Write(w, f)
package bookfile

import (
	"archive/zip"
	"bytes"
	"cmp"
	"io"
	"slices"
	"strings"

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
