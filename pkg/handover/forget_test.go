package handover_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/share"
)

// Once all is accepted, nothing of what is to be forgotten stands in the log; what was accepted can be taken back;
// and every copy in which it stands is named.
func TestForget(t *testing.T) {
	for _, c := range []struct {
		name   string
		land   bool
		finds  int
		copies map[share.Audience]bool // whether the name itself was told
	}{
		{"finder-b", false, 6, map[share.Audience]bool{share.Recorder: true, share.Expert: false}},
		{"chapel PIECE", true, 6, map[share.Audience]bool{share.Recorder: true, share.Expert: false}},
		{"permission-2", true, 6, map[share.Audience]bool{share.Recorder: true, share.Expert: false}},
	} {
		t.Run(c.name, func(t *testing.T) {
			kept, log := keep(t), ours(t)
			for a := range c.copies {
				sent(t, kept, a, pipeline.Findslip)
			}
			f, err := handover.Forget(log, c.name, kept.Register, "2026-06-09")
			if err != nil || f.Land != c.land || f.Finds != c.finds {
				t.Fatalf("%v %+v", err, f)
			}
			for i := range f.Proposals.Proposals {
				f.Proposals.Proposals[i].Accepted = true
			}
			done, err := handover.Accept(log, f.Proposals)
			if err != nil || len(done.Refused) > 0 || len(done.Log.Finds) != len(log.Finds) {
				t.Fatal(err, done)
			}
			text, err := find.Marshal(done.Log)
			if err != nil {
				t.Fatal(err)
			}
			if name := strings.ToLower(c.name); !find.IsLocalID(c.name) || name == "finder-b" {
				if strings.Contains(strings.ToLower(string(text)), name) {
					t.Error("the name stands in the log still")
				}
			}
			undone(t, log, done)
			seen := map[share.Audience]bool{}
			for _, h := range f.Holders {
				seen[share.Audience(h.Audience)] = true
				if h.Surely != c.copies[share.Audience(h.Audience)] {
					t.Errorf("%s: told by name: %v", h.Audience, h.Surely)
				}
				if letter := strings.ToLower(h.Letter(c.land)); strings.Contains(letter, strings.ToLower(c.name)) ||
					!strings.Contains(letter, h.Copy) {
					t.Errorf("the letter: %s", letter)
				}
			}
			if len(seen) != len(c.copies) {
				t.Errorf("holders: %v", seen)
			}
		})
	}
	if _, err := handover.Forget(ours(t), "somebody else", keep(t).Register, ""); !errors.Is(err, handover.ErrNobody) {
		t.Errorf("error %v", err)
	}
}

// A name in the words of others goes with its person, whole words only.
func TestForgetWords(t *testing.T) {
	log := &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		People: []find.Person{{ID: "person-1", Name: "Hob Marl", Contact: "by the mill"}},
		Finds: []*find.Find{{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101", Number: "1", Name: "bell",
			Notes: "shown to hob  marl at Hob Marlow's; HOB MARL thought it old"}}}
	f, err := handover.Forget(log, "hob marl", nil, "")
	if err != nil || len(f.Proposals.Proposals) != 2 {
		t.Fatalf("%v %+v", err, f)
	}
	for i := range f.Proposals.Proposals {
		f.Proposals.Proposals[i].Accepted = true
	}
	done, err := handover.Accept(log, f.Proposals)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := done.Log.Finds[0].Notes,
		"shown to [withheld] at Hob Marlow's; [withheld] thought it old"; got != want {
		t.Errorf("%q", got)
	}
	if p := done.Log.People[0]; p.Name+p.Contact != "" || p.Absent["/name"] != "withheld" {
		t.Errorf("%+v", p)
	}
}
