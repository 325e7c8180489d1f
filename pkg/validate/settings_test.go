package validate

import "testing"

func TestSettings(t *testing.T) {
	s := DefaultSettings()
	list := s.List()
	if len(list) < 20 {
		t.Fatalf("only %d settings", len(list))
	}
	for _, x := range list {
		if x.Changed() || x.Default == "" || x.Doc == "" || x.Source == "" {
			t.Errorf("setting %+v is not whole", x)
		}
	}
	if s.PloughDepth != 30 || s.SignalWidth != 2.5 {
		t.Errorf("plough depth %d, signal width %g", s.PloughDepth, s.SignalWidth)
	}
	if err := s.Set("plough-depth", "25"); err != nil || s.PloughDepth != 25 {
		t.Errorf("Set: %v, %d", err, s.PloughDepth)
	}
	for _, bad := range [][2]string{{"plough-depth", "-1"}, {"plough-depth", "deep"}, {"plough-depth", "2.5"},
		{"signal-width", "NaN"}, {"nothing", "1"}} {
		if err := s.Set(bad[0], bad[1]); err == nil {
			t.Errorf("Set(%q, %q) is accepted", bad[0], bad[1])
		}
	}
	changed := 0
	for _, x := range s.List() {
		if x.Changed() {
			changed++
		}
	}
	if changed != 1 {
		t.Errorf("%d settings changed", changed)
	}
}
