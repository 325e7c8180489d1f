package share

import (
	"encoding/json"
	"testing"

	"github.com/findslip/findslip/pkg/find"
)

// Two bags of one number have one id until that is mended (number-repeated): each copy is of its own
// find, nothing of one goes to the other, and the one is no leak of the other.
func TestFindsOfOneID(t *testing.T) {
	id := find.FindID("urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "6")
	source := &find.Report{Findslip: find.Version, ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Permissions: []find.Permission{{ID: "permission-1"}, {ID: "permission-2"}},
		Finds: []*find.Find{
			{ID: id, Number: "6", Name: "cloth seal", Permission: "permission-1",
				Position: &find.Position{Verbatim: "by the oak near the gate"}, Notes: "rolled edge"},
			{ID: id, Number: "6", Name: "spindle whorl", Permission: "permission-2", Notes: "chalk line on it",
				Description: "turned"},
		}}
	for _, a := range []Audience{Partner, Recorder, Landowner, Expert, Public} {
		c, err := Copy(t.Context(), source, Options{Audience: a, Permissions: []string{"permission-1"}, Notes: true})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.Report.Finds {
			want := map[string]string{"cloth seal": "rolled edge", "spindle whorl": "chalk line on it"}[f.Name]
			if f.Notes != want {
				t.Errorf("%s: the %s has the notes %q, want %q", a, f.Name, f.Notes, want)
			}
		}
		if a == Public || a == Expert {
			continue
		}
		data, err := json.Marshal(map[string]any{"finds": c.Report.Finds})
		if err != nil {
			t.Fatal(err)
		}
		if leaks := leaksOf(t, data, source, c, a); len(leaks) > 0 {
			t.Errorf("%s: %v", a, leaks)
		}
	}
	copied := clone(source)
	copied.Finds = []*find.Find{clone(source.Finds[0]), clone(source.Finds[1])}
	if !held(t, &Copied{Report: copied}, []Span{{Pointer: "/description", at: 2}}) || copied.Finds[1].Description != "" ||
		copied.Finds[0].Absent != nil {
		t.Error("what leaks in the second is held back in another")
	}
}
