package table

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
)

// FuzzEncodings reads anything in any encoding, named or found out: what comes is UTF-8 without NUL.
func FuzzEncodings(f *testing.F) {
	for _, name := range []string{"", "utf-8", "utf-16le", "utf-16be", "windows-1252", "iso-8859-15", "macintosh",
		"ibm850", "shift_jis", "gb18030", "iso-2022-jp"} {
		f.Add(name, "No;Depth\r\n1;gr\xfcn \xa3\x80\r\n")
		f.Add(name, "\xff\xfeN\x00o\x00,\x00\n\x00\x00\xd8")
	}
	f.Fuzz(func(t *testing.T, name, in string) {
		table, err := Open(strings.NewReader(in), Options{Encoding: name})
		if err != nil {
			return
		}
		table.each(func(row grid.Row) bool {
			for _, c := range row.Cells {
				if !utf8.ValidString(c.Text) || strings.Contains(c.Text, "\x00") {
					t.Fatalf("%s gives %q", table.Encoding(), c.Text)
				}
			}
			return true
		})
	})
}
