package coordinate

import "testing"

func benchmark(b *testing.B, s string, o Options) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Normalise(s, o); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDecimalDegrees(b *testing.B) { benchmark(b, "52.507195, -1.224012", Options{}) }
func BenchmarkDMS(b *testing.B)            { benchmark(b, `52°30'15.5"N 1°12'20.1"W`, Options{}) }
func BenchmarkGridLetters(b *testing.B)    { benchmark(b, "SP 5270 9011", Options{}) }
func BenchmarkUTM(b *testing.B)            { benchmark(b, "30U 699375 5713970", Options{}) }
func BenchmarkMGRS(b *testing.B)           { benchmark(b, "30U WC 12345 67890", Options{}) }
func BenchmarkProjected(b *testing.B) {
	benchmark(b, "452705 290115", Options{System: "EPSG:27700"})
}
func BenchmarkRD(b *testing.B) { benchmark(b, "155000 463000", Options{System: "EPSG:28992"}) }

func BenchmarkContains(b *testing.B) {
	a := mustArea(b, field)
	for b.Loop() {
		if a.Contains(Point{-1.2265, 52.503}, 5) != Inside {
			b.Fatal("not inside")
		}
	}
}

func BenchmarkDistance(b *testing.B) {
	for b.Loop() {
		if Distance(Point{-1.2265, 52.503}, Point{-1.2, 52.51}) < 1 {
			b.Fatal("too near")
		}
	}
}
