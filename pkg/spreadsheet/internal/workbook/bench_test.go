package workbook

import "testing"

func BenchmarkRows(b *testing.B) {
	const rows = 20_000
	for name, data := range map[string][]byte{"inline": streamed(b, rows), "shared": shared(b, rows)} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				n := 0
				for _, err := range open(b, data).Sheets[0].Rows() {
					if err != nil {
						b.Fatal(err)
					}
					n++
				}
				if n != rows {
					b.Fatalf("%d rows, want %d", n, rows)
				}
			}
			b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}
