package share

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
)

// longReport is a log of many finds on two fields, each with words of its own.
func longReport(finds int) *find.Report {
	r := rand.New(rand.NewPCG(21, 22))
	out := randomReport(r)
	model := out.Finds[0]
	out.Finds = nil
	for i := range finds {
		f := *model
		la, lo := coordinate.Round7(52.5+r.Float64()*0.02), coordinate.Round7(-1.23+r.Float64()*0.02)
		f.ID, f.Number = find.FindID(out.ID, fmt.Sprint(i)), fmt.Sprintf("SF-%04d", i)
		f.Position = &find.Position{Latitude: find.Float(la), Longitude: find.Float(lo), Uncertainty: find.Int(5),
			Verbatim: fmt.Sprintf("%.6f, %.6f", la, lo)}
		f.Permission = fmt.Sprintf("permission-%d", 1+i%2)
		f.StoragePlace, f.Notes = fmt.Sprintf("box %d, shelf %d", i, i%7), fmt.Sprintf("twelve paces from oak %d", i)
		f.Sensitivity = []string{"open", "coarse", "restricted"}[i%3]
		out.Finds = append(out.Finds, &f)
	}
	return out
}

func BenchmarkLeaks(b *testing.B) {
	source := longReport(5000)
	for _, c := range []struct {
		name string
		of   func() *find.Report
	}{{"copy", func() *find.Report {
		c, err := Copy(b.Context(), source, Options{Audience: Public})
		if err != nil {
			b.Fatal(err)
		}
		return c.Report
	}}, {"source", func() *find.Report { return source }}} {
		b.Run(c.name, func(b *testing.B) {
			copied := c.of()
			var data bytes.Buffer
			if err := find.EncodeJSON(&data, find.StreamOf(copied)); err != nil {
				b.Fatal(err)
			}
			b.SetBytes(int64(data.Len()))
			for b.Loop() {
				if _, err := Leaks(b.Context(), data.Bytes(), source, &Copied{Report: copied}, Public, limit.Limits{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
