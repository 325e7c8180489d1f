package share

import (
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// Columns of people, permissions and outings that no field understands are for nobody else: nothing is known of them.
func TestColumnsOfRecordsStay(t *testing.T) {
	secret := map[string]string{"Gate code": "4711"}
	for _, a := range []Audience{Partner, Landowner, Expert, Recorder, Public} {
		source := &find.Report{Findslip: find.Version, ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
			People:      []find.Person{{ID: "person-1", Handle: "finder-a", Columns: secret}},
			Permissions: []find.Permission{{ID: "permission-1", GrantedBy: "person-1", Columns: secret}},
			Outings:     []find.Outing{{ID: "outing-1", Permission: "permission-1", People: []string{"person-1"}, Columns: secret}}}
		o := Options{Audience: a}
		if a == Landowner {
			o.Permissions = []string{"permission-1"}
		}
		c, err := Copy(t.Context(), source, o)
		if err != nil {
			t.Fatal(err)
		}
		raw, err := find.Marshal(c.Report)
		if err != nil || strings.Contains(string(raw), "4711") {
			t.Errorf("%s: %v %s", a, err, raw)
		}
	}
}
