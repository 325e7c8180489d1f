package table

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"github.com/findslip/findslip/pkg/spreadsheet/internal/grid"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// written returns rows as one line each: number, line and the cells with their letters.
func written(t *Table) (rows []string, err error) {
	err = t.each(func(row grid.Row) bool {
		var b strings.Builder
		fmt.Fprintf(&b, "%d/%d", row.Number, row.Line)
		for _, c := range row.Cells {
			fmt.Fprintf(&b, " %s=%q", grid.ColumnName(c.Column), c.Text)
		}
		if row.Doubt != "" {
			fmt.Fprintf(&b, " ! %s", row.Doubt)
		}
		rows = append(rows, b.String())
		return true
	})
	return rows, err
}

func TestRows(t *testing.T) {
	type rows struct {
		Name, In string
		Options  Options
		Want     []string
	}
	tests := append(cases.Table[[]rows](t, "Rows"), []rows{ // no text that JSON holds
		{"UTF-16BE", encoded(t, unicode.UTF16(unicode.BigEndian, unicode.UseBOM), "a\tb\n"), Options{},
			[]string{`1/1 A="a" B="b"`}},
		{"UTF-16LE", encoded(t, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "Fundort;½ 🔔\r\nä;ö\r\n"), Options{},
			[]string{`1/1 A="Fundort" B="½ 🔔"`, `2/2 A="ä" B="ö"`}},
		{"macintosh by name", "a,gr\x9Fn\n", Options{Encoding: "macintosh"}, []string{`1/1 A="a" B="grün"`}},
		{"windows-1252", "a,\x80 12 \x93gr\xFCn\x94\n", Options{}, []string{`1/1 A="a" B="€ 12 “grün”"`}},
		{"UTF-16LE by name", encoded(t, unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM), "a,b\n"),
			Options{Encoding: "utf-16le"}, []string{`1/1 A="a" B="b"`}},
	}...)
	for _, test := range tests {
		t.Run(test.Name, func(t *testing.T) {
			// One byte at a time must read the same as all at once.
			for _, r := range []io.Reader{strings.NewReader(test.In), iotest.OneByteReader(strings.NewReader(test.In)),
				iotest.DataErrReader(strings.NewReader(test.In))} {
				table, err := Open(r, test.Options)
				if err != nil {
					t.Fatal(err)
				}
				got, err := written(table)
				if err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(test.Want, got); diff != "" {
					t.Error(diff)
				}
			}
		})
	}
}

// TestDoubts: rows that quotation marks or separators make doubtful are read on, and say so.
func TestDoubts(t *testing.T) {
	const head = "no,what,depth,note\n1,bell,5,x\n2,seal,6,y\n"
	rows := []string{`1/1 A="no" B="what" C="depth" D="note"`, `2/2 A="1" B="bell" C="5" D="x"`,
		`3/3 A="2" B="seal" C="6" D="y"`}
	for name, test := range cases.Table[map[string]struct {
		In   string
		Want []string
	}](t, "Doubts") {

		for _, r := range []io.Reader{strings.NewReader(head + test.In),
			iotest.OneByteReader(strings.NewReader(head + test.In))} {
			table, err := Open(r, Options{})
			if err != nil {
				t.Fatal(err)
			}
			got, err := written(table)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(append(rows[:3:3], test.Want...), got); diff != "" {
				t.Errorf("%s: %s", name, diff)
			}
		}
	}
}

