package handover_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/handover"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/testkit/heavy"
)

const season = "../../examples/thornmere/season.findslip.json"

// sent is the season, and a copy of it for an audience as a file of some format comes back unread.
func sent(t testing.TB, kept *pipeline.RegisterFile, a share.Audience, format pipeline.Format) []byte {
	t.Helper()
	r, err := pipeline.Share(t.Context(), season, pipeline.Options{To: format},
		pipeline.ShareOptions{Keep: kept, HoldBack: true, Earlier: pipeline.GoOn,
			Options: share.Options{Audience: a, Receiver: "M. Asker", Permissions: []string{"permission-1"},
				Changed: "2026-06-01T00:00:00Z"}})
	if err != nil || !r.Made {
		t.Fatal(err)
	}
	if _, err := r.Commit(t.Context(), "2026-06-01T00:00:00Z", "2026-06-01", "copy", r.Sum(), limit.Limits{}); err != nil {
		t.Fatal(err)
	}
	return r.Data()
}

func keep(t testing.TB) *pipeline.RegisterFile {
	t.Helper()
	return &pipeline.RegisterFile{Register: register.New("2026-01-01T00:00:00Z"),
		Name: filepath.Join(t.TempDir(), register.Name)}
}

func read(t testing.TB, data []byte, format pipeline.Format) *find.Report {
	t.Helper()
	r, err := pipeline.Collect(context.Background(), "-", pipeline.Options{From: format, Stdin: bytes.NewReader(data)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func ours(t testing.TB) *find.Report {
	t.Helper()
	raw, err := os.ReadFile(season)
	if err != nil {
		t.Fatal(err)
	}
	return read(t, raw, pipeline.Findslip)
}

// A copy that nobody has written into says nothing, whatever its format.
func TestNothingSaidNothingProposed(t *testing.T) {
	for _, a := range []share.Audience{share.Expert, share.Recorder, share.Partner, share.Club, share.Landowner} {
		kept := keep(t)
		for _, format := range []pipeline.Format{pipeline.Findslip, pipeline.XLSX, pipeline.CSV, pipeline.GeoJSON} {
			answer := read(t, sent(t, kept, a, format), format)
			p, err := handover.Propose(ours(t), answer, kept.Register, handover.Options{})
			if err != nil || len(p.Proposals)+len(p.Said) > 0 {
				t.Errorf("%s as %s: %v, %+v", a, format, err, p)
			}
		}
	}
}

// Whatever is changed in an answer, all of it accepted, nothing of the owner's is changed: the log only gains
// opinions, numbers, notices, custody and the person who gave them.
func TestNothingOfTheOwnersChanges(t *testing.T) {
	random := rand.New(rand.NewPCG(41, 42))
	log := ours(t)
	for _, a := range []share.Audience{share.Expert, share.Recorder, share.Landowner} {
		for _, format := range []pipeline.Format{pipeline.Findslip, pipeline.XLSX, pipeline.CSV} {
			t.Run(string(a)+" "+string(format), func(t *testing.T) { nothingChanges(t, random, log, a, format) })
		}
	}
}

func nothingChanges(t *testing.T, random *rand.Rand, log *find.Report, a share.Audience, format pipeline.Format) {
	kept := keep(t)
	data := sent(t, kept, a, format)
	for range heavy.Some(8, 60) {
		answer := read(t, data, format)
		said := edit(random, answer)
		p, err := handover.Propose(log, answer, kept.Register, handover.Options{Day: "2026-06-09"})
		if err != nil {
			t.Fatal(err)
		}
		for i := range p.Proposals {
			p.Proposals[i].Accepted = true
		}
		done, err := handover.Accept(log, p)
		if err != nil || len(done.Refused) > 0 {
			t.Fatal(err, done)
		}
		out := done.Log
		if said && len(p.Proposals)+len(p.Said) == 0 {
			t.Errorf("%s: what was changed is neither proposed nor said", format)
		}
		same(t, log, out)
		undone(t, log, done)
	}
}

// edit changes some of an answer, and reports whether it is worth a word.
func edit(random *rand.Rand, answer *find.Report) (said bool) {
	for range 1 + random.IntN(4) {
		f := answer.Finds[random.IntN(len(answer.Finds))]
		text := fmt.Sprintf("word %d", random.IntN(1000))
		switch random.IntN(10) {
		case 0:
			f.Name, said = text, true
		case 1:
			f.Description, said = text, true
		case 2:
			f.Columns, said = map[string]string{"Opinion": text}, true
		case 3:
			f.Opinions, said = append(f.Opinions,
				find.Opinion{On: "2026-06-05", By: "person-9", Says: []byte(`{"name":"` + text + `"}`)}), true
		case 4:
			f.OtherNumbers, said = append(f.OtherNumbers, find.OtherNumber{Number: text, Issuer: "the collection"}), true
		case 5:
			i := random.IntN(len(answer.Finds))
			answer.Finds, said = append(answer.Finds[:i:i], answer.Finds[i+1:]...), true
		case 6:
			f.Notes, f.Position, f.Depth, said = "", nil, nil, true
		case 7:
			answer.People = append(answer.People, find.Person{ID: "person-9", Name: "M. Asker"})
			f.Finder = "person-9"
		case 9:
			f.Columns, said = map[string]string{"opinions.7.says.name": text, "opinions.7.says.dating.verbatim": "c. 1350"}, true
		case 8:
			answer.Finds, said = append(answer.Finds, &find.Find{Number: text, Name: "a stray"}), true
		}
	}
	return said
}

// same holds a log to what it was, but for what answers may add.
func same(t *testing.T, before, after *find.Report) {
	t.Helper()
	text := func(r *find.Report) string {
		out := *r
		out.People, out.Finds = r.People[:len(before.People)], nil
		for _, f := range r.Finds {
			x := *f
			x.Opinions, x.OtherNumbers, x.Notified, x.Custody, x.Absent = nil, nil, nil, nil, nil
			out.Finds = append(out.Finds, &x)
		}
		raw, err := find.Marshal(&out)
		if err != nil {
			t.Fatal(err)
		}
		return strings.ReplaceAll(string(raw), `,"`, ",\n\"")
	}
	if d := cmp.Diff(text(before), text(after)); d != "" {
		t.Fatalf("the log has changed: %s", d)
	}
	for i, f := range before.Finds {
		if len(after.Finds[i].Opinions) < len(f.Opinions) || len(after.Finds[i].Notified) < len(f.Notified) {
			t.Fatal("an opinion or a notice has gone")
		}
	}
}

// undone holds a log from which all was taken back to what it was, byte for byte.
func undone(t *testing.T, before *find.Report, done *handover.Accepted) {
	t.Helper()
	back, err := handover.Accept(done.Log, done.Undo)
	if err != nil || len(back.Refused) > 0 || back.Applied != done.Applied {
		t.Fatal(err, back)
	}
	want, err := find.Marshal(before)
	if err != nil {
		t.Fatal(err)
	}
	got, err := find.Marshal(back.Log)
	if err != nil || string(want) != string(got) {
		t.Fatalf("%v: what was undone is not what was", err)
	}
}

// A proposal that no longer fits is refused, and an answer to nothing that was sent is an error.
func TestRefused(t *testing.T) {
	kept, log := keep(t), ours(t)
	answer := read(t, sent(t, kept, share.Expert, pipeline.Findslip), pipeline.Findslip)
	// The finds of a copy come in an order of its own: the name must be new for whichever comes first.
	answer.Finds[0].Name = "what no find of ours is called"
	p, err := handover.Propose(log, answer, kept.Register, handover.Options{})
	if err != nil || len(p.Proposals) != 1 || p.From != "M. Asker" || p.Day != "2026-06-01" {
		t.Fatalf("%v %+v", err, p)
	}
	p.Proposals[0].Accepted = true
	swapped := *log
	swapped.Finds = append([]*find.Find{{ID: find.NewReportID(), Name: "put in front"}}, log.Finds...)
	if done, err := handover.Accept(&swapped, p); err != nil || len(done.Refused) != 1 ||
		len(done.Log.Finds) != len(log.Finds)+1 {
		t.Errorf("%v %v", err, done)
	}
	if _, err := handover.Propose(log, log, kept.Register, handover.Options{}); err == nil {
		t.Error("the log itself is taken for an answer")
	}
	other := *log
	other.ID = find.NewReportID()
	if _, err := handover.Propose(&other, answer, kept.Register, handover.Options{}); err == nil {
		t.Error("the answer goes to another log")
	}
	if _, err := handover.ReadProposals(strings.NewReader(`{"proposalsVersion":"1.0"}`), limit.Limits{}); err == nil {
		t.Error("repairs are taken for an answer")
	}
}

// An expert's word comes home as an opinion.
func Example() {
	kept := register.New("2026-01-01T00:00:00Z")
	log := &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Finds: []*find.Find{{ID: "urn:uuid:0190f3c2-5b7e-7a41-8c1d-000000000101", Number: "12", Name: "lump"}}}
	c, err := share.Copy(context.Background(), log,
		share.Options{Audience: share.Expert, Receiver: "M. Asker", Register: kept})
	if err != nil {
		fmt.Println(err)
		return
	}
	events, err := c.Issue(context.Background(), "2026-06-01T00:00:00Z", "2026-06-01", "ask.json", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, e := range events {
		kept.Add(e)
	}
	answer := c.Report
	answer.Finds[0].Name = "crotal bell"
	p, err := handover.Propose(log, answer, kept, handover.Options{Day: "2026-06-09"})
	if err != nil {
		fmt.Println(err)
		return
	}
	p.Proposals[0].Accepted = true
	done, err := handover.Accept(log, p)
	if err != nil {
		fmt.Println(err)
		return
	}
	out := done.Log
	o := out.Finds[0].Opinions[0]
	fmt.Println(out.Finds[0].Name, "|", out.Person(o.By).Name, o.On, string(o.Says))
	// Output: lump | M. Asker 2026-06-09 {"name":"crotal bell"}
}

// What is typed over in a table is read anew; whoever gave an opinion keeps it, under an id of his own in each answer.
func TestTypedOver(t *testing.T) {
	kept, log := keep(t), ours(t)
	data := sent(t, kept, share.Expert, pipeline.CSV)
	for k, giver := range []string{"Dr Finch", "Prof Else"} {
		answer := read(t, data, pipeline.CSV)
		f := answer.Finds[slices.IndexFunc(answer.Finds, func(f *find.Find) bool { return f.Weight.HasValue() })]
		f.Weight.Verbatim = "26.5 g"
		f.Materials = []find.Material{{Term: find.Term{Code: "copper-alloy", Verbatim: "silver"}}}
		f.Identification = &find.Identification{By: "person-1"}
		f.Opinions = []find.Opinion{{By: "Ms Third", Says: jsontext.Value(`{"name":"rumbler bell"}`)}}
		answer.Notes = append(answer.Notes, "all of the 18th century")
		p, err := handover.Propose(log, answer, kept.Register, handover.Options{Day: "2026-06-09", From: giver})
		if err != nil || len(p.Proposals) != 2-k || len(p.Said) != 2+k {
			t.Fatal(err, p)
		}
		for i := range p.Proposals {
			p.Proposals[i].Accepted = true
		}
		done, err := handover.Accept(log, p)
		if err != nil || len(done.Refused) > 0 {
			t.Fatal(err, done)
		}
		log = done.Log
	}
	at := slices.IndexFunc(log.Finds, func(f *find.Find) bool { return len(f.Opinions) > 0 })
	var names, says []string
	ids := map[string]bool{}
	for _, o := range log.Finds[at].Opinions {
		names, says, ids[o.ID] = append(names, log.Person(o.By).Name), append(says, string(o.Says)), true
	}
	if got := fmt.Sprint(names); got != "[Dr Finch Ms Third Prof Else]" || len(ids) != 3 {
		t.Errorf("opinions of %s with %d ids", got, len(ids))
	}
	for _, part := range []string{`"min":26.5,"max":26.5`, `{"code":"silver","verbatim":"silver"}`} {
		if !strings.Contains(strings.ReplaceAll(says[0], " ", ""), part) || strings.Contains(says[0], "person-1") {
			t.Errorf("%s lacks %s", says[0], part)
		}
	}
}
