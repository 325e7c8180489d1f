package repair_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	jsonpatch "github.com/evanphx/json-patch/v5"
	"github.com/go-json-experiment/json"
	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/pkg/validate"
)

func ExamplePropose() {
	log := "No,Find,Depth (in)\n1,bell,2026-09-08\n"
	p, err := repair.Propose(context.Background(), "-", pipeline.Options{Stdin: strings.NewReader(log)})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, x := range p.Proposals {
		fmt.Println(x.ID, x.Cell, x.Before, "->", x.After)
	}
	p.Proposals[0].Accepted = true // as a person does in the file
	var out bytes.Buffer
	r, err := repair.Apply(context.Background(), "-", p, &out,
		pipeline.Options{Stdin: strings.NewReader(log), To: pipeline.CSV, Plain: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Applied)
	// Output:
	// p-0001 C2 2026-09-08 -> 8-9 in
	// p-0002 C2 2026-09-08 -> 9-8 in
	// 1
}

// refused changes proposals for a text as the rows of a table say, each member by its pointer in the file, and looks
// how they are refused.
func refused(t *testing.T, table, text string) {
	t.Helper()
	for name, c := range cases.Table[map[string]struct {
		Change map[string]any
		Want   string
	}](t, table) {
		var written, out bytes.Buffer
		if err := propose(t, text).Write(&written); err != nil {
			t.Fatal(err)
		}
		var ops []map[string]any
		for path, value := range c.Change {
			ops = append(ops, map[string]any{"op": "add", "path": path, "value": value})
		}
		raw, _ := json.Marshal(ops)
		patch, err := jsonpatch.DecodePatch(raw)
		if err != nil {
			t.Fatal(err)
		}
		changed, err := patch.Apply(written.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		back, err := repair.ReadProposals(bytes.NewReader(changed), limit.Limits{})
		if err == nil {
			o := reading(text)
			o.To = pipeline.Findslip
			_, err = repair.Apply(context.Background(), "-", back, &out, o)
		}
		if err == nil || !strings.Contains(err.Error(), c.Want) {
			t.Errorf("%s: %v, want %q", name, err, c.Want)
		}
	}
}

func TestProposalsThatAreRefused(t *testing.T) {
	refused(t, "Refused", "No,Find,Depth (in)\n1,bell,2026-09-08\n2,pin,8\n")
	for _, bad := range []string{"", "{}", "[]",
		`{"proposalsVersion":"1.0","private":true,"source":{"file":"","reportId":""},"proposals":[],"more":1}`} {
		if _, err := repair.ReadProposals(strings.NewReader(bad), limit.Limits{}); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
}

// A mismatch never quotes what stands there: it may be a position.
func TestRefusalsQuoteNoPosition(t *testing.T) {
	text := report(on(1, `"longitude":52.505,"latitude":-1.225`))
	p := propose(t, text)
	p.Proposals[0].Accepted, p.Proposals[0].Before = true, "-1.2, 52.5"
	o := reading(text)
	o.To = pipeline.Findslip
	_, err := repair.Apply(context.Background(), "-", p, new(bytes.Buffer), o)
	if err == nil || strings.Contains(err.Error(), "52.5") || strings.Contains(err.Error(), "1.2") {
		t.Errorf("refused with %v", err)
	}
}

// Of two bags with one number the second gets the new one, and an id of its own; the first stays.
func TestTheSecondBagIsRenumbered(t *testing.T) {
	const text = "No,Find\n7,bell\n7,seal\n"
	p := propose(t, text)
	if acceptFirst(p) != 1 || p.Proposals[0].Nth != 2 || p.Proposals[0].Cell != "A3" {
		t.Fatalf("%+v", p.Proposals)
	}
	o := reading(mended(t, text, p, pipeline.Findslip))
	var finds, ids []string
	o.Watch = func(e *find.Entry) error {
		if e.Find != nil { // the end of the log has notices only
			finds, ids = append(finds, e.Find.Number+" "+e.Find.Name), append(ids, e.Find.ID)
		}
		return nil
	}
	if _, err := pipeline.Check(context.Background(), "-", o); err != nil {
		t.Fatal(err)
	}
	if want := []string{"7 bell", "7b seal"}; !slices.Equal(finds, want) || ids[0] == ids[1] {
		t.Errorf("%q, want %q, and two ids", finds, want)
	}
}

// An id that was made from the number follows it in a table without ids, and stays where it is
// stated.
func TestStatedIDsStay(t *testing.T) {
	const text = "No,Find\n1Â½,bell\n"
	first := convert(t, text)
	p := propose(t, text)
	if acceptFirst(p) != 1 {
		t.Fatalf("%q", told(p))
	}
	if id := `"id":"` + p.Proposals[0].Find; strings.Contains(convert(t, mended(t, text, p, pipeline.JSONL)), id) ||
		!strings.Contains(first, id) {
		t.Error("the id of a table without ids does not follow the number")
	}
	for _, to := range []pipeline.Format{pipeline.CSV, pipeline.JSONL} {
		o := reading(text)
		o.To = to
		var stated bytes.Buffer
		if _, err := pipeline.Convert(context.Background(), "-", &stated, o); err != nil {
			t.Fatal(err)
		}
		p := propose(t, stated.String())
		if acceptFirst(p) != 1 {
			t.Fatalf("%s: %q", to, told(p))
		}
		if !strings.Contains(convert(t, mended(t, stated.String(), p, pipeline.JSONL)), `"id":"`+p.Proposals[0].Find) {
			t.Errorf("%s: an id that was stated has changed", to)
		}
	}
}

// What was stated beside a mended text stays: the radius of a device, the time of day, notices of
// other members; what was worked out of it goes.
func TestRepairLeavesTheRest(t *testing.T) {
	text := report(one(1, `"permission":"permission-1","outing":"outing-1","found":{"date":"2026-03-04","time":"10:30"},
"position":{"longitude":1.225,"latitude":52.505,"uncertainty":4,"uncertaintyBasis":{"code":"device"},"takenAt":"2026-04-03T10:30:00Z"},"materials":[{"verbatim":"greenish stuff"}]`))
	p := propose(t, text)
	if n := acceptFirst(p); n != 2 {
		t.Fatalf("%q", told(p))
	}
	plain := convert(t, mended(t, text, p, pipeline.Findslip))
	for _, part := range []string{`"found":{"date":"2026-04-03","time":"10:30"}`,
		`"position":{"longitude":-1.225,"latitude":52.505,"uncertainty":4,"uncertaintyBasis":{"code":"device"},` +
			`"takenAt":"2026-04-03T10:30:00Z"}`,
		`"position.verbatim (before repair)":"52.505, 1.225"`, `"greenish stuff"`} {
		if !strings.Contains(plain, part) {
			t.Errorf("no %s in %s", part, plain)
		}
	}
	o := reading(text)
	o.To = pipeline.Findslip
	r, err := repair.Apply(context.Background(), "-", p, new(bytes.Buffer), o)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"found-outside-outing", "sign-lost"}, gone(r.Before, r.After)); diff != "" {
		t.Error(diff)
	}
}

// gone lists the codes that were said before and not after.
func gone(before, after *pipeline.Result) (codes []string) {
	still := map[string]bool{}
	for _, n := range after.Notices {
		still[n.Kind.Code] = true
	}
	for _, n := range before.Notices {
		if !still[n.Kind.Code] {
			codes = append(codes, n.Kind.Code)
		}
	}
	slices.Sort(codes)
	return slices.Compact(codes)
}

// A cell that is mended twice keeps both of its earlier texts.
func TestTwoRepairsOfOneCell(t *testing.T) {
	text := "No,Find,Depth\n1,bell,2026-09-08\n"
	for range 2 { // a range first, then its unit
		p := propose(t, text)
		if acceptFirst(p) == 0 {
			t.Fatalf("%q", told(p))
		}
		text = mended(t, text, p, pipeline.Findslip)
	}
	plain := convert(t, text)
	for _, part := range []string{`"depth (before repair)":"2026-09-08"`, `"depth (before repair 2)":"8-9"`,
		`"verbatim":"8-9 cm"`} {
		if !strings.Contains(plain, part) {
			t.Errorf("no %s in %s", part, plain)
		}
	}
}

func FuzzReadProposals(f *testing.F) {
	f.Add([]byte(`{"proposalsVersion":"1.0","private":true,"source":{"file":"a","reportId":""},` +
		`"proposals":[{"id":"p-0001","find":"x","number":"1","pointer":"/depth","before":"a","after":"b","rule":"r",` +
		`"reason":"q","evidence":"","accepted":true}]}`))
	f.Add([]byte(`{"proposalsVersion":"1.0","private":true,"source":{"file":"a","reportId":""},` +
		`"proposals":[{"id":"p-0001","find":"urn:uuid:f6e3fbe8-3a0f-5f04-8a51-6a7cdb2ea78e","nth":1,"number":"1",` +
		`"pointer":"/associated/-","before":"","after":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e joins","rule":"r",` +
		`"reason":"q","evidence":"","accepted":true}]}`))
	f.Add([]byte(`{"proposalsVersion":"1.0","private":true,"source":{"file":"a","reportId":""},` +
		`"proposals":[{"id":"p-0001","find":"x","number":"1","pointer":"/columns/a~1b","before":"a","after":"b","rule":"r",` +
		`"reason":"q","evidence":"","choice":"choice-1","accepted":true}]}`))
	damage, err := repair.Propose(context.Background(), "-", reading(damaged))
	if err != nil {
		f.Fatal(err)
	}
	id := damage.Proposals[0].Find
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := repair.ReadProposals(bytes.NewReader(data), limit.Limits{})
		if err != nil {
			return
		}
		back, err := there(p)
		if err != nil {
			t.Fatalf("what was written is not read: %v", err)
		}
		if diff := cmp.Diff(p, back); diff != "" && len(p.Proposals) > 0 {
			t.Error(diff)
		}
		for i := range p.Proposals {
			p.Proposals[i].Find = id
		}
		p.Source.ReportID = ""
		o := reading(damaged)
		o.To = pipeline.Findslip
		_, _ = repair.Apply(context.Background(), "-", p, &bytes.Buffer{}, o)
	})
}

