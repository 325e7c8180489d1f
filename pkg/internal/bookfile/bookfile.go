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
func Write(w io.Writer, f *excelize.File) error {
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
		r, err := part.OpenRaw()
		if err != nil {
			return err
		}
		// The times, and all else that says when and where it was packed, are left out.
		head := zip.FileHeader{Name: part.Name, Method: part.Method, Flags: part.Flags, CRC32: part.CRC32,
			CompressedSize64: part.CompressedSize64, UncompressedSize64: part.UncompressedSize64}
		to, err := out.CreateRaw(&head)
		if err != nil {
			return err
		}
		if _, err := io.Copy(to, r); err != nil {
			return err
		}
	}
	return out.Close()
}

func rank(name string) int {
	if name == contentTypes {
		return 0
	}
	return 1
}
