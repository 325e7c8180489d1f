package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/validate"
)

const exampleFolder = "examples/thornmere/"

// exampleRows are a log of a season as a finder keeps it, and what the finder knows of the land. Everything in it is
// invented: the parish of Thornmere, a drovers' fair on Long Furlong and Chapel Piece over a Roman-period farmstead,
// and later allotments. A cell {"date": N} is one that the spreadsheet turned into a date: 8-9 has become 8 September.
//
//go:embed example.json
var exampleRows []byte

// examples makes the messy workbook and what the command makes of it.
func examples(put func(string, []byte) error) error {
	book, err := exampleWorkbook()
	if err != nil {
		return err
	}
	if err := put(exampleFolder+"season.xlsx", book); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "standard")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	source := filepath.Join(folder, "season.xlsx")
	if err := os.WriteFile(source, book, 0o644); err != nil {
		return err
	}
	today, err := edtf.ParseDay("2026-06-01")
	if err != nil {
		return err
	}
	for _, to := range []struct {
		name   string
		format pipeline.Format
	}{{"season.findslip.json", pipeline.Findslip}, {"season.geojson", pipeline.GeoJSON}, {"season.csv", pipeline.CSV},
		{"season.findslip.jsonl", pipeline.JSONL}, {"season.gpx", pipeline.GPX}, {"season.kml", pipeline.KML}} {
		var b bytes.Buffer
		if _, err := pipeline.Convert(context.Background(), source, &b,
			pipeline.Options{To: to.format, Level: validate.NoLevel, Read: normalise.Options{AsOf: today}}); err != nil {
			return err
		}
		if err := put(exampleFolder+to.name, b.Bytes()); err != nil {
			return err
		}
	}
	return nil
}

func exampleWorkbook() ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	if err := f.SetSheetName("Sheet1", "Log 2026"); err != nil {
		return nil, err
	}
	if _, err := f.NewSheet("Permissions"); err != nil {
		return nil, err
	}
	if err := f.SetDocProps(&excelize.DocProperties{Created: "2026-05-03T18:00:00Z", Modified: "2026-05-03T18:00:00Z",
		Creator: "finder-a", LastModifiedBy: "finder-a"}); err != nil {
		return nil, err
	}
	day := "d-mmm"
	style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &day})
	if err != nil {
		return nil, err
	}
	var of struct{ Log, Permissions [][]any }
	if err := json.Unmarshal(exampleRows, &of); err != nil {
		return nil, err
	}
	for _, s := range []struct {
		name string
		rows [][]any
	}{{"Log 2026", of.Log}, {"Permissions", of.Permissions}} {
		sheet := s.name
		for i, row := range s.rows {
			for j, value := range row {
				cell, err := excelize.CoordinatesToCellName(j+1, i+1)
				if err != nil {
					return nil, err
				}
				if value == "" {
					continue
				}
				if serial, ok := value.(map[string]any); ok {
					value = serial["date"]
					if err := f.SetCellStyle(sheet, cell, cell, style); err != nil {
						return nil, err
					}
				}
				if err := f.SetCellValue(sheet, cell, value); err != nil {
					return nil, fmt.Errorf("%s!%s: %w", sheet, cell, err)
				}
			}
		}
	}
	return fixedZip(f)
}
