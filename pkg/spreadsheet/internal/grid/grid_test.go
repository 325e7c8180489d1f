package grid

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// TestReferences holds names and references to those of another implementation, over all columns.
func TestReferences(t *testing.T) {
	for n := 1; n <= MaxColumns; n++ {
		want, err := excelize.ColumnNumberToName(n)
		if err != nil {
			t.Fatal(err)
		}
		if got := ColumnName(n); got != want {
			t.Fatalf("ColumnName(%d) = %s, want %s", n, got, want)
		}
		if column, row, err := ParseRef(want + "7"); column != n || row != 7 || err != nil {
			t.Fatalf("ParseRef(%s7) = %d, %d, %v", want, column, row, err)
		}
	}
	for in, want := range map[string][2]int{"a1": {1, 1}, "$D$7": {4, 7}, "XFD1048576": {MaxColumns, MaxRows}} {
		if column, row, err := ParseRef(in); err != nil || [2]int{column, row} != want {
			t.Errorf("ParseRef(%s) = %d, %d, %v", in, column, row, err)
		}
	}
	for _, in := range []string{"", "A", "7", "A0", "XFE1", "A1048577", "A-1", "Ä1", "A1B", "$", "A99999999999999999999",
		strings.Repeat("A", 100)} {
		if _, _, err := ParseRef(in); err == nil {
			t.Errorf("ParseRef(%s) gives no error", in)
		}
	}
	if ColumnName(0) != "" || ColumnName(-5) != "" {
		t.Error("a column below 1 has a name")
	}
}

func TestRange(t *testing.T) {
	for in, want := range map[string]string{"A1:C3": "A1:C3", "C3:A1": "A1:C3", "A3:C1": "A1:C3", "B2": "B2",
		"B2:B2": "B2"} {
		r, err := ParseRange(in)
		if err != nil || r.String() != want {
			t.Errorf("ParseRange(%s) = %v, %v", in, r, err)
		}
	}
	r, _ := ParseRange("B2:C4")
	for ref, want := range map[string]bool{"B2": true, "C4": true, "A2": false, "B5": false, "D3": false, "C3": true} {
		column, row, _ := ParseRef(ref)
		if r.Contains(column, row) != want {
			t.Errorf("%v contains %s: %v", r, ref, !want)
		}
	}
	for _, in := range []string{"", ":", "A1:", "A1:B2:C3"} {
		if _, err := ParseRange(in); err == nil {
			t.Errorf("ParseRange(%s) gives no error", in)
		}
	}
}

func TestRowCell(t *testing.T) {
	row := Row{Number: 7, Cells: []Cell{{Column: 2, Text: "b"}, {Column: 5, Text: "e"}}}
	for column, want := range map[int]string{1: "", 2: "b", 3: "", 5: "e", 6: ""} {
		if c := row.Cell(column); c.Text != want || c.Column != column {
			t.Errorf("cell %d is %+v", column, c)
		}
	}
	if ref := row.Cells[0].Ref(row.Number); ref != "B7" {
		t.Errorf("reference %s", ref)
	}
}

// TestDateParts: the first and last days of the two systems are those of ISO/IEC 29500-1 clause
// 18.17.4.1 (clause from memory); the day that never was, 60, is common practice of spreadsheets; the
// rest is held to another implementation in TestDatesAsExcelize.
func TestDateParts(t *testing.T) {
	tests := []struct {
		serial    string
		epoch1904 bool
		want      string
	}{
		{"1", false, "1900-01-01"}, {"2", false, "1900-01-02"}, {"59", false, "1900-02-28"}, {"60", false, ""},
		{"61", false, "1900-03-01"},
		{"60.5", false, ""}, {"0", false, ""}, {"0", true, "1904-01-01"}, {"1", true, "1904-01-02"},
		{"2958465", false, "9999-12-31"}, {"2958466", false, ""}, {"2957003", true, "9999-12-31"}, {"2957004", true, ""},
		{"45543", false, "2024-09-08"}, {"44081", true, "2024-09-08"},
		{"45543.604166666664", false, "2024-09-08T14:30:00"}, {"45543.60416666667", false, "2024-09-08T14:30:00"},
		{"45543.999999", false, "2024-09-09"}, {"4.5543E4", false, "2024-09-08"}, {"2.75", false, "1900-01-02T18:00:00"},
		{"0.75", false, "18:00:00"}, {"0.75", true, "18:00:00"}, {"1e-9", false, "00:00:00"}, {"0.9999999", false, ""},
		{"-1", false, ""}, {"", false, ""}, {"NaN", false, ""}, {"INF", false, ""}, {"1e999", false, ""}, {"1,5", false, ""},
		{"bell", false, ""},
		{"2024-09-08", false, "2024-09-08"}, {"2024-09-08T00:00:00", false, "2024-09-08"},
		{"2024-09-08T14:30:00.000Z", false, "2024-09-08T14:30:00"},
		{"2024-09-08T14:30", true, "2024-09-08T14:30:00"}, {"14:30:00", false, "14:30:00"}, {"2024-02-30", false, ""},
		{" 61 ", false, "1900-03-01"},
	}
	for _, test := range tests {
		got, ok := DateParts(test.serial, test.epoch1904)
		if got != test.want || ok != (test.want != "") {
			t.Errorf("DateParts(%q, %v) = %q, %v, want %q", test.serial, test.epoch1904, got, ok, test.want)
		}
	}
}

