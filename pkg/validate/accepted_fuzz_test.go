package validate

import (
	"testing"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
)

// FuzzAcceptances: an entry silences a notice only where its code and find are those of the notice and
// it gives a reason, and is told when it silences nothing.
func FuzzAcceptances(f *testing.F) {
	f.Add("name-missing", "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", "", "seen")
	f.Add("member-unknown", "", "/x", "")
	f.Add("", "\xff", "/depth/", "\x00")
	f.Fuzz(func(t *testing.T, code, id, pointer, reason string) {
		r := &find.Report{Findslip: find.Version,
			Accepted: []find.Acceptance{{Code: code, Find: id, Pointer: pointer, Reason: reason},
				{Code: code, Find: id, Pointer: pointer, Reason: reason}},
			Finds: []*find.Find{{ID: id, Number: "1"}, {ID: "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a12", Name: "bell"}}}
		v, err := New(Options{Level: "log", AsOf: edtf.Day{Year: 2026, Month: 4, Day: 12}})
		if err != nil {
			t.Fatal(err)
		}
		checked := v.Stream(find.StreamOf(r))
		list, stale, silenced := checked.Notices, 0, 0
		for e, err := range checked.Entries {
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, e.Notices...)
		}
		for _, n := range list {
			if n.Kind.Code == AcceptanceStale.Code {
				stale++
			}
			if n.Accepted != "" {
				if silenced++; n.Kind.Code != code || n.Accepted != reason {
					t.Fatalf("%s is silenced by an entry for %q", n.Kind.Code, code)
				}
			}
		}
		if silenced == 0 && stale != 2 || silenced > 0 && stale != 0 {
			t.Fatalf("%d notices are silenced, and %d entries said to silence nothing", silenced, stale)
		}
	})
}
