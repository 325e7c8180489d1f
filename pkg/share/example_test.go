package share_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/share"
)

// written is a report with a place, a name and words that tell it.
func written() *find.Report {
	text := `{"findslip": "1.0", "id": "urn:uuid:0b8ac7a4-3f0b-4d1c-9a6e-1de1f1d6a3b0", "people": [{"id": "person-1", "name": "Tilly Furlong"}], "finds": [
  {"id": "urn:uuid:6f1c7f04-8f4e-4a55-8a4c-6a3d3f7f2b11", "number": "12", "name": "button", "finder": "person-1",
   "description": "found with Tilly Furlong", "position": {"latitude": 52.50123, "longitude": -1.25678, "verbatim": "by the gate"}}]}`
	read, err := find.DecodeJSON(strings.NewReader(text), find.Options{})
	if err != nil {
		panic(err)
	}
	report, _, err := find.Collect(read)
	if err != nil {
		panic(err)
	}
	return report
}

func ExampleCopy() {
	copied, err := share.Copy(context.Background(), written(), share.Options{Audience: share.Public})
	if err != nil {
		fmt.Println(err)
		return
	}
	f := copied.Report.Finds[0]
	fmt.Println(copied.Report.Audience, f.Name)
	fmt.Printf("%v %v %q\n", f.Position.Latitude, f.Position.Longitude, f.Position.Verbatim)
	// Output:
	// public button
	// 52.55 -1.25 ""
}

// What is said in a letter is looked through before it is sent.
func ExampleLeaks() {
	letter := []byte("Found at N 52 30.074 W 1 15.407 by T. Furlong")
	looked, err := share.Leaks(context.Background(), letter, written(), nil, share.Public, limit.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range looked.Leaks {
		fmt.Println(l)
	}
	// Output:
	// grid-reference from /finds/0/position at byte 9
	// name from /people/0/name at byte 38
}

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
	source.People[0].Columns = map[string]string{"Darf die Meldestelle meinen Namen haben?": "nein"} // of another log
	if _, c := leaks("", share.Recorder); c.Report.People[0].Name != "" {
		t.Error("the recorder gets the name of somebody who has said no")
	}
	source.People[0].Consents, source.People[0].Columns = nil, nil
	if n, _ := leaks("ask hob@thornmere.example", share.Recorder); n == 0 {
		t.Error("without consent the contact is no leak")
	}
}
