package share

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// The own land of a landowner is named by the id of a permission or by the name of the land; where a name
// is not of one permission alone, nothing is guessed.
func TestLandByName(t *testing.T) {
	source := &find.Report{Findslip: find.Version, ID: find.NewReportID(), Permissions: []find.Permission{
		{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"}},
		{ID: "permission-2", Place: &find.Place{Name: "Chapel Piece"}},
		{ID: "permission-3", Place: &find.Place{Name: "chapel  piece"}}, {ID: "permission-4"}},
		Finds: []*find.Find{{ID: find.FindID("urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "1"), Number: "1",
			Permission: "permission-1"},
			{ID: find.FindID("urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "2"), Number: "2", Permission: "permission-2"}}}
	for _, name := range []string{"permission-1", "Long Furlong", " long  FURLONG "} {
		c, err := Copy(t.Context(), source, Options{Audience: Landowner, Permissions: []string{name}})
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		if len(c.Report.Finds) != 1 || c.Report.Finds[0].Number != "1" || len(c.Report.Permissions) != 1 {
			t.Errorf("%q: %d finds on %d permissions", name, len(c.Report.Finds), len(c.Report.Permissions))
		}
	}
	for name, want := range map[string]string{"Chapel Piece": "more than one",
		"Short Furlong": "it has permission-1, permission-2", "": "it has permission-1"} {
		if _, err := Copy(t.Context(), source, Options{Audience: Landowner, Permissions: []string{name}}); err == nil ||
			!strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "Furlong,") {
			t.Errorf("%q: %v, want %q", name, err, want)
		}
	}
	if _, err := Copy(t.Context(), source, Options{Audience: Landowner}); err == nil || !strings.Contains(err.Error(),
		"permission-4") {
		t.Errorf("no land named: %v", err)
	}
}
