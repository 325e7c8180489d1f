package edtf_test

import (
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
)

// Canonical forms are ISO 8601-1; the rest is everyday writing (common
// practice, no source).
func TestParseTime(t *testing.T) {
	for text, want := range map[string]string{
		"14:30": "14:30", "9:30": "09:30", "14:30:15": "14:30:15", "14:30:15.25": "14:30:15", "14:30+02:00": "14:30+02:00",
		"14:30+02":    "14:30+02:00",
		"14:30 +0200": "14:30+02:00", "14:30Z": "14:30Z", "14:30-03:30": "14:30-03:30", "14.30": "14:30", "14h30": "14:30",
		"14 h": "14:00", "14 h 05": "14:05", "kl. 14.30": "14:30",
		"14.30 Uhr": "14:30", "2:30 pm": "14:30", "2.30 p.m.": "14:30", "12:05 am": "00:05", "12 pm": "12:00", "9am": "09:00",
		" 14:30 ": "14:30", "00:00": "00:00", "à 14h30": "14:30",
	} {
		got, err := edtf.ParseTime(text)
		if err != nil || got != want {
			t.Errorf("ParseTime(%q) = %q, %v; want %q", text, got, err, want)
		}
		if again, err := edtf.ParseTime(got); err != nil || again != got {
			t.Errorf("ParseTime(%q) = %q, %v; want it as it is", got, again, err)
		}
	}
	for _, text := range []string{"", "14", "1430", "24:00", "14:60", "14:30:61", "14:30+15:00", "14:30-00:00",
		"14:30 near", "pm", "13 pm", "0:30 pm", "noon", "14:3x", "-1:30", "100:30"} {
		got, err := edtf.ParseTime(text)
		if err == nil {
			t.Errorf("ParseTime(%q) = %q, want an error", text, got)
			continue
		}
		checkError(t, text, err)
	}
}
