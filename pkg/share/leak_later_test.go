package share

import "testing"

// The expressions that are compiled late can all be compiled, and none finds something in nothing.
func TestExpressions(t *testing.T) {
	all := map[string]string{dataAddress().String(): "", markup().String(): "", webAddress().String(): "", degreeMinute().String(): ""}
	for _, f := range forms {
		all[f.like().String()] = ""
		if f.like().MatchString("") {
			t.Errorf("%s is found in nothing", f.kind)
		}
	}
	if len(all) != 4+len(forms) {
		t.Errorf("%d expressions, want %d", len(all), 4+len(forms))
	}
}