// TestDatesAsExcelize compares every tenth day with another implementation.
func TestDatesAsExcelize(t *testing.T) {
	for _, epoch1904 := range []bool{false, true} {
		for day := 61; day <= lastSerial1904; day += 10 {
			serial := fmt.Sprintf("%d.25", day)
			want, err := excelize.ExcelDateToTime(float64(day)+0.25, epoch1904)
			if err != nil {
				t.Fatal(err)
			}
			if got, ok := DateParts(serial, epoch1904); !ok || got != want.Format("2006-01-02T15:04:05") {
				t.Fatalf("DateParts(%s, %v) = %s, want %v", serial, epoch1904, got, want)
			}
		}
	}
}

// TestFormats: which letters mean what is ISO/IEC 29500-1 clause 18.8.31; the codes are of the sort
// that spreadsheets write (common practice).
func TestFormats(t *testing.T) {
	tests := []struct {
		code          string
		date, clock   bool // shown as a date or a time, as a time only
		elapsed       bool
		unit          string
		number, shown string
	}{
		{code: "", number: "17.780000000000001", shown: "17.78"},
		{code: "General", number: "1.5E-2", shown: "0.015"},
		{code: "0.00", number: "52.5", shown: "52.50"},
		{code: "0.00", number: "52.1234567", shown: "52.1234567"},
		{code: `0" in"`, unit: "in", number: "17.78", shown: "17.78 in"},
		{code: `0.0\ \c\m`, unit: "cm", number: "5", shown: "5.0 cm"},
		{code: `General" mm"`, unit: "mm", number: "-2", shown: "-2 mm"},
		{code: `#,##0.0" g";[Red]-#,##0.0" g"`, unit: "g", number: "1234.5", shown: "1234.5 g"},
		{code: `0.0," kg"`, unit: "kg", number: "1500", shown: "1.5 kg"},
		{code: `# ?/?" in"`, unit: "in", number: "6.5", shown: "6.5 in"},
		{code: `# ?/8\"`, unit: `"`, number: "6.5", shown: `6.5"`},
		{code: `[>100]0" m";0" cm"`, unit: "m", number: "200", shown: "200 m"},
		{code: `0"ft "00"in"`, unit: "", number: "510", shown: "510"},
		{code: "0%", unit: "", number: "0.5", shown: "50%"},
		{code: "0.00%", unit: "", number: "0.125", shown: "12.50%"},
		{code: "00000", number: "42", shown: "00042"},
		{code: `"LF-"0000`, number: "42", shown: "LF-0042"},
		{code: "000-000", number: "123456", shown: "123456"},
		{code: `[$€-407]\ #,##0.00`, unit: "€", number: "12.5", shown: "€ 12.50"},
		{code: `#,##0.00\ [$€-407]`, unit: "€", number: "12.5", shown: "12.50 €"},
		{code: `"£"#,##0.00`, unit: "£", number: "12.5", shown: "£12.50"},
		{code: `"ca. "0`, unit: "", number: "5", shown: "ca. 5"},
		{code: "0.00E+00", number: "123456", shown: "123456"},
		{code: "@", number: "7", shown: "7"},
		{code: `_(* #,##0.00_);_(* \(#,##0.00\);_(* "-"??_);_(@_)`, number: "1.5", shown: "1.50"},
		{code: "[Red]0;[Blue]-0", number: "3", shown: "3"},
		{code: `0" days"`, unit: "days", number: "3", shown: "3 days"},
		{code: "mm-dd-yy", date: true},
		{code: "d/m/yyyy", date: true},
		{code: "[$-809]dd mmmm yyyy;@", date: true},
		{code: "[$-F800]dddd, mmmm dd, yyyy", date: true},
		{code: "mmm-yy", date: true},
		{code: "TT.MM.JJJJ", date: true},
		{code: `yyyy"-"mm"-"dd`, date: true},
		{code: `e"年"m"月"`, date: true},
		{code: "d/m/yy h:mm", date: true},
		{code: "h:mm AM/PM", date: true, clock: true},
		{code: "hh:mm:ss.000", date: true, clock: true},
		{code: "mm:ss", date: true, clock: true},
		{code: "[h]:mm", date: true, clock: true, elapsed: true},
		{code: "[mm]:ss", date: true, clock: true, elapsed: true},
		{code: `0;"d/m/yy"`, number: "3", shown: "3"},
		{code: `\d0`, number: "3", shown: "d3"},
		{code: `[Red`, number: "3", shown: "3"},
		{code: `0"open`, unit: "open", number: "3", shown: "3open"},
		{code: `0\`, number: "3", shown: "3"},
	}
	for _, test := range tests {
		f := ParseFormat(test.code)
		if got := f.IsDate(); got != test.date {
			t.Errorf("IsDateFormat(%s) = %v", test.code, got)
		}
		if got := f.IsTime(); got != test.clock {
			t.Errorf("IsTimeFormat(%s) = %v", test.code, got)
		}
		if got := f.elapsed; got != test.elapsed {
			t.Errorf("IsElapsedFormat(%s) = %v", test.code, got)
		}
		if got := f.Unit(); got != test.unit {
			t.Errorf("FormatUnit(%s) = %q, want %q", test.code, got, test.unit)
		}
		if test.date {
			continue
		}
		if got := NewCell(1, Number, test.number, f, 1900).Text; got != test.shown {
			t.Errorf("Shown(%s as %s) = %q, want %q", test.number, test.code, got, test.shown)
		}
	}
}

func TestShownNumber(t *testing.T) {
	for in, want := range map[string]string{
		"17.780000000000001": "17.78", "0.30000000000000004": "0.3", "5.0": "5", "0": "0", "-0": "0", "-0.5": "-0.5",
		"007":               "7",
		"12345678901234567": "12345678901234567", "1E3": "1000", "1e20": "100000000000000000000", "1e22": "1E22",
		"1.5e-30": "1.5E-30",
		"1e-9":    "0.000000001", "+3": "3", ".5": "0.5", "1e999": "1e999", "bell": "bell", "": "",
		"99999.999999999999999": "100000",
	} {
		if got := ShownNumber(in); got != want {
			t.Errorf("ShownNumber(%s) = %s, want %s", in, got, want)
		}
	}
}

// Fractions that are passed over are those that rounding leaves as they are.
func TestShortest(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	taken := 0
	for _, literal := range []string{"0.5", "-1.2213738", "52.506064", "0.00000000000001", "999999999999.999",
		"-0.12345678901234"} {
		if !isShortest(literal) {
			t.Errorf("%s is not passed over", literal)
		}
	}
	for range 200_000 {
		literal := make([]byte, 1+random.IntN(19))
		for i := range literal {
			literal[i] = "00123456789"[random.IntN(11)]
		}
		for range random.IntN(3) {
			literal[random.IntN(len(literal))] = "..-+e "[random.IntN(6)]
		}
		if in := string(literal); isShortest(in) {
			taken++
			if got := rounded(in, 0); got != in || !IsNumber(in) {
				t.Errorf("%s is passed over, and rounded it is %s", in, got)
			}
		}
	}
	if taken < 5_000 {
		t.Errorf("only %d were passed over", taken)
	}
}

// TestDates: what a cell shows of a day, and what it says with it. The letters are those of ISO/IEC 29500-1
// clause 18.8.31, the languages those of [MS-LCID].
func TestDates(t *testing.T) {
	for _, test := range []struct {
		raw, code   string
		epoch       int
		kind        Kind
		precision   Precision
		text, value string
	}{
		{"45543", "d/m/yy", 1900, Date, Day, "8/9/24", "2024-09-08"},
		{"44081", "dd/mm/yyyy", 1904, Date, Day, "08/09/2024", "2024-09-08"},
		{"45543", "mm-dd-yy", 1900, Date, Day, "2024-09-08", "2024-09-08"},
		{"45543", "[$-F800]dddd, mmmm dd, yyyy", 1900, Date, Day, "2024-09-08", "2024-09-08"},
		{"45543", "mmm-yy", 1900, Date, Month, "Sep-24", "2024-09"},
		{"45543", "[$-407]mmmm yyyy", 1900, Date, Month, "September 2024", "2024-09"},
		{"45352", `[$-407]d\. mmm yyyy`, 1900, Date, Day, "1. Mär 2024", "2024-03-01"},
		{"45543", "yyyy", 1900, Date, Year, "2024", "2024"},
		{"45543", "d-mmm", 1900, Date, NoYear, "8-Sep", "2024-09-08"},
		{"45543", "TT.MM.JJJJ", 1900, Date, Day, "08.09.2024", "2024-09-08"},
		{"45543.6041666667", "yyyy-mm-dd hh:mm", 1900, Date, Minute, "2024-09-08T14:30", "2024-09-08T14:30"},
		{"45543.6041666667", "yyyy-mm-dd hh:mm:ss", 1900, Date, Second, "2024-09-08T14:30:00", "2024-09-08T14:30:00"},
		{"45543.6041666667", "dd/mm/yyyy", 1900, Date, Day, "08/09/2024", "2024-09-08"},
		{"0.6041666667", "h:mm", 1900, Time, Unstated, "14:30:00", "14:30:00"},
		{"60", "d/m/yy", 1900, Number, Unstated, "60", "60"},
		{"1.1041666666666667", "[h]:mm", 1900, Time, Unstated, "26:30:00", "26:30:00"},
		{"-0.5", "[h]:mm", 1900, Time, Unstated, "-12:00:00", "-12:00:00"},
		{"1e300", "[h]:mm", 1900, Number, Unstated, "1e300", "1e300"},
	} {
		c := NewCell(1, Number, test.raw, ParseFormat(test.code), test.epoch)
		if c.Kind != test.kind || c.Precision != test.precision || c.Text != test.text || c.Value != test.value {
			t.Errorf("%s as %s: %s, precision %d, %q, %q", test.raw, test.code, c.Kind, c.Precision, c.Text, c.Value)
		}
	}
	for raw, want := range map[string]string{"1": "TRUE", "0": "FALSE", "x": "x"} {
		if got := NewCell(1, Bool, raw, nil, 0).Text; got != want {
			t.Errorf("truth value %s is shown as %s", raw, got)
		}
	}
	if got := NewCell(1, Text, " 17.780000000000001", nil, 0).Text; got != " 17.780000000000001" {
		t.Errorf("a text is shown as %q", got)
	}
}

// TestFormatsAnything: no format code, however broken, upsets the reader, and a number never loses
// its digits.
func TestFormatsAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.StringOfN(rapid.SampledFrom([]rune(`0#?.,%"\_*[]$-/;@eEhmsdyGAaPp<>=:( )inß年1`)), 0, 30, -1).Draw(t,
			"code")
		f := ParseFormat(code)
		f.Unit()
		for _, number := range []string{"17.78", "-1e-9", "123456789012345678901234567890", "0"} {
			if NewCell(1, Number, number, f, 1900).Text == "" {
				t.Fatalf("%q shows nothing of %s", code, number)
			}
		}
		// A number of up to 15 digits comes back as the same number.
		n := rapid.Int64Range(-999999999999999, 999999999999999).Draw(t, "n")
		places := rapid.IntRange(0, 15).Draw(t, "places")
		literal := fmt.Sprintf("%de-%d", n, places)
		var got, want float64
		fmt.Sscan(ShownNumber(literal), &got)
		fmt.Sscan(literal, &want)
		if got != want {
			t.Fatalf("%s is shown as %s", literal, ShownNumber(literal))
		}
	})
}

func TestKind(t *testing.T) {
	for k, want := range map[Kind]string{Empty: "empty", Text: "text", Number: "number", Date: "date", Time: "time",
		Bool: "bool", Error: "error", 9: "kind 9"} {
		if k.String() != want {
			t.Errorf("kind %d is %s", uint8(k), k)
		}
	}
}
