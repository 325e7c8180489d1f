package profile

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// BenchmarkLevels measures what the levels cost a find.
func BenchmarkLevels(b *testing.B) {
	panel := NewPanel(Levels(), Options{})
	f := &find.Find{Number: "12", Name: "button", Finder: "person-1", Permission: "permission-1",
		Found: &find.Found{Date: "2026-04-11"}, Absent: map[string]string{"/materials": "not-known"}}
	var j Judgement
	b.ReportAllocs()
	for b.Loop() {
		panel.Judge(&Subject{Find: f}, &j)
	}
}
