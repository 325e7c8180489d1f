package main

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// fixedZip writes a workbook whose bytes do not depend on the clock or on the order of a map.
func fixedZip(f *excelize.File) ([]byte, error) {
	var raw bytes.Buffer
	if err := f.Write(&raw); err != nil {
		return nil, err
	}
	in, err := zip.NewReader(bytes.NewReader(raw.Bytes()), int64(raw.Len()))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, part := range in.File {
		r, err := part.Open()
		if err != nil {
			return nil, err
		}
		to, err := w.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Deflate,
			Modified: time.Date(2026, 5, 3, 18, 0, 0, 0, time.UTC)})
		if err != nil {
			return nil, err
		}
		if _, err := io.Copy(to, r); err != nil {
			return nil, err
		}
		if err := r.Close(); err != nil {
			return nil, err
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}
