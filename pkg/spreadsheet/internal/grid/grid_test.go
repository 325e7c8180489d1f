package grid

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/cases"
	_ "github.com/findslip/findslip/pkg/testkit/heavy" // the seed of what is drawn
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
	tests := cases.Table[[]struct {
		Serial    string
		Epoch1904 bool
		Want      string
	}](t, "DateParts")
	for _, test := range tests {
		got, ok := DateParts(test.Serial, test.Epoch1904)
		if got != test.Want || ok != (test.Want != "") {
			t.Errorf("DateParts(%q, %v) = %q, %v, want %q", test.Serial, test.Epoch1904, got, ok, test.Want)
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
	tests := cases.Table[[]struct {
		Code          string
		Date, Clock   bool // shown as a date or a time, as a time only
		Elapsed       bool
		Unit          string
		Number, Shown string
	}](t, "Formats")
	for _, test := range tests {
		f := ParseFormat(test.Code)
		if got := f.IsDate(); got != test.Date {
			t.Errorf("IsDateFormat(%s) = %v", test.Code, got)
		}
		if got := f.IsDate() && !f.day; got != test.Clock {
			t.Errorf("IsTimeFormat(%s) = %v", test.Code, got)
		}
		if got := f.elapsed; got != test.Elapsed {
			t.Errorf("IsElapsedFormat(%s) = %v", test.Code, got)
		}
		if got := f.Unit(); got != test.Unit {
			t.Errorf("FormatUnit(%s) = %q, want %q", test.Code, got, test.Unit)
		}
		if test.Date {
			continue
		}
		if got := NewCell(1, Number, test.Number, f, 1900).Text; got != test.Shown {
			t.Errorf("Shown(%s as %s) = %q, want %q", test.Number, test.Code, got, test.Shown)
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
	for _, test := range cases.Table[[]struct {
		Raw, Code   string
		Epoch       int
		Kind        Kind
		Precision   Precision
		Text, Value string
	}](t, "Dates") {
		c := NewCell(1, Number, test.Raw, ParseFormat(test.Code), test.Epoch)
		if c.Kind != test.Kind || c.Precision != test.Precision || c.Text != test.Text || c.Value != test.Value {
			t.Errorf("%s as %s: %s, precision %d, %q, %q", test.Raw, test.Code, c.Kind, c.Precision, c.Text, c.Value)
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