const damaged = "No,Find,Depth (in),a/b\n1,bell,2026-09-08,a\n"

// A general library for RFC 6902 makes the repaired report of the converted one, for single
// proposals and for all that can be accepted together, and refuses a report that is another.
func TestPatchByAGeneralLibrary(t *testing.T) {
	example, err := os.ReadFile("../../examples/thornmere/season.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	for name, log := range map[string]string{
		"season":  string(example),
		"dates":   "No,Find,Depth (in)\n1,bell,2026-09-08\n2,pin,8\n3,seal,2026-10-09\n",
		"twice":   "No,Find,Finder,Depth (in)\n7,bell,finder-a,8\n7,pin,finder-a,9\n8,seal,finder-a,2\n",
		"noughts": "No,Find,Material\n001,bell,brass\n002,pin,brass\n3,seal,lead\n",
		"land": land(`"people":[{"id":"person-1","handle":"grÃ¼n"}],"permissions":[{"id":"permission-1",`+
			`"maxDepth":{"said":"in","verbatim":"2026-09-08"},"validFrom":"3/4/2026"},{"id":"permission-2",`+
			`"validTo":"5/6/2026"}]`,
			one(1, `"permission":"permission-1"`)),
		"encoding": "No,Find,Notes\n1,bell,GlÃ¶ckchen\n2,pin,rusty\n",
	} {
		t.Run(name, func(t *testing.T) {
			o := func(to pipeline.Format) pipeline.Options {
				return pipeline.Options{Stdin: bytes.NewReader([]byte(log)), To: to, Level: validate.NoLevel,
					ReportID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e"}
			}
			proposals, err := repair.Propose(context.Background(), "-", o(""))
			if err != nil {
				t.Fatal(err)
			}
			var converted bytes.Buffer
			if _, err := pipeline.Convert(context.Background(), "-", &converted, o(pipeline.Findslip)); err != nil {
				t.Fatal(err)
			}
			tried := 0
			try := func() {
				var repaired, text bytes.Buffer
				r, err := repair.Apply(context.Background(), "-", proposals, &repaired, o(pipeline.Findslip))
				if err != nil {
					t.Fatal(err)
				}
				if err := repair.WritePatch(&text, r.Patch); err != nil {
					t.Fatal(err)
				}
				patch, err := jsonpatch.DecodePatch(text.Bytes())
				if err != nil {
					t.Fatal(err)
				}
				got, err := patch.Apply(converted.Bytes())
				if err != nil {
					t.Fatalf("%v\n%s", err, text.Bytes())
				}
				if !jsonpatch.Equal(got, repaired.Bytes()) {
					t.Errorf("the patch makes another report than the repair\n%s", text.Bytes())
				}
				if r.Applied == 0 {
					if len(r.Patch) > 0 {
						t.Errorf("nothing is applied, and the patch has %d operations", len(r.Patch))
					}
					return
				}
				tried++
				// Once more, and the words that were to be replaced are no longer there.
				if _, err := patch.Apply(got); err == nil {
					t.Error("the patch applies to a report that is repaired already")
				}
			}
			try()
			chosen := map[string]bool{}
			for i := range proposals.Proposals {
				x := &proposals.Proposals[i]
				if x.After == "" || x.Choice != "" && chosen[x.Choice] {
					continue
				}
				chosen[x.Choice] = true
				x.Accepted = true
				try()
			}
			if tried == 0 {
				t.Error("nothing was proposed")
			}
		})
	}
}

func TestPatchIsWrittenWhole(t *testing.T) {
	var b bytes.Buffer
	if err := repair.WritePatch(&b, nil); err != nil || b.String() != "[]\n" {
		t.Errorf("%q, %v", b.String(), err)
	}
	if err := repair.WritePatch(failing{}, nil); err == nil {
		t.Error("a writer that fails is not told of")
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrClosed }
