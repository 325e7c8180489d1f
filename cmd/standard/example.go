package main

import (
	"bytes"
	"context"
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

// exampleLog is the log of a season as a finder keeps it. Everything in it is invented: the parish
// of Thornmere, a drovers' fair on Long Furlong and Chapel Piece over a Roman-period farmstead,
// and later allotments.
var exampleLog = [][]any{
	{"Thornmere 2026 - Long Furlong and Chapel Piece"},
	{},
	{"No", "Date", "What", "Depth (in)", "How measured", "Detector depth", "Grid ref", "GPS type", "Material", "How many",
		"Weight (g)", "Age", "Marks", "How complete", "Taken out", "Found by", "Field", "How sure", "Where now", "Notes",
		"Weather"},
	{"001", "25/3/2026", "crotal bell, small", `7-9"`, "tape", `6"`, "SP 5270 9011", "phone", "green metal", 1, 18.4,
		"18th century", "", "complete", "all", "finder-a", "Long Furlong", "certain", "with finder", "still has its pea",
		"dry"},
	{"002", "25/3/2026", "musket balls", "more than a foot", "spade", "", "SP 5271 9012", "phone", "lead", 12, 310,
		"17th-18th century", "", "", "all", "finder-a", "Long Furlong", "probable", "with finder",
		"all within a stride of each other", "dry"},
	{"003", "28/3/2026", "cloth seal", "~6", "trowel", "", "52.50655, -1.22480", "phone", "lead", 1, 9.1, "c. 1750",
		"[...]ORN[...] / (?)", "incomplete", "all", "finder-b", "Long Furlong", "probable", "with finder",
		"mark cannot be read", "showers"},
	{"004", "28/3/2026", "jetton", "8 1/2", "tape", "", "SP 5272 9010", "phone", "brass?", 1, 1.9, "16th century", "",
		"nearly complete", "all", "finder-b", "Long Furlong", "possible", "lent for identification", "", "showers"},
	{"005", "3/4/2026", "shoe buckle frame", "5", "tape", "", "SP 5305 9014", "phone", "copper alloy", 1, 6.2,
		"late 18th century", "", "one part", "part", "finder-a", "Chapel Piece", "certain", "with finder",
		"the pin broke off and stayed in the hole", "sunny"},
	{"006", "3/4/2026", "trade token", "4", "tape", "", "SP 5306 9013", "phone", "copper", 1, 8.8, "1660s", "1793",
		"complete", "all", "finder-a", "Chapel Piece", "probable", "with finder",
		"the date on it does not go with the look of it", "sunny"},
	{"007", "12/4/2026", "thimble", "on top", "", "", "52.50660, -1.22050", "phone", "copper alloy", 1, 3.3,
		"post-medieval", "", "complete", "all", "finder-a", "Chapel Piece", "certain", "with landowner", "", "windy"},
	{"008", "12/4/2026", "fibula, bow only", `10"`, "tape", "", "SP 5273 9009", "phone", "bronze", 1, 5.7,
		"Roman, 2nd century", "", "fragment", "all", "finder-b", "Long Furlong", "possible", "lodged with recorder",
		"shown to a museum", "windy"},
	{"009", "12/4/2026", "musket ball", "9 in", "tape", "", "SP 5350 9011", "phone", "lead", 1, 27, "", "", "complete",
		"all", "finder-a", "Long Furlong", "certain", "with finder", "", "windy"},
	{},
	{"010", "19/4/2026", "clay pipe stem", "n/a", "", "", "SP 5304 9012", "phone", "pipe clay", 2, 4, "c. 1720", "",
		"fragment", "all", "finder-a", "Chapel Piece", "certain", "reburied", "", "dry"},
	{"011", "19/4/2026", "spindle whorl", "14 in", "tape", `6"`, "SP 5270 9010", "phone", "lead", 1, 41, "before 1500", "",
		"complete", "all", "finder-b", "Long Furlong", "probable", "with finder", "detector said six inches", "dry"},
	{"012", "26/4/2026", "allotment rubbish", "0-8", "spade", "", "SP 5307 9012", "phone", "iron", "several", "",
		"20th century", "", "", "all", "finder-a", "Chapel Piece", "certain", "recycled as scrap", "wire, tins, a hinge",
		"rain"},
	{"013", "26/4/2026", "horse harness mount", "7", "tape", "", "withheld", "", "copper alloy", 1, 12.5, "18th century",
		"", "complete", "all", "finder-b", "Chapel Piece", "probable", "with finder", "", "rain"},
	{"014", "26/4/2026", "button", exampleDate(46273), "", "", "SP 5272 9013", "phone", "pewter", 1, 4.1,
		"mid 18th century", "", "complete", "all", "finder-b", "Long Furlong", "certain", "with finder", "", "rain"},
	{"", "3/5/2026", "lump of something", "8", "trowel", "", "SP 5271 9009", "phone", "greyish stuff", 1, 60, "old", "",
		"", "all", "finder-a", "Long Furlong", "unknown", "with finder", "", "dry"},
}

// exampleDate is a cell that the spreadsheet turned into a date: 8-9 has become 8 September.
type exampleDate int

// examplePermissions is what the finder knows of the land.
var examplePermissions = [][]any{
	{"id", "basis", "validFrom", "validTo", "jurisdiction", "place.name", "area", "ploughDepth", "maxDepth"},
	{"permission-1", "written by owner", "1/1/2026", "31/12/2026", "GB-ENG", "Long Furlong",
		`{"type":"Polygon","coordinates":[[[-1.2275,52.505],[-1.2228,52.505],[-1.2228,52.508],[-1.2275,52.508],[-1.2275,52.505]]]}`, "12 in", "18 in"},
	{"permission-2", "oral by owner", "1/1/2026", "31/12/2026", "GB-ENG", "Chapel Piece",
		`{"type":"Polygon","coordinates":[[[-1.2228,52.505],[-1.218,52.505],[-1.218,52.508],[-1.2228,52.508],[-1.2228,52.505]]]}`, "", ""},
}

// examples makes the messy workbook and what the command makes of it.
func examples(root string, put func(string, []byte) error) error {
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
	for _, s := range []struct {
		name string
		rows [][]any
	}{{"Log 2026", exampleLog}, {"Permissions", examplePermissions}} {
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
				if serial, ok := value.(exampleDate); ok {
					value = int(serial)
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
