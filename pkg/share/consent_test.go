package share_test

import (
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/share"
)

// A contact whose owner has agreed reaches the recorder and is no leak there, also in the words of a note; that of
// somebody else is.
func TestAgreedContact(t *testing.T) {
	source := &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		People: []find.Person{{ID: "person-1", Name: "Hob Marl", Contact: "hob@thornmere.example; 01632 960001; Chapel Lane",
			Consents: []find.Consent{{Audience: "recorder"}}}, {ID: "person-2", Contact: "miller@thornmere.example"}},
		Notes: []string{"parked in Chapel Lane"},
		Finds: []*find.Find{{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101", Number: "1", Name: "bell",
			Finder: "person-1", Notes: "ask hob@thornmere.example"}}}
	leaks := func(note string, a share.Audience) (int, *share.Copied) {
		source.Finds[0].Notes = note
		c, err := share.Copy(t.Context(), source, share.Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		text, err := find.Marshal(c.Report)
		if err != nil {
			t.Fatal(err)
		}
		looked, err := share.Leaks(t.Context(), text, source, c, a, limit.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		return len(looked.Leaks), c
	}
	n, c := leaks("ask hob@thornmere.example", share.Recorder)
	if n > 0 || c.Report.People[0].Contact != "hob@thornmere.example; 01632 960001; Chapel Lane" {
		t.Errorf("%d leaks, %+v", n, c.Report.People)
	}
	if n, _ := leaks("ask miller@thornmere.example", share.Recorder); n == 0 {
		t.Error("the contact of somebody who has not agreed is no leak")
	}
	source.People[0].Consents = nil
	if n, _ := leaks("ask hob@thornmere.example", share.Recorder); n == 0 {
		t.Error("without consent the contact is no leak")
	}
}
