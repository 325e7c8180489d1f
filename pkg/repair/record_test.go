package repair_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// land is a report with people, permissions and outings as given, and finds.
func land(parts string, finds ...string) string {
	return `{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",` + parts + `,"finds":[` +
		strings.Join(finds, ",") + `]}`
}

// toldOfRecords is what is proposed for people, permissions and outings.
func toldOfRecords(p *repair.Proposals) []string {
	out := []string{}
	for _, x := range p.Proposals {
		out = append(out, fmt.Sprintf("%s %s%s %s: %s %s -> %s", x.Part, x.Record, x.Number, x.Rule, x.Pointer, x.Before,
			x.After))
	}
	return out
}

// What is proposed for people, permissions and outings. Common practice, no source; that England lies
// between 49 and 56 degrees north is on any map.
func TestProposalsForRecords(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Text   string // a log as CSV, where there is no report
		Report json.RawMessage
		Want   []string
	}](t, "ProposalsForRecords") {
		t.Run(name, func(t *testing.T) {
			text := c.Text + string(c.Report)
			p := propose(t, text)
			if got := toldOfRecords(p); name != "a word misspelt" && !slices.Equal(got, c.Want) && len(got)+len(c.Want) > 0 {
				t.Errorf("proposed\n%q, want\n%q", got, c.Want)
			}
			for _, x := range p.Proposals {
				if x.Part != "" && (x.Find != "" || x.Record == "" || x.Reason == "" || x.Evidence == "" || x.Accepted) {
					t.Errorf("%+v", x)
				}
			}
			accepted := acceptFirst(p)
			out := mended(t, text, p, pipeline.Findslip)
			if got := strings.Count(out, "(before repair)"); got != accepted {
				t.Errorf("%d old texts are kept of %d: %s", got, accepted, out)
			}
			for _, x := range propose(t, out).Proposals {
				if x.After != "" {
					t.Errorf("after the repair there is still %+v", x)
				}
			}
		})
	}
}

// A repaired record is read anew, what was read from the old text is gone, and the words stay in every
// format that carries records.
func TestRecordsAreReadAnew(t *testing.T) {
	text := land(`"permissions":[{"id":"permission-1","maxDepth":{"verbatim":"2026-09-08"},"validFrom":"3/4/2026"}]`,
		one(1, `"permission":"permission-1"`))
	p := propose(t, text)
	if acceptFirst(p) != 2 {
		t.Fatalf("%q", toldOfRecords(p))
	}
	for i := range p.Proposals {
		if p.Proposals[i].Pointer == "/maxDepth" && p.Proposals[i].Accepted {
			p.Proposals[i].After = "8-9 in" // as a person may
		}
	}
	for _, to := range []pipeline.Format{pipeline.XLSX, pipeline.JSONL, pipeline.Findslip, pipeline.GeoJSON, pipeline.KML,
		pipeline.GPX} {
		out := convert(t, mended(t, text, p, to))
		for _, part := range []string{`"maxDepth":{"min":20.32,"max":22.86,"unit":"cm","said":"in"`,
			`"validFrom":"2026-04-03"`,
			`"maxDepth (before repair)":"2026-09-08"`, `"validFrom (before repair)":"3/4/2026"`} {
			if !strings.Contains(out, part) {
				t.Errorf("%s: no %s in %s", to, part, out)
			}
		}
	}
}

func TestRecordProposalsThatAreRefused(t *testing.T) {
	text := land(`"people":[{"id":"person-1","handle":"grÃ¼n"}],"permissions":[{"id":"permission-1","validFrom":"3/4/2026"}]`, one(1, `"kind":"single"`))
	refused(t, "RecordsRefused", text)
	twice := `{"proposalsVersion":"1.0","private":true,"source":{"file":"","reportId":""},"proposals":[
 {"id":"a","part":"people","record":"person-1","pointer":"/handle","before":"x","after":"y","rule":"","reason":"","evidence":"","accepted":true},
 {"id":"b","part":"people","record":"person-1","pointer":"/handle","before":"x","after":"z","rule":"","reason":"","evidence":"","accepted":true}]}`
	if _, err := repair.ReadProposals(strings.NewReader(twice), limit.Limits{}); err == nil ||
		!strings.Contains(err.Error(), "one cell") {
		t.Errorf("%v", err)
	}
}

