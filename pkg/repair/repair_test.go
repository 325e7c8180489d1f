package repair_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/normalise"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/repair"
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

func nowhere(n int, longitude, latitude float64) string {
	return one(n, fmt.Sprintf(`"position":{"longitude":%v,"latitude":%v,"uncertainty":5}`, longitude, latitude))
}

// Each sort of damage, what is proposed, and the rule that it is proposed for. The readings of
// measures are those of testdata/vectors; that spreadsheets turn 8-9 and 3/4 into dates is common
// knowledge of gene lists (see the rule spreadsheet-date), the rest common practice, no source.
func TestProposals(t *testing.T) {
	long := strings.Repeat("a", 255)
	for name, c := range map[string]struct {
		text string
		want []string // number rule: pointer before -> after
	}{
		"a range turned into a day": {"No,Find,Depth (in)\n1,bell,2026-09-08\n",
			[]string{"1 spreadsheet-date: /depth 2026-09-08 -> 8-9 in", "1 spreadsheet-date: /depth 2026-09-08 -> 9-8 in"}},
		"a fraction turned into a day": {"No,Find,Depth (in)\n1,bell,03-Apr\n",
			[]string{"1 spreadsheet-date: /depth 03-Apr -> 3-4 in", "1 spreadsheet-date: /depth 03-Apr -> 4-3 in",
				"1 spreadsheet-date: /depth 03-Apr -> 3/4 in"}},
		"a day among the weights": {"No,Find,Weight (g)\n1,bell,2026-05-03\n2,pin,4\n",
			[]string{"1 spreadsheet-date: /weight 2026-05-03 -> 3-5 g", "1 spreadsheet-date: /weight 2026-05-03 -> 5-3 g"}},
		"a fraction without a blank": {"No,Find,Depth\n1,bell,\"81/2\"\"\"\n",
			[]string{"1 fraction-ambiguous: /depth 81/2\" -> 8 1/2\""}},
		"a fraction or a range": {"No,Find,Depth\n1,bell,\"6/8\"\"\"\n",
			[]string{"1 fraction-ambiguous: /depth 6/8\" -> 6-8\"", "1 fraction-ambiguous: /depth 6/8\" -> 3/4\""}},
		"letters in the wrong encoding": {"No,Find\n1,grÃ¼ner Knopf\n",
			[]string{"1 text-damaged: /name grÃ¼ner Knopf -> grüner Knopf"}},
		"letters wrong twice": {"No,Find\n1,grÃƒÂ¼ner Knopf\n",
			[]string{"1 text-damaged: /name grÃƒÂ¼ner Knopf -> grüner Knopf"}},
		"letters in an unknown column": {"No,Find,Weather\n1,bell,2 Â°C\n",
			[]string{"1 text-damaged: /columns/Weather 2 Â°C -> 2 °C"}},
		"a fraction sign in wrong bytes": {"No,Find,Depth\n1,bell,8Â½ in\n",
			[]string{"1 text-damaged: /depth 8Â½ in -> 8½ in"}},
		"accents that are meant": {"No,Find\n1,pâte de verre à Âge\n", nil},
		"noughts lost": {"No,Find\n001,a\n002,b\n3,c\n14,d\n",
			[]string{"3 noughts-lost: /number 3 -> 003", "14 noughts-lost: /number 14 -> 014"}},
		"numbers of no one width": {"No,Find\n001,a\n0002,b\n3,c\n", nil},
		"a power of ten": {"No,Find\n1.2E+12,a\n",
			[]string{"1.2E+12 number-damaged: /number 1.2E+12 -> "}},
		"a number of some other list as power of ten": {"No,Find,Lab no\n1,a,2.02612E+11\n2,b,1E5\n",
			[]string{"1 number-damaged: /columns/Lab no 2.02612E+11 -> "}},
		"a case number as power of ten": {report(one(1, `"notified":[{"to":"office","caseNumber":"2.02612E+11"}]`)),
			[]string{"1 number-damaged: /notified/0/caseNumber 2.02612E+11 -> "}},
		"text cut": {"No,Find,Notes\n1,a," + long + "\n", []string{"1 text-cut: /notes " + long + " -> "}},
		"few commas": {"No,Find,Weight (g),Length (mm)\n1,a,2.5,\"1,5\"\n2,b,\"3,5\",\n",
			[]string{"2 decimal-comma: /weight 3,5 -> 3.5"}},
		"few points": {"No,Find,Weight (g)\n1,a,\"2,5\"\n2,b,\"3,5\"\n3,c,4.5\n",
			[]string{"3 decimal-comma: /weight 4.5 -> 4,5"}},
		"a number twice": {"No,Find,Finder\n7,a,finder-a\n007,b,finder-a\n",
			[]string{"007 number-repeated: /number 007 -> 007b"}},
		"a number thrice, one had": {"No,Find\n7,pin\n7,bell\n7,key\n7b,ring\n",
			[]string{"7 number-repeated: /number 7 -> 7c", "7 number-repeated: /number 7 -> 7d"}},
		"a number with a letter": {"No,Find\n7a,a\n7a,b\n", []string{"7a number-repeated: /number 7a -> 7a-2"}},
		"a word misspelt": {"No,Find,Material\n1,a,pewtre\n",
			[]string{"1 term-not-listed: /materials/0 pewtre -> pewter"}},
		"codes misspelt": {report(one(1, `"kind":"singel","sensitivity":"cloosed","depth":{"verbatim":"8 in","basis":{"code":"tapee"}},"materials":[{"code":"leed"},{"code":"x-own"}]`)),
			[]string{"1 code-misspelt: /kind singel -> single", "1 code-misspelt: /depth/basis/code tapee -> tape-measured",
				"1 code-misspelt: /materials/0/code leed -> lead", "1 code-misspelt: /sensitivity cloosed -> closed"}},
		"a lot called single": {report(one(1, `"kind":"single","count":{"min":4,"max":4}`)),
			[]string{"1 kind-unlike-count: /kind single -> lot"}},
		"one called a lot": {report(one(1, `"kind":"lot","count":{"min":1,"max":1}`)),
			[]string{"1 kind-unlike-count: /kind lot -> single"}},
		"a link of one side": {report(one(1, `"count":{"min":1,"max":1}`),
			one(2, `"associated":[{"find":"`+urn+`01","relation":{"code":"joins"}}]`)),
			[]string{"1 link-one-sided: /associated/-  -> " + urn + "02 joins"}},
		"a link of both sides": {report(one(1, `"associated":[{"find":"`+urn+`02"}]`),
			one(2, `"associated":[{"find":"`+urn+`01","relation":{"code":"joins"}}]`)), nil},
		"axes swapped": {report(on(1, `"longitude":52.505,"latitude":-1.225`), on(2, `"longitude":52.506,"latitude":-1.226`)),
			[]string{"1 axes-swapped: /position/verbatim -1.225, 52.505 -> 52.505, -1.225",
				"2 axes-swapped: /position/verbatim -1.226, 52.506 -> 52.506, -1.226"}},
		"a minus lost": {report(on(1, `"longitude":1.225,"latitude":52.505`)),
			[]string{"1 sign-lost: /position/verbatim 52.505, 1.225 -> 52.505, -1.225"}},
		// 52.3030 as 52° 30.30' is 52.505, as 52° 30' 30" it is 52.5083333; 1.1350 likewise.
		"minutes as decimals": {report(on(1, `"longitude":-1.1350,"latitude":52.3030`)),
			[]string{"1 minutes-as-decimals: /position/verbatim 52.303, -1.135 -> 52.505, -1.225",
				"1 minutes-as-decimals: /position/verbatim 52.303, -1.135 -> 52.5083333, -1.2305556"}},
		"a stray without areas": {report(nowhere(1, -1.225, 52.505), nowhere(2, -1.226, 52.506), nowhere(3, -1.224, 52.504),
			nowhere(4, -1.22, 52.51), nowhere(5, -1.23, 52.5), nowhere(6, 1.225, 52.505)),
			[]string{"6 sign-lost: /position/verbatim 52.505, 1.225 -> 52.505, -1.225"}},
		// 52.5051, -1.2251 is 52 degrees 30.306 minutes, 1 degree 13.506 minutes: typed 52.30306, -1.13506.
		"minutes as decimals, no area": {report(nowhere(1, -1.225, 52.505), nowhere(2, -1.226, 52.506),
			nowhere(3, -1.224, 52.504), nowhere(4, -1.22, 52.51), nowhere(5, -1.23, 52.5), nowhere(6, -1.13506, 52.30306)),
			[]string{"6 minutes-as-decimals: /position/verbatim 52.30306, -1.13506 -> 52.5051, -1.2251",
				"6 minutes-as-decimals: /position/verbatim 52.30306, -1.13506 -> 52.5085, -1.2307222"}},
		"a field of its own": {report(nowhere(1, -1.225, 52.505), nowhere(2, -1.226, 52.506), nowhere(3, -1.224, 52.504),
			nowhere(4, -1.22, 52.51), nowhere(5, -1.23, 52.5), nowhere(6, -1.15, 52.45)), nil},
		"a minus lost, the country stated": {report(one(1,
			`"place":{"country":"IE"},"position":{"longitude":8.225,"latitude":52.505,"uncertainty":5}`)),
			[]string{"1 sign-lost: /position/verbatim 52.505, 8.225 -> 52.505, -8.225"}},
		"axes swapped, a part of a country stated": {report(one(1,
			`"place":{"country":"GB-SCT"},"position":{"longitude":56.505,"latitude":-3.225,"uncertainty":5}`)),
			[]string{"1 axes-swapped: /position/verbatim -3.225, 56.505 -> 56.505, -3.225"}},
		"in the country stated": {report(one(1,
			`"place":{"country":"GB-ENG"},"position":{"longitude":1.225,"latitude":52.505,"uncertainty":5}`)), nil},
		"a country without a box": {report(one(1,
			`"place":{"country":"JP"},"position":{"longitude":1.225,"latitude":52.505,"uncertainty":5}`)), nil},
		"month first among day first": {"No,Find,Date\n1,a,13/4/2026\n2,b,14/4/2026\n3,c,4/25/2026\n",
			[]string{"3 date-order-mixed: /found/verbatim 4/25/2026 -> 2026-04-25"}},
		"a day that can be both": {"No,Find,Date\n1,a,3/4/2026\n",
			[]string{"1 date-order-unknown: /found/verbatim 3/4/2026 -> 2026-04-03",
				"1 date-order-unknown: /found/verbatim 3/4/2026 -> 2026-03-04"}},
		"a day to come": {"No,Find,Date\n1,a,13/4/2026\n2,b,4/12/2026\n",
			[]string{"2 date-future: /found/verbatim 4/12/2026 -> 2026-04-12"}},
		"a day beside its outing": {report(one(1, `"outing":"outing-1","found":{"date":"2026-03-04"}`)),
			[]string{"1 found-outside-outing: /found/verbatim 2026-03-04 -> 2026-04-03"}},
		"nothing is wrong": {"No,Find,Depth (cm)\n1,bell,20\n2,nail,7-9\n", nil},
	} {
		t.Run(name, func(t *testing.T) {
			p := propose(t, c.text)
			if got := told(p); !slices.Equal(got, c.want) && len(got)+len(c.want) > 0 {
				t.Errorf("proposed\n%q, want\n%q", got, c.want)
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
			out := mended(t, c.text, p, pipeline.Findslip)
			if got := strings.Count(out, "(before repair)"); got != accepted-strings.Count(strings.Join(c.want, ""),
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
	if got, want := p.Proposals[0].Evidence, "3 other measures of the column lie between 15.24 and 25.4 cm"; got != want {
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
		if round == 0 && n != 14 || round > 2 {
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
