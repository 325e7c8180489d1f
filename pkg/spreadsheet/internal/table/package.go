package table

import (
	"archive/zip"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// PackageMark is the file that makes an archive of tables a Data Package.
const PackageMark = "datapackage.json"

// OpenPackage returns the CSV files of a Data Package as the sheets of a book; nil if the archive is none.
func OpenPackage(r io.ReaderAt, size int64, o Options) (*grid.Book, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, nil // whoever reads workbooks says what is wrong
	}
	limits := o.Limits.WithDefaults()
	var names []grid.Sheet
	var files []*zip.File
	marked := false
	for _, f := range z.File {
		marked = marked || f.Name == PackageMark
		if !strings.EqualFold(path.Ext(f.Name), ".csv") || strings.Contains(f.Name, "/") {
			continue
		}
		if int64(f.UncompressedSize64) > limits.Bytes || len(files) > 64 {
			return nil, fmt.Errorf("the package holds more than is read; unpack it, and give the files by name")
		}
		base := strings.TrimSuffix(f.Name, path.Ext(f.Name))
		names = append(names, grid.Sheet{Name: strings.ToUpper(base[:1]) + base[1:]})
		files = append(files, f)
	}
	if !marked || len(files) == 0 {
		return nil, nil
	}
	b := &grid.Book{Format: "csv"}
	b.Sheets = grid.NewSheets(names, 0, func(i int, yield func(grid.Row) bool) (grid.Layout, error) {
		f, err := files[i].Open()
		if err != nil {
			return grid.Layout{}, err
		}
		defer f.Close()
		t, err := Open(f, o)
		if err != nil {
			return grid.Layout{}, err
		}
		return grid.Layout{}, t.each(yield)
	})
	return b, nil
}