// takenAt is a TIFF structure with a position in whole degrees: tags of CIPA DC-008 section 4.6.6.
func takenAt(north, east uint32) []byte {
	b := binary.BigEndian
	out := b.AppendUint32([]byte("MM\x00*"), 8)
	entry := func(tag, kind uint16, count uint32, value []byte) {
		out = b.AppendUint16(b.AppendUint16(out, tag), kind)
		out = append(b.AppendUint32(out, count), value...)
	}
	out = b.AppendUint16(out, 1)
	entry(0x8825, 4, 1, b.AppendUint32(nil, 26))
	out = b.AppendUint16(b.AppendUint32(out, 0), 4)
	entry(1, 2, 2, []byte("N\x00\x00\x00"))
	entry(2, 5, 3, b.AppendUint32(nil, 80))
	entry(3, 2, 2, []byte("E\x00\x00\x00"))
	entry(4, 5, 3, b.AppendUint32(nil, 104))
	out = b.AppendUint32(out, 0)
	for _, n := range []uint32{north, 1, 0, 1, 0, 1, east, 1, 0, 1, 0, 1} {
		out = b.AppendUint32(out, n)
	}
	return out
}

const unfilled = `No,Find,Class,Period,Picture
1,1864 Indian Head cent,,,
2,flat button,button,,
3,musket ball,,1642,
4,large cent 1820 or 1822,,,
5,3-ringer,,,e.tif
6,crotal bell,,,
`

// TestWhatFindsLack: the class by the name, the age by the one year on a coin, the place by the picture. Nothing is
// proposed where something stands, and nothing without being asked.
func TestWhatFindsLack(t *testing.T) {
	o := func() pipeline.Options {
		return pipeline.Options{Stdin: strings.NewReader(unfilled), From: pipeline.CSV, To: pipeline.Findslip,
			Read: normalise.Options{AsOf: edtf.Day{Year: 2026, Month: 11, Day: 29}},
			Files: fstest.MapFS{"e.tif": {Data: takenAt(52, 1)}, "6_front.tif": {Data: takenAt(53, 2)},
				"IMG_0001.tif": {Data: takenAt(54, 3)}}}
	}
	plain, err := repair.Propose(context.Background(), "-", o())
	if err != nil || len(plain.Proposals) != 0 {
		t.Fatalf("unasked: %v, %v", plain.Proposals, err)
	}
	p, err := repair.ProposeToFill(context.Background(), "-", o())
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for i := range p.Proposals {
		x := &p.Proposals[i]
		got[x.Number+x.Pointer] = x.After
		x.Accepted = true
	}
	for at, want := range map[string]string{"1/objectClass": "coin", "1/dating/verbatim": "1864", "2/objectClass": "",
		"3/objectClass": "ball", "3/dating/verbatim": "", "4/dating/verbatim": "",
		"5/position/verbatim": "52.000000, 1.000000", "6/position/verbatim": "53.000000, 2.000000",
		"1/position/verbatim": ""} {
		if !strings.Contains(strings.ToLower(got[at]), want) || want == "" && got[at] != "" {
			t.Errorf("%s: proposed %q, want %q", at, got[at], want)
		}
	}
	var out bytes.Buffer
	if _, err := repair.Apply(context.Background(), "-", p, &out, o()); err != nil {
		t.Fatal(err)
	}
	var r find.Report
	if err := json.Unmarshal(out.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	cent := r.Finds[0]
	if cent.ObjectClass.Code != "coin" || cent.ObjectClass.Certainty != "probable" || cent.Dating.Date != "1864" ||
		!cent.Dating.Basis.Is("mark") || cent.Absent["/objectClass"] != "" {
		t.Errorf("%+v, %+v, %v", cent.ObjectClass, cent.Dating, cent.Absent)
	}
	if bell := r.Finds[5]; !bell.Position.Method.Is("photo") || bell.Position.Latitude.Float() != 53 {
		t.Errorf("%+v", bell.Position)
	}
	if _, err := repair.Apply(context.Background(), "-", p, &out, pipeline.Options{Stdin: strings.NewReader(
		strings.Replace(unfilled, "cent,,", "cent,token,", 1)), From: pipeline.CSV, To: pipeline.Findslip}); err == nil {
		t.Error("a class that was written since was replaced")
	}
}
