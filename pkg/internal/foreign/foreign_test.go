package foreign

import (
	"strings"
	"testing"
)

func TestOf(t *testing.T) {
	for _, test := range []struct{ name, head, want string }{
		{"season.numbers", "PK\x03\x04.......Index/Document.iwa", "Numbers"},
		{"season.pages", "PK\x03\x04.......", "Pages"},
		{"season.csv", "%PDF-1.7", "PDF"},
		{"field.gpkg", "SQLite format 3\x00", "GeoPackage"},
		{"field.shp", "\x00\x00\x27\x0a\x00\x00\x00\x00", "shapefile"},
		{"field.dbf", "\x03\x7a\x00", "shapefile"},
		{"season.gsheet", `{"url":"https://example.org"}`, "link"},
		{"season.url", "[InternetShortcut]\r\nURL=https://example.org", "link"},
		{"IMG_1.xlsx", "\xff\xd8\xff\xe0", "photo"},
		{"IMG_2.heic", "\x00\x00\x00\x18ftypheic", "photo"},
		{"letter.xlsx", "PK\x03\x04..word/document.xml", "text document"},
		{"season.rar", "Rar!\x1a\x07", "archive"},
		{"season.xlsx", "PK\x03\x04..xl/workbook.xml", ""},
		{"season.doc", "no,name\n1,bell\n", ""}, // a table by the wrong name
		{"season.csv", "no,name\n1,bell\n", ""},
		{"season", "", ""},
	} {
		what, help := Of(test.name, []byte(test.head))
		if !strings.Contains(what, test.want) || test.want == "" && what != "" || (what == "") != (help == "") {
			t.Errorf("%s is %q: %q", test.name, what, help)
		}
	}
}