func encoded(t *testing.T, e encoding.Encoding, s string) string {
	t.Helper()
	out, err := e.NewEncoder().String(s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestSeparator(t *testing.T) {
	tests := append(cases.Table[[]struct{ Name, In, Want string }](t, "Separator"), struct{ Name, In, Want string }{
		"a head that is cut", strings.Repeat("a;b;c;"+strings.Repeat("x", 200)+"\n", 1000), ";"})
	for _, test := range tests {
		table, err := Open(strings.NewReader(test.In), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if string(table.comma) != test.Want {
			t.Errorf("%s: separator %q, want %q; notes %v", test.Name, rune(table.comma), test.Want, table.Notes())
		}
	}
}

func TestErrors(t *testing.T) {
	long := strings.Repeat("x", 10<<20)
	tests := []struct {
		name, in string
		options  Options
		want     string // part of the message
		limit    string
	}{
		{"NUL", "a,b\n1,\x002\n", Options{}, "line 2: there is a NUL byte", ""},
		{"NUL in quotes", "a,b\n\"1\n\x00\"", Options{}, "line 3: there is a NUL byte", ""},
		{"UTF-16 without a mark", "a\x00,\x00b\x00\n\x00", Options{}, "line 1: there is a NUL byte", ""},
		{"invalid bytes late", strings.Repeat("abcd,efgh\r\n", 9000) + "gr\xFCn,x\n", Options{},
			"line 9001: the byte 0xFC is no valid utf-8", ""},
		{"invalid bytes asked as UTF-8", "a,b\ngr\xFCn,x\n", Options{Encoding: "utf-8"}, "line 2: the byte 0xFC", ""},
		{"cut character", "a,b\ngr\xC3", Options{Encoding: "utf-8"}, "line 2: the byte 0xC3", ""},
		{"long cell", "a,b\n1," + long, Options{}, "line 2: ", "cell"},
		{"long line", "a,b\n" + strings.Repeat("abcdefghi,", 1<<20), Options{Limits: grid.Limits{Columns: -1}}, "line 2: ",
			"row"},
		{"columns", strings.Repeat(",", 20000), Options{}, "line 1: ", "columns"},
		{"rows", "a\nb\nc\n", Options{Limits: grid.Limits{Rows: 2}}, "line 3: ", "rows"},
		{"bytes", "a,b\n" + long, Options{Limits: grid.Limits{Bytes: 1 << 20, CellLength: -1, RowLength: -1}}, "", "bytes"},
		{"unknown encoding", "a", Options{Encoding: "klingon"}, `"klingon" is not known`, ""},
		{"replacement encoding", "a", Options{Encoding: "iso-2022-kr"}, "cannot be read", ""},
		{"quote as separator", "a", Options{Comma: '"'}, "separator", ""},
		{"workbook", "PK\x03\x04....", Options{}, "read it as .xlsx", ""},
		{"old workbook", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", Options{}, ".xls", ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			table, err := Open(strings.NewReader(test.in), test.options)
			if err == nil {
				_, err = written(table)
			}
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Fatalf("error %v, want %q", err, test.want)
			}
			var limit *grid.LimitError
			if errors.As(err, &limit) != (test.limit != "") || limit != nil && limit.Limit != test.limit {
				t.Errorf("error %v, want limit %q", err, test.limit)
			}
		})
	}
}

func TestNotes(t *testing.T) {
	in := "a;b\n1\";\"2\" x\"\n" + strings.Repeat("3\";4\n", 30)
	table, err := Open(strings.NewReader(in), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := written(table); err != nil {
		t.Fatal(err)
	}
	notes := table.Notes()
	if n := len(notes); n != 2+maxNotes+1 {
		t.Fatalf("%d notes: %v", n, notes)
	}
	want := []Note{
		{0, "the encoding was taken for utf-8"},
		{0, "the separator was taken for the semicolon: the first records have 2 fields with it"},
		{2, "a quotation mark stands alone inside a field and was read as it is"},
	}
	if diff := cmp.Diff(want, notes[:3]); diff != "" {
		t.Error(diff)
	}
	if last := notes[len(notes)-1]; last != (Note{0,
		"32 quotation marks in all stand alone inside a field and were read as they are"}) {
		t.Errorf("last note %v", last)
	}
}

func TestEncodingNames(t *testing.T) {
	for in, want := range map[string]string{
		"abc": "utf-8", "ä": "utf-8", "\xE4": "windows-1252", "\xEF\xBB\xBFa": "utf-8", "\xFF\xFEa\x00": "utf-16le",
		"\xFE\xFF\x00a": "utf-16be",
	} {
		table, err := Open(strings.NewReader(in), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if table.encoding != want {
			t.Errorf("%q: encoding %s, want %s", in, table.encoding, want)
		}
	}
	// Every byte of windows-1252 as the table of the encoding standard has it.
	var all []byte
	for c := 0x20; c < 0x100; c++ {
		if c != '"' && c != ',' {
			all = append(all, byte(c))
		}
	}
	want, err := charmap.Windows1252.NewDecoder().String(string(all))
	if err != nil {
		t.Fatal(err)
	}
	table, err := Open(strings.NewReader(string(all)), Options{Comma: ',', Encoding: "windows-1252"})
	if err != nil {
		t.Fatal(err)
	}
	if got, err := written(table); err != nil || len(got) != 1 || got[0] != fmt.Sprintf("1/1 A=%q", want) {
		t.Errorf("%q, %v, want %q", got, err, want)
	}
}

// FuzzRows reads anything, and compares with encoding/csv what that package reads too.
func FuzzRows(f *testing.F) {
	for _, s := range []string{
		"a,b\n1,2\n", "sep=;\na;b\n", "\xEF\xBB\xBFa,b", "\xFF\xFEa\x00,\x00", "\"a\nb\",c\r\n\r\nd", "8\",x\n\"8\" y\",z",
		"gr\xFCn;a", "\"open", "a\x00b", "a\rb\r\n",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, in string) {
		if table, err := Open(strings.NewReader(in), Options{}); err == nil {
			last := 0
			table.each(func(row grid.Row) bool {
				if row.Number <= last || row.Line < row.Number {
					t.Fatalf("row %d of line %d follows row %d", row.Number, row.Line, last)
				}
				last = row.Number
				column := 0
				for _, c := range row.Cells {
					if c.Column <= column || c.Text == "" || c.Kind != grid.Text {
						t.Fatalf("cell %+v follows column %d", c, column)
					}
					column = c.Column
				}
				return true
			})
		}
		compare(t, in)
	})
}

// compare holds the records to encoding/csv, for what that package takes without laziness. It knows
// no lone CR as a line end, and no sign of an old end of file.
func compare(t *testing.T, in string) {
	if strings.Contains(strings.ReplaceAll(in, "\r\n", ""), "\r") || strings.HasSuffix(in, "\r") || strings.ContainsAny(in,
		"\x00\x1a") {
		return
	}
	r := csv.NewReader(strings.NewReader(in))
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil {
		return
	}
	var want, got [][]string
	for _, record := range all {
		want = append(want, strings.Split(strings.Join(record, "\x00"), "\x00"))
	}
	ours := newRecords(strings.NewReader(in), ',', grid.Limits{}.WithDefaults())
	ours.lone = func(line int) {
		t.Errorf("%q: a lone quotation mark in line %d, which encoding/csv does not see", in, line)
	}
	for {
		start := ours.pos
		row, err := ours.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%q: %v", in, err)
		}
		if _ = start; ours.fields == 1 && ours.blank && len(ours.ends) == 1 && ours.ends[0] == 0 {
			continue // encoding/csv passes over blank lines
		}
		record := make([]string, ours.fields)
		for _, c := range row.Cells {
			record[c.Column-1] = c.Text
		}
		got = append(got, record)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Fatalf("%q (-encoding/csv +ours):\n%s", in, diff)
	}
}

// TestGuess: words of logs, written in each encoding by another library, are read in the one they were written in.
func TestGuess(t *testing.T) {
	known := func(word string) bool {
		return strings.Contains(" größe fundstück münze vægt dybde genstand møntfund föremål vikt måtått profondeur pièce "+
			"été année głębokość srebro mosiądz ", " "+word+" ")
	}
	logs := map[string]string{
		"german": "Nr;Größe;Fundstück\n1;12 mm;Münze\n", "danish": "Nr;Vægt;Møntfund\n", "swedish": "Nr;Föremål;Vikt\n",
		"french": "No;Pièce;Année\n1;écu;été\n", "english": "no,worth\n1,\xa35\n",
	}
	pages := map[string]*charmap.Charmap{"windows-1252": charmap.Windows1252, "macintosh": charmap.Macintosh,
		"ibm850": charmap.CodePage850}
	for want, page := range pages {
		for name, log := range logs {
			if name == "english" {
				continue
			}
			raw, err := page.NewEncoder().String(log)
			if err != nil {
				t.Fatal(err)
			}
			if g := guessEncoding([]byte(raw), known); g.name != want || !g.sure || g.word == "" {
				t.Errorf("%s in %s is taken for %+v", name, want, g)
			}
		}
	}
	raw, err := charmap.Windows1250.NewEncoder().String("nr;głębokość;mosiądz\n")
	if err != nil {
		t.Fatal(err)
	}
	if g := guessEncoding([]byte(raw), known); g.name != "windows-1250" || !g.sure {
		t.Errorf("polish is taken for %+v", g)
	}
	if g := guessEncoding([]byte(logs["english"]), known); g.name != "windows-1252" || g.sure {
		t.Errorf("a pound sign is taken for %+v", g)
	}
	// Without words of the lists, what no word looks like decides, and that is reported to be in doubt.
	raw, _ = charmap.Macintosh.NewEncoder().String("Öl;Bötchen;Kübel;Käfig\n")
	if g := guessEncoding([]byte(raw), nil); g.name != "macintosh" || g.sure || g.word == "" {
		t.Errorf("unknown words are taken for %+v", g)
	}
}

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
					t.Fatalf("%s gives %q", table.encoding, c.Text)
				}
			}
			return true
		})
	})
}
