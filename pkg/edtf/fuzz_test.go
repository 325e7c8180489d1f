package edtf_test

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
)

// seedVectors adds the inputs of a vector file to a fuzz corpus.
func seedVectors(f *testing.F, name string) {
	f.Helper()
	data, err := os.ReadFile("../../testdata/vectors/" + name)
	if err != nil {
		f.Fatal(err)
	}
	var vectors []struct{ Input string }
	if err := json.Unmarshal(data, &vectors); err != nil {
		f.Fatal(err)
	}
	for _, v := range vectors {
		f.Add(v.Input, uint8(0), 0)
		f.Add(v.Input, uint8(5), 1950)
	}
}

func fuzzOptions(bits uint8, pivot int) edtf.Options {
	return edtf.Options{Order: edtf.Order(bits & 3), Serial: edtf.Epoch(bits >> 2 % 3), Pivot: pivot}
}

func FuzzParse(f *testing.F) {
	for _, row := range referenceRows(f) {
		f.Add(row["input"])
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := edtf.Parse(s)
		if err != nil {
			if !d.IsZero() {
				t.Errorf("Parse(%q) gives %v beside an error", s, d)
			}
			return
		}
		if got := d.String(); got != s {
			t.Errorf("Parse(%q).String() = %q", s, got)
		}
		checkDate(t, d)
	})
}

// checkDate holds a date to what is promised of every date.
func checkDate(t *testing.T, d edtf.Date) {
	t.Helper()
	again, err := edtf.Parse(d.String())
	if err != nil || again != d {
		t.Fatalf("Parse(%q) = %+v, %v; want the same date again", d.String(), again, err)
	}
	earliest, latest, openEarliest, openLatest := d.Span()
	if openEarliest != earliest.IsZero() || openLatest != latest.IsZero() {
		t.Errorf("%q: Span() = %v, %v, %t, %t", d, earliest, latest, openEarliest, openLatest)
	}
	if !openEarliest && !openLatest && earliest.Compare(latest) > 0 {
		t.Errorf("%q: span from %v to %v", d, earliest, latest)
	}
	for p := edtf.PrecisionDay; p <= edtf.PrecisionMillennium; p++ {
		coarse := d.Coarsen(p)
		if coarse.IsZero() || coarse.Coarsen(p) != coarse {
			t.Errorf("%q: Coarsen(%v) = %q, and then %q", d, p, coarse, coarse.Coarsen(p))
		}
		if _, err := edtf.Parse(coarse.String()); err != nil {
			t.Errorf("%q: Coarsen(%v): %v", d, p, err)
		}
		first, _, open, _ := coarse.Span()
		if !openEarliest && !open && first.Compare(earliest) > 0 {
			t.Errorf("%q: Coarsen(%v) = %q begins later", d, p, coarse)
		}
		_, last, _, open := coarse.Span()
		if !openLatest && !open && last.Compare(latest) < 0 {
			t.Errorf("%q: Coarsen(%v) = %q ends earlier", d, p, coarse)
		}
	}
}

func FuzzNormaliseFound(f *testing.F) {
	seedVectors(f, "date-found.json")
	f.Fuzz(func(t *testing.T, s string, bits uint8, pivot int) {
		o := fuzzOptions(bits, pivot)
		found, err := edtf.NormaliseFound(s, o)
		if err != nil {
			checkError(t, s, err)
			return
		}
		if (found.Absent == "") == found.Date.IsZero() {
			t.Fatalf("NormaliseFound(%q) = %+v: a date or a reason", s, found)
		}
		if found.Absent != "" {
			return
		}
		if !edtf.ValidFound(found.Date) {
			t.Errorf("NormaliseFound(%q) = %q, which found.date may not hold", s, found.Date)
		}
		checkDate(t, found.Date)
		again, err := edtf.NormaliseFound(strings.TrimSpace(found.Date.String()+" "+found.Time), o)
		if err != nil || again.Date != found.Date || again.Time != found.Time {
			t.Errorf("NormaliseFound(%q) = %q %q, read again as %+v, %v", s, found.Date, found.Time, again, err)
		}
		if found.Time != "" {
			if time, err := edtf.ParseTime(found.Time); err != nil || time != found.Time {
				t.Errorf("ParseTime(%q) = %q, %v", found.Time, time, err)
			}
		}
	})
}

func FuzzNormaliseDating(f *testing.F) {
	seedVectors(f, "date-dating.json")
	f.Fuzz(func(t *testing.T, s string, bits uint8, pivot int) {
		o := fuzzOptions(bits, pivot)
		dating, err := edtf.NormaliseDating(s, o)
		if err != nil {
			checkError(t, s, err)
			return
		}
		if given := !dating.Date.IsZero() || dating.Period != ""; given == (dating.Absent != "") {
			t.Fatalf("NormaliseDating(%q) = %+v: a date, a period or a reason", s, dating)
		}
		if !strings.Contains(s, dating.Period) {
			t.Errorf("NormaliseDating(%q): the period %q is not as written", s, dating.Period)
		}
		if dating.Date.IsZero() {
			return
		}
		checkDate(t, dating.Date)
		again, err := edtf.NormaliseDating(dating.Date.String(), o)
		if err != nil || again.Date != dating.Date {
			t.Errorf("NormaliseDating(%q) = %q, read again as %+v, %v", s, dating.Date, again, err)
		}
	})
}

// checkError holds an error to what is promised of every error.
func checkError(t *testing.T, s string, err error) {
	t.Helper()
	e, ok := err.(*edtf.Error)
	if !ok {
		t.Fatalf("reading %q: error of type %T", s, err)
	}
	if e.Input != s || e.Code == "" || e.Message == "" || e.Help == "" {
		t.Errorf("reading %q: error %+v lacks a part", s, e)
	}
	if e.At < 0 || e.At > len(s) || !strings.HasPrefix(s[e.At:], e.Part) {
		t.Errorf("reading %q: part %q does not stand at %d", s, e.Part, e.At)
	}
	if strings.ContainsAny(err.Error(), "\n\r") {
		t.Errorf("reading %q: the error has more than one line", s)
	}
	for _, proposal := range e.Proposals {
		if _, err := edtf.Parse(proposal); err != nil {
			t.Errorf("reading %q: proposal: %v", s, err)
		}
	}
}
