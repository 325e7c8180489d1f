package edtf_test

import (
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
)

// The aim is a million readings a second on one core for ordinary texts.

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"2026-04-12", "1690/1790", "186X", "[1667,1668,1670..1672]"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := edtf.Parse(text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkNormaliseFound(b *testing.B) {
	options := edtf.Options{Order: edtf.DayMonthYear, Pivot: 1950, Today: edtf.Day{Year: 2026, Month: 11, Day: 25}}
	for _, text := range []string{"2026-04-12", "12/4/2026", "12/4/26 14:30", "12 April 2026", "d. 12. april 2026",
		"12-14 April 2026"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := edtf.NormaliseFound(text, options); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkNormaliseDating(b *testing.B) {
	for _, text := range []string{"1690-1790", "c. 1350", "early 18th century", "late 17th to early 18th century", "Roman",
		"1. Hälfte 18. Jh."} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := edtf.NormaliseDating(text, edtf.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
