package handover_test

import (
	"encoding/csv"
	"errors"
	"html"
	"regexp"
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
	copies := map[share.Audience]bool{share.Recorder: true, share.Expert: false} // whether the name itself was told
	for name, land := range map[string]bool{"finder-b": false, "chapel PIECE": true, "permission-2": true} {
		t.Run(name, func(t *testing.T) {
			kept, log := keep(t), ours(t)
			for a := range copies {
				sent(t, kept, a, pipeline.Findslip)
			}
			f, err := handover.Forget(log, name, kept.Register, "2026-06-09")
			if err != nil || f.Land != land || f.Finds != 6 {
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
			if !find.IsLocalID(name) || name == "finder-b" {
				if strings.Contains(strings.ToLower(string(text)), strings.ToLower(name)) {
					t.Error("the name stands in the log still")
				}
			}
			undone(t, log, done)
			seen := map[share.Audience]bool{}
			for _, h := range f.Holders {
				seen[share.Audience(h.Audience)] = true
				if h.Surely != copies[share.Audience(h.Audience)] {
					t.Errorf("%s: told by name: %v", h.Audience, h.Surely)
				}
				if letter := strings.ToLower(h.Letter(land)); strings.Contains(letter, strings.ToLower(name)) ||
					!strings.Contains(letter, h.Copy) {
					t.Errorf("the letter: %s", letter)
				}
			}
			if len(seen) != len(copies) {
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
	// A part of it by itself goes too, but not another person of the same first name; nor can nobody be forgotten.
	log.Finds[0].Notes = "beside Hob's gate, with H. Marl; hob.marl@example.org; Hob Else, hob"
	if f, err = handover.Forget(log, "Hob Marl", nil, ""); err != nil {
		t.Fatal(err)
	}
	if got := string(f.Proposals.Proposals[1].Patch[1].Value); got !=
		`"beside [withheld] gate, with [withheld]; [withheld]; Hob Else, hob"` {
		t.Error(got)
	}
	if _, err := handover.Forget(log, " ", nil, ""); err == nil {
		t.Error("nobody is forgotten")
	}
	// A name that looks like a local id, or like a code, is a name all the same; codes and ids stand.
	log.People[0].Name, log.People[0].Roles = "finder", []find.Term{{Code: "finder"}}
	log.Finds[0].Notes, log.Finds[0].Description = "finder", "shown by Finder himself"
	if f, err = handover.Forget(log, "finder", nil, ""); err != nil || len(f.Proposals.Proposals) != 3 {
		t.Errorf("%v %+v", err, f.Proposals)
	}
}

// The form on the page for an expert comes home: what its script saves - a row for each find that was answered, a
// column for each field of the form - is read as opinions, with who gave them and when.
func TestThePageForAnExpertComesHome(t *testing.T) {
	kept, log := keep(t), ours(t)
	text := string(sent(t, kept, share.Expert, pipeline.Page))
	section := regexp.MustCompile(`(?s)<section class="find" data-id="([^"]+)" data-number="([^"]*)">.*?</section>`)
	sections := section.FindAllStringSubmatch(text, -1)
	if len(sections) == 0 {
		t.Fatal("the page has no find")
	}
	row, head := []string{html.UnescapeString(sections[0][1]), sections[0][2], "A. Knower"},
		[]string{"id", "number", "Answered by"}
	values := map[string]string{"opinions.1.says.name": "crotal bell, with pea", "opinions.1.certainty": "probable",
		"opinions.1.seen": "in-hand", "opinions.1.says.dating.verbatim": "c. 1700", "otherNumbers.1.number": "K 17"}
	for _, m := range regexp.MustCompile(`name="([a-zA-Z0-9.]+)"`).FindAllStringSubmatch(sections[0][0], -1) {
		head, row = append(head, m[1]), append(row, values[m[1]])
		delete(values, m[1])
	}
	if len(values) > 0 {
		t.Errorf("the form does not ask for %v", values)
	}
	var answer strings.Builder
	w := csv.NewWriter(&answer)
	if err := w.WriteAll([][]string{append(head, "opinions.1.on"), append(row, "2026-06-05")}); err != nil {
		t.Fatal(err)
	}
	p, err := handover.Propose(log, read(t, []byte(answer.String()), pipeline.CSV), kept.Register, handover.Options{})
	if err != nil || len(p.Proposals) != 2 || p.From != "A. Knower" {
		t.Fatalf("%v %+v", err, p)
	}
	for i := range p.Proposals {
		p.Proposals[i].Accepted = true
	}
	done, err := handover.Accept(log, p)
	if err != nil || done.Applied != 2 {
		t.Fatal(err, done)
	}
	for _, f := range done.Log.Finds {
		if len(f.OtherNumbers) == 0 || f.OtherNumbers[len(f.OtherNumbers)-1].Number != "K 17" {
			continue
		}
		o := f.Opinions[len(f.Opinions)-1]
		if done.Log.Person(o.By).Name != "A. Knower" || o.On != "2026-06-05" || o.Certainty != "probable" ||
			!o.Seen.Is("in-hand") || !strings.Contains(string(o.Says), "crotal bell, with pea") ||
			!strings.Contains(string(o.Says), "c. 1700") {
			t.Errorf("%+v says %s", o, o.Says)
		}
		return
	}
	t.Error("no find has the number")
}
