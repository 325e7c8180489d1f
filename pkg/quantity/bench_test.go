package quantity

import "testing"

func BenchmarkNormaliseLength(b *testing.B) {
	for _, s := range []string{"8 in", "20.5 cm", `7-9"`, "more than a foot", "8 1/2 in", "ca. 20 cm"} {
		b.Run(s, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := NormaliseLength(s, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkNormaliseMass(b *testing.B) {
	for _, s := range []string{"6.25 g", "1/2 oz", "3 dwt 12 gr"} {
		b.Run(s, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := NormaliseMass(s, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkString(b *testing.B) {
	r, err := NormaliseLength("7-9 in", Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if r.Quantity.String() == "" {
			b.Fatal("empty")
		}
	}
}
