package repair_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// asOf is the day that counts as today in these tests.
var asOf = edtf.Day{Year: 2026, Month: 6, Day: 1}

func reading(text string) pipeline.Options {
	return pipeline.Options{Stdin: strings.NewReader(text), Read: normalise.Options{AsOf: asOf}}
}

func propose(t *testing.T, text string) *repair.Proposals {
	t.Helper()
	p, err := repair.Propose(context.Background(), "-", reading(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// told is what is proposed, line by line.
func told(p *repair.Proposals) []string {
	out := []string{}
	for _, x := range p.Proposals {
		out = append(out, fmt.Sprintf("%s %s: %s %s -> %s", x.Number, x.Rule, x.Pointer, x.Before, x.After))
	}
	return out
}

const field = `"permissions":[{"id":"permission-1","area":{"type":"Polygon","coordinates":[[[-1.23,52.5],[-1.22,52.5],[-1.22,52.51],[-1.23,52.51],[-1.23,52.5]]]}}],
"outings":[{"id":"outing-1","date":"2026-04-03"}]`

func report(finds ...string) string {
	return `{"findslip":"1.0","id":"urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",` + field + `,"finds":[` +
		strings.Join(finds, ",") + `]}`
}

const urn = "urn:uuid:0b1f8c7a-94f1-5f0e-8b1a-2f3f6f9c0a"

// one is a find with further members.
func one(n int, more string) string {
	return fmt.Sprintf(`{"id":"%s%02d","number":"%d","name":"bell",%s}`, urn, n, n, more)
}

func on(n int, position string) string {
	return one(n, `"permission":"permission-1","found":{"date":"2026-04-12"},"position":{`+position+`,"uncertainty":5}`)
}

// Each sort of damage, what is proposed, and the rule that it is proposed for. The readings of
// measures are those of testdata/vectors; that spreadsheets turn 8-9 and 3/4 into dates is common
// knowledge of gene lists (see the rule spreadsheet-date), the rest common practice, no source. Minutes as
// decimals: 52.3030 as 52° 30.30' is 52.505, as 52° 30' 30" it is 52.5083333, and 1.1350 likewise; 52.5051, -1.2251 is
// 52 degrees 30.306 minutes, 1 degree 13.506 minutes: typed 52.30306, -1.13506.
func TestProposals(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Text   string // a log as CSV, where there is no report
		Report json.RawMessage
		Want   []string // number rule: pointer before -> after
	}](t, "Proposals") {
		t.Run(name, func(t *testing.T) {
			text := c.Text + string(c.Report)
			p := propose(t, text)
			if got := told(p); !slices.Equal(got, c.Want) && len(got)+len(c.Want) > 0 {
				t.Errorf("proposed\n%q, want\n%q", got, c.Want)
			}
			byCell := map[string][]string{}
			for i, x := range p.Proposals {
				if x.Accepted || x.Reason == "" || x.Evidence == "" || x.Find == "" || x.ID != fmt.Sprintf("p-%04d", i+1) {
					t.Errorf("%+v", x)
				}
				at := fmt.Sprint(x.Find, x.Nth, x.Pointer)
				byCell[at] = append(byCell[at], x.Choice)
			}
			for at, choices := range byCell {
				if (len(choices) > 1) != (choices[0] != "") || len(slices.Compact(choices)) > 1 {
					t.Errorf("%s: choices %q", at, choices)
				}
			}
			accepted := acceptFirst(p)
			out := mended(t, text, p, pipeline.Findslip)
			if got := strings.Count(out, "(before repair)"); got != accepted-strings.Count(strings.Join(c.Want, ""),
				"/associated/-") {
				t.Errorf("%d old texts are kept of %d", got, accepted)
			}
			for _, x := range propose(t, out).Proposals {
				if x.After != "" {
					t.Errorf("after the repair there is still %+v", x)
				}
			}
		})
	}
}

// acceptFirst accepts the first of each choice and all else that has a text.
func acceptFirst(p *repair.Proposals) (accepted int) {
	taken := map[string]bool{}
	for i := range p.Proposals {
		x := &p.Proposals[i]
		if x.After != "" && (x.Choice == "" || !taken[x.Choice]) {
			x.Accepted, taken[x.Choice] = true, true
			accepted++
		}
	}
	return accepted
}

// there writes proposals and reads them again.
func there(p *repair.Proposals) (*repair.Proposals, error) {
	var file bytes.Buffer
	if err := p.Write(&file); err != nil {
		return nil, err
	}
	return repair.ReadProposals(&file, limit.Limits{})
}

// mended applies what is accepted.
func mended(t *testing.T, text string, p *repair.Proposals, to pipeline.Format) string {
	t.Helper()
	back, err := there(p)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	o := reading(text)
	o.To = to
	r, err := repair.Apply(context.Background(), "-", back, &out, o)
	if err != nil {
		t.Fatal(err)
	}
	accepted := 0
	for _, x := range p.Proposals {
		if x.Accepted {
			accepted++
		}
	}
	if r.Applied != accepted {
		t.Errorf("%d applied of %d", r.Applied, accepted)
	}
	return out.String()
}

// workbook makes a workbook of rows; a time.Time is a date cell.
func workbook(t *testing.T, rows ...[]any) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	day, err := f.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		for j, v := range row {
			cell, _ := excelize.CoordinatesToCellName(j+1, i+1)
			if err := f.SetCellValue("Sheet1", cell, v); err != nil {
				t.Fatal(err)
			}
			if _, ok := v.(time.Time); ok {
				if err := f.SetCellStyle("Sheet1", cell, cell, day); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	name := filepath.Join(t.TempDir(), "log.xlsx")
	if err := f.SaveAs(name); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func date(month, day int) time.Time {
	return time.Date(2026, time.Month(month), day, 0, 0, 0, 0, time.UTC)
}

// A workbook in which the spreadsheet made dates of depths, and read the days that it could month
// first: 3/4 became 4 March, 13/4 stayed text.
func TestProposalsOfAWorkbook(t *testing.T) {
	text := workbook(t, []any{"No", "Find", "Date", "Depth (in)"},
		[]any{1, "bell", date(3, 4), date(9, 8)}, []any{2, "seal", date(1, 5), 8}, []any{3, "jetton", "13/4/2026", 6},
		[]any{4, "token", "14/4/2026", 10})
	p := propose(t, text)
	want := []string{"1 spreadsheet-date: /depth 2026-09-08 -> 8-9 in", "1 spreadsheet-date: /depth 2026-09-08 -> 9-8 in",
		"1 date-order-mixed: /found/verbatim 2026-03-04 -> 2026-04-03",
		"2 date-order-mixed: /found/verbatim 2026-01-05 -> 2026-05-01"}
	if got := told(p); !slices.Equal(got, want) {
		t.Errorf("proposed %q, want %q", got, want)
	}
	for i, cell := range []string{"D2", "D2", "C2", "C3"} {
		if x := p.Proposals[i]; x.Cell != cell || x.Sheet != "Sheet1" {
			t.Errorf("%s stands in %s!%s, want %s", x.Pointer, x.Sheet, x.Cell, cell)
		}
	}
	if got, want := p.Proposals[0].Evidence, "3 other measures of the column lie between 6 and 10 in"; got != want {
		t.Errorf("evidence %q, want %q", got, want)
	}
	acceptFirst(p)
	for _, to := range []pipeline.Format{pipeline.XLSX, pipeline.CSV, pipeline.JSONL, pipeline.Findslip,
		pipeline.GeoJSON} {
		out := mended(t, text, p, to)
		if again := propose(t, out); len(again.Proposals) > 0 {
			t.Errorf("%s: after the repair there is still %q", to, told(again))
		}
		// 8-9 in is 20.32 to 22.86 cm: the inch is 2.54 cm (international yard and pound agreement, 1959).
		plain := convert(t, out)
		for _, part := range []string{`"depth":{"min":20.32,"max":22.86,"unit":"cm","said":"in"`, `"date":"2026-04-03"`,
			`"date":"2026-05-01"`,
			`"depth (before repair)":"2026-09-08"`, `"found.verbatim (before repair)":"2026-03-04"`} {
			if !strings.Contains(plain, part) {
				t.Errorf("%s: no %s in %s", to, part, plain)
			}
		}
	}
}

func convert(t *testing.T, text string) string {
	t.Helper()
	o := reading(text)
	o.To = pipeline.JSONL
	var out bytes.Buffer
	if _, err := pipeline.Convert(context.Background(), "-", &out, o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// The log of the examples holds one such cell on purpose.
func TestProposalsOfTheExample(t *testing.T) {
	const season = "../../examples/thornmere/season.xlsx"
	p, err := repair.Propose(context.Background(), season, pipeline.Options{Read: normalise.Options{AsOf: asOf}})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"014 spreadsheet-date: /depth 2026-09-08 -> 8-9 in",
		"014 spreadsheet-date: /depth 2026-09-08 -> 9-8 in"}
	if got := told(p); !slices.Equal(got, want) {
		t.Errorf("proposed %q, want %q", got, want)
	}
}

// A log with a bit of everything: what is proposed once accepted leaves nothing, and no word is lost.
func TestAWholeLogIsRepaired(t *testing.T) {
	const text = `No,Find,Date,Depth,Weight (g),Material,Finder,Lat,Long,Notes
001,crotal bell,13/4/2026,8 in,"2,5",brnoze,finder-a,52.5051,-1.2251,clay â€“ damp
002,cloth seal,14/04/2026,9-8 in,2.5,led,finder-a,52.5052,-1.2252,
3,thimble,4/15/2026,8-Sep,3.5,lead,finder-a,-1.2253,52.5053,
003,jetton,15/4/2026,81/2 in,,copper alloy,finder-b,52.5054,-1.2254,
004,musket ball,15/4/2026,12,30,lead,finder-a,52.5055,1.2255,
005,buckle,16/4/2026,-6 in,,iron,finder-a,52.5056,-1.2256,
006,spindle whorl,16/4/2026,6/8 in,1,lead,finder-a,52.5057,-1.2257,
007,fibula,17/4/2026,more than a foot,1,iron,finder-a,52.5058,-1.2258,
`
	now := text
	var befores []string
	for round := 0; ; round++ {
		p := propose(t, now)
		n := acceptFirst(p)
		if n == 0 {
			break
		}
		if round == 0 && n != 13 || round > 2 {
			t.Fatalf("round %d: %d accepted of %q", round, n, told(p))
		}
		for _, x := range p.Proposals {
			if x.Accepted {
				befores = append(befores, strings.ReplaceAll(x.Before, `"`, `\"`))
			}
		}
		now = mended(t, now, p, pipeline.Findslip)
	}
	for _, before := range befores {
		if !strings.Contains(now, `(before repair)": "`+before+`"`) && !strings.Contains(now,
			`(before repair 2)": "`+before+`"`) {
			t.Errorf("%q is lost", before)
		}
	}
	r, err := pipeline.Check(context.Background(), "-", reading(now))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range r.Notices {
		if n.Kind.Severity == notice.Error {
			t.Errorf("%s %s: %s", n.Pointer, n.Kind.Code, n.Message)
		}
	}
}

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
	text := land(`"people":[{"id":"person-1","handle":"grÃ¼n"}],"permissions":[{"id":"permission-1",`+
		`"validFrom":"3/4/2026"}]`, one(1, `"kind":"single"`))
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
