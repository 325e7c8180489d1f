package season_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
	"github.com/findslip/findslip/pkg/render"
	"github.com/findslip/findslip/pkg/season"
	"github.com/findslip/findslip/pkg/share"
)

func number(v float64) find.Number { return find.Float(v) }

func depth(min, max float64, basis string) *find.Depth {
	return &find.Depth{Quantity: find.Quantity{Min: number(min), Max: number(max), Unit: "cm", Said: "cm",
		Resolution: number(1)}, Basis: &find.Term{Code: basis}}
}

// peakFlow are the first measurements with each of two meters on 17 subjects, litres a minute: Bland JM, Altman DG,
// Statistical methods for assessing agreement between two methods of clinical measurement, Lancet 1986; 327: 307-310,
// table. They publish a mean difference of -2.1, a standard deviation of 38.8, and limits of -79.7 and 75.5.
var peakFlow = [][2]float64{{494, 512}, {395, 430}, {516, 520}, {434, 428}, {476, 500}, {557, 600}, {413, 364},
	{442, 380}, {650, 658}, {433, 445}, {417, 432}, {656, 626}, {267, 260}, {478, 477}, {178, 259}, {423, 350}, {427, 451}}

func TestAgreementAsPublished(t *testing.T) {
	r := &find.Report{Outings: []find.Outing{{ID: "outing-1", Detector: &find.Detector{Model: "detector A"}}}}
	for i, pair := range peakFlow {
		r.Finds = append(r.Finds, &find.Find{Number: fmt.Sprint(i + 1), Outing: "outing-1",
			Depth:       depth(pair[0], pair[0], "tape-measured"),
			OtherDepths: []find.Depth{*depth(pair[1], pair[1], "signal-guess")}})
	}
	s := season.Make([]*find.Report{r}, season.Options{})
	if len(s.Guesses) != 1 {
		t.Fatalf("%d detectors", len(s.Guesses))
	}
	g := s.Guesses[0]
	// The limits as published are the rounded mean with two rounded standard deviations; 1.96 of them lie within.
	got := fmt.Sprintf("%s, %d pairs, mean %.1f, spread %.1f", g.Detector, g.Pairs, g.Mean, g.Spread)
	if want := "detector A, 17 pairs, mean -2.1, spread 38.8"; got != want {
		t.Errorf("%s, wanted %s", got, want)
	}
	if low, high := g.Mean-2*g.Spread, g.Mean+2*g.Spread; fmt.Sprintf("%.1f %.1f", low, high) != "-79.6 75.4" {
		t.Errorf("two spreads to either side are %.1f and %.1f", low, high) // published, of rounded figures: -79.7, 75.5
	}
	if fmt.Sprintf("%.2f %.2f", g.LimitLow, g.LimitHigh) != fmt.Sprintf("%.2f %.2f", g.Mean-1.96*g.Spread,
		g.Mean+1.96*g.Spread) {
		t.Errorf("limits %.2f and %.2f", g.LimitLow, g.LimitHigh)
	}
	if g.Few || g.Deeper+g.Same+g.Shallower != 17 || g.Deeper != 7 {
		t.Errorf("few %v, deeper %d, same %d, less deep %d", g.Few, g.Deeper, g.Same, g.Shallower)
	}
}

// The quantiles of type 7 of these ten weights, as the help of quantile in R (datasets PlantGrowth, group ctrl: 4.17,
// 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14) has them: 4.170, 4.550, 5.155, 5.293, 6.110 (summary(), to
// four digits, from memory).
func TestQuartilesAsPublished(t *testing.T) {
	r := &find.Report{}
	for i, v := range []float64{4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14} {
		r.Finds = append(r.Finds, &find.Find{Number: fmt.Sprint(i), Depth: depth(v, v, "tape-measured")})
	}
	g := season.Make([]*find.Report{r}, season.Options{}).Depth.Groups[0]
	got := fmt.Sprintf("%.3f %.3f %.3f %.3f %.3f", g.Lowest, g.Quarter, g.Median, g.Third, g.Deepest)
	if want := "4.170 4.550 5.155 5.293 6.110"; got != want {
		t.Errorf("%s, wanted %s", got, want)
	}
}

func TestIntervals(t *testing.T) {
	open := depth(30.48, 30.48, "tape-measured")
	open.Max = find.Number{}
	for name, c := range map[string]struct {
		tape, guess *find.Depth
		want        string // pairs, left out, deeper, same, less deep, few
	}{
		"deeper":              {depth(25, 25, "tape-measured"), depth(15, 15, "signal-guess"), "1 0 1 0 0 true"},
		"less deep":           {depth(10, 12, "tape-measured"), depth(15, 15, "signal-guess"), "1 0 0 0 1 true"},
		"within an interval":  {depth(10, 20, "tape-measured"), depth(16, 16, "signal-guess"), "1 0 0 1 0 true"},
		"alike":               {depth(16, 16, "tape-measured"), depth(16, 16, "signal-guess"), "1 0 0 1 0 true"},
		"within the rounding": {depth(16.4, 16.4, "tape-measured"), depth(16, 16, "signal-guess"), "1 0 0 1 0 true"},
		"no upper end":        {open, depth(16, 16, "signal-guess"), "0 1"},
		"not measured":        {depth(25, 25, "spade-estimate"), depth(16, 16, "signal-guess"), "0 0"},
	} {
		t.Run(name, func(t *testing.T) {
			r := &find.Report{Finds: []*find.Find{{Number: "1", Depth: c.tape, OtherDepths: []find.Depth{*c.guess}}}}
			s := season.Make([]*find.Report{r}, season.Options{})
			got := fmt.Sprint(len(s.Guesses), s.GuessOpen)
			if len(s.Guesses) > 0 {
				g := s.Guesses[0]
				got += fmt.Sprint(" ", g.Deeper, g.Same, g.Shallower, g.Few)
				got = strings.ReplaceAll(got, "  ", " ")
			}
			if got != c.want {
				t.Errorf("%q, wanted %q", got, c.want)
			}
		})
	}
}

func TestOutings(t *testing.T) {
	r := &find.Report{Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"}},
		{ID: "permission-2"}}, Outings: []find.Outing{
		{ID: "outing-1", Permission: "permission-1", Date: "2026-03-25", Hours: number(2.5)},
		{ID: "outing-2", Permission: "permission-2", Date: "2026-03-25", Start: "09:00", End: "12:30"},
		{ID: "outing-3", Permission: "permission-1", Date: "2026-05-01"}},
		Finds: []*find.Find{
			{Number: "1", Outing: "outing-1", Permission: "permission-1", Found: &find.Found{Date: "2026-03-25"}},
			{Number: "2", Permission: "permission-1", Found: &find.Found{Date: "2026-03-25"}}, // by day and field
			{Number: "3", Permission: "permission-2", Found: &find.Found{Date: "2026-04-02"}}, // a day without a line
			{Number: "4", Found: &find.Found{Date: "2026-03-25"}},                             // which of two is not known
			{Number: "5", Found: &find.Found{Date: "2026-01/2026-03"}},
			{Number: "6", Found: &find.Found{Date: "2026-03-25"}, Retracted: &find.Retraction{}},
		}}
	s := season.Make([]*find.Report{r}, season.Options{})
	want := []season.Outing{
		{Day: "2026-03-25", Finds: 1},
		{Day: "2026-03-25", Field: "Field 1", Hours: 3.5, Nothing: true, Noted: true},
		{Day: "2026-03-25", Field: "Long Furlong", Hours: 2.5, Finds: 2, Noted: true},
		{Day: "2026-04-02", Field: "Field 1", Finds: 1},
		{Day: "2026-05-01", Field: "Long Furlong", Nothing: true, Noted: true}}
	if d := cmp.Diff(want, s.Outings); d != "" {
		t.Error(d)
	}
	total := season.Totals{Finds: 5, Objects: 5, Outings: 5, Nothing: 2, Hours: 6, TimedOut: 2, TimedFinds: 2,
		FindsAnHour: 0.33, Undated: 1}
	if d := cmp.Diff(total, s.Totals); d != "" {
		t.Error(d)
	}
	months := []season.Month{{Month: "2026-03", Finds: 3, Outings: 3, Hours: 6}, {Month: "2026-04", Finds: 1, Outings: 1},
		{Month: "2026-05", Outings: 1}}
	if d := cmp.Diff(months, s.Months); d != "" {
		t.Error(d)
	}
}

const thornmere = "../../examples/thornmere/season.xlsx"

func of(t *testing.T, a share.Audience, language string, names ...string) *season.Made {
	t.Helper()
	m, err := season.Of(context.Background(), names, pipeline.Options{}, season.Options{Audience: a, Language: language,
		Day: "2026-06-01", Permissions: map[share.Audience][]string{share.Landowner: {"Long Furlong"}}[a]})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func html(t *testing.T, s *season.Season) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.HTML(&b, "2026-06-01"); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// What an audience may not see is nowhere on the page nor among the figures.
func TestAudiences(t *testing.T) {
	places := []string{"Long Furlong", "Chapel Piece", "Thornmere", "52.50", "-1.22", "SP 5"}
	hidden := map[share.Audience][]string{
		"":              places,
		share.Public:    append([]string{"finder-a", "2026-03-25", "25 Mar"}, places...),
		share.Expert:    append([]string{"finder-a", "25 Mar"}, places...),
		share.Landowner: {"Chapel Piece", "52.50"},
		share.Self:      {"52.50"}, // a plan is drawn, no figure is written
		share.Club:      places,
		share.Recorder:  {"52.50"},
		share.Partner:   {"52.50"},
	}
	plans := []share.Audience{share.Self, share.Partner, share.Recorder, share.Landowner}
	for a, list := range hidden {
		m := of(t, a, "en", thornmere)
		var figures, table bytes.Buffer
		if err := m.JSON(&figures); err != nil {
			t.Fatal(err)
		}
		if err := m.CSV(&table); err != nil {
			t.Fatal(err)
		}
		page := html(t, m.Season)
		for _, text := range list {
			if strings.Contains(page+figures.String()+table.String(), text) {
				t.Errorf("%q: the page tells %q", a, text)
			}
		}
		if got, want := strings.Contains(page, `class="plan"`), slices.Contains(plans, a); got != want {
			t.Errorf("%q: a plan is drawn: %v", a, got)
		}
		if !json.Valid(figures.Bytes()) {
			t.Errorf("%q: the figures are no JSON", a)
		}
	}
}

// A log that is given twice counts once; two finders' logs count together.
func TestSeveralLogs(t *testing.T) {
	one := of(t, share.Self, "en", thornmere)
	twice := of(t, share.Club, "en", thornmere, thornmere)
	if one.Totals.Finds != 15 || twice.Totals.Finds != 15 {
		t.Errorf("%d finds, the log twice %d", one.Totals.Finds, twice.Totals.Finds)
	}
	two := of(t, share.Club, "en", thornmere, "../../testdata/kept/01_ditto_book.xlsx")
	if two.Totals.Finds <= 15 || len(two.Fields) < 3 {
		t.Errorf("two logs: %d finds on %d fields", two.Totals.Finds, len(two.Fields))
	}
}

// Logs as people keep them become a page, whatever they lack, and the counts of each table are those of the whole.
func TestKeptLogs(t *testing.T) {
	logs, err := filepath.Glob("../../testdata/kept/*.*")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, name := range logs {
		if strings.HasSuffix(name, ".truth.json") || strings.HasSuffix(name, ".md") {
			continue
		}
		n++
		s := of(t, share.Self, "de", name).Season
		if s.Totals.Finds == 0 {
			t.Errorf("%s: no finds", name)
		}
		for what, list := range map[string][]season.Count{"fields": s.Fields, "materials": s.Materials, "ages": s.Periods,
			"classes": s.Classes, "finders": s.Finders} {
			sum := 0
			for _, c := range list {
				sum += c.Finds
			}
			if sum != s.Totals.Finds {
				t.Errorf("%s: %s add up to %d of %d finds", name, what, sum, s.Totals.Finds)
			}
		}
		depths := s.Depth.Open + s.Depth.Guessed + s.Depth.Missing
		for _, g := range s.Depth.Groups {
			depths += len(g.Depths)
		}
		if depths != s.Totals.Finds {
			t.Errorf("%s: depths add up to %d of %d finds", name, depths, s.Totals.Finds)
		}
		if page := html(t, s); strings.Contains(page, "NaN") || strings.Contains(page, "Inf") {
			t.Errorf("%s: a drawing has no figures", name)
		}
		m, public := of(t, "", "en", name), of(t, "public", "en", name) // to show no more than a public copy
		dated := m.Totals.Undated
		for _, month := range m.Months {
			dated += month.Finds
		}
		if n := m.Totals.Finds; n != dated || n != public.Totals.Finds || len(m.Out) != len(public.Out) || len(m.Last) > 7 {
			t.Errorf("%s: %d finds to show, %d by month, %d in a public copy", name, n, dated, public.Totals.Finds)
		}
	}
	if n != 16 {
		t.Errorf("%d logs", n)
	}
}

// Every drawing has a title and a description, and a table stands behind it; every word is said in six languages.
func TestPage(t *testing.T) {
	for _, language := range render.Languages() {
		page := html(t, of(t, share.Self, language, thornmere).Season)
		drawings := strings.Count(page, `<svg class="chart"`)
		if drawings < 5 || strings.Count(page, "<title>")-1 < drawings || strings.Count(page, "<desc ") != drawings {
			t.Errorf("%s: %d drawings, %d with a description", language, drawings, strings.Count(page, "<desc "))
		}
		if tables := strings.Count(page, "<table>"); tables < drawings {
			t.Errorf("%s: %d drawings, %d tables", language, drawings, tables)
		}
		for _, bad := range []string{"<script", "http://", "https://", "<no value>", "{n}", "ZgotmplZ"} {
			if strings.Contains(strings.ReplaceAll(page, `xmlns="http://www.w3.org/2000/svg"`, ""), bad) {
				t.Errorf("%s: the page has %q", language, bad)
			}
		}
	}
}

// A plan is drawn for each field with all its finds, whatever tells them apart, and a stranger's circle is larger
// than any field.
func TestWhere(t *testing.T) {
	r, err := pipeline.Collect(context.Background(), thornmere, pipeline.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c, err := share.Copy(context.Background(), r, share.Options{Audience: share.Public})
	if err != nil {
		t.Fatal(err)
	}
	for _, by := range []string{"material", "period", "depth"} {
		w := season.WhereOf(r, c.Circles(), by, "en")
		n := w.Unplaced
		for _, f := range w.Fields {
			n += len(f.Rows)
			if !f.Outline || f.View.Scale <= 0 || !strings.Contains(string(f.SVG), "<svg") {
				t.Errorf("%s: %s is not drawn", by, f.Name)
			}
		}
		if n != len(r.Finds) || len(w.Fields) != 2 || len(w.Circles) != 1 || w.Circles[0].Kilometres < 10 {
			t.Errorf("%s: %d finds on %d fields, %d circles", by, n, len(w.Fields), len(w.Circles))
		}
		var b bytes.Buffer
		if err := w.HTML(&b); err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(b.String(), -1) {
			if !strings.Contains(b.String(), `id="`+m[1]+`"`) {
				t.Errorf("%s: a sign leads to %s, which is nowhere", by, m[1])
			}
		}
	}
}

func TestWords(t *testing.T) {
	raw, err := os.ReadFile("words.json")
	if err != nil {
		t.Fatal(err)
	}
	var words map[string][]string
	if err := json.Unmarshal(raw, &words); err != nil {
		t.Fatal(err)
	}
	code := ""
	for _, name := range []string{"page.go", "chart.go", "season.go", "count.go", "depth.go", "page.html.tmpl", "where.go",
		"where.html.tmpl", "of.go"} {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		code += string(b)
	}
	holes := regexp.MustCompile(`\{\w+\}`)
	for key, list := range words {
		if len(list) != len(render.Languages()) {
			t.Errorf("%s has %d languages", key, len(list))
			continue
		}
		if !strings.Contains(code, `"`+key+`"`) && !strings.HasPrefix(key, "for-") {
			t.Errorf("%s is used nowhere", key)
		}
		want := holes.FindAllString(list[0], -1)
		slices.Sort(want)
		want = slices.Compact(want)
		for i, s := range list {
			got := holes.FindAllString(s, -1)
			slices.Sort(got)
			if s == "" || !slices.Equal(slices.Compact(got), want) {
				t.Errorf("%s, language %d: %q does not go with %q", key, i, s, list[0])
			}
		}
	}
	for _, a := range append(share.Audiences(), season.Show) {
		if words["for-"+string(a)] == nil {
			t.Errorf("%s has no sentence", a)
		}
	}
}

// keptFromAll are finds that a public copy leaves out, each with a depth that no other has, beside seven that it shows.
func keptFromAll() *find.Report {
	r := &find.Report{Findslip: find.Version, ID: find.NewReportID(),
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"},
			PloughDepth: &depth(24.7, 24.7, "").Quantity}}}
	outing := func(n int, day string) {
		r.Outings = append(r.Outings, find.Outing{ID: fmt.Sprint("outing-", n), Permission: "permission-1", Date: day,
			Hours: number(float64(n)), Detector: &find.Detector{Model: "detector A"}})
	}
	outing(2, "2026-04-05")
	outing(3, "2026-04-19")
	outing(4, "2026-04-26")
	outing(5, "2026-05-03")
	add := func(number, name, material, outing string, cm float64) *find.Find {
		f := &find.Find{ID: find.NewReportID(), Number: number, Name: name, Permission: "permission-1", Outing: outing,
			Depth: depth(cm, cm, "tape-measured"), OtherDepths: []find.Depth{*depth(cm-3, cm-3, "signal-guess")},
			Found:  &find.Found{Date: "2026-04-05"},
			Dating: &find.Dating{Earliest: find.Int(1650), Latest: find.Int(1700)}}
		for _, o := range r.Outings {
			if o.ID == outing {
				f.Found.Date = o.Date
			}
		}
		if material != "" {
			f.Materials = []find.Material{{Term: find.Term{Code: material}}}
		}
		r.Finds = append(r.Finds, f)
		return f
	}
	for i := range 6 {
		add(fmt.Sprint("B", 61+i), "thimble", "copper-alloy", "outing-2", float64(11+i))
	}
	add("B67", "pin", "iron", "outing-2", 21.7)
	add("B71", "finger ring", "gold", "outing-2", 31.7)
	add("B72", "hammered penny", "silver", "outing-3", 32.7)
	add("B73", "human bone", "bone", "outing-3", 33.7).Dating = nil
	add("B74", "pilgrim badge", "lead", "outing-3", 34.7).Sensitivity = "closed"
	add("B75", "cloth seal", "lead", "outing-2", 35.7).EmbargoUntil = "2030-01-01"
	add("B76", "token", "lead", "outing-5", 36.7).Sensitivity = "closed"
	return r
}

func logOf(t *testing.T, r *find.Report) string {
	t.Helper()
	var file bytes.Buffer
	if err := pipeline.Encode(&file, find.StreamOf(r), pipeline.Options{To: pipeline.Findslip}); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "log.findslip.json")
	if err := os.WriteFile(name, file.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// written is a season in all that is written of it.
func written(t *testing.T, m *season.Made) string {
	t.Helper()
	var out bytes.Buffer
	if err := m.JSON(&out); err != nil {
		t.Fatal(err)
	}
	if err := m.CSV(&out); err != nil {
		t.Fatal(err)
	}
	return html(t, m.Season) + out.String()
}

// What a public copy says nothing of stands in no list and no figure of a page to show (SPEC sharing 9-6), nor does a
// number or a day; the owner is told of all of it.
func TestShowLeavesOut(t *testing.T) {
	r := keptFromAll()
	m := of(t, "", "en", logOf(t, r))
	all := written(t, m)
	for _, text := range []string{"finger ring", "penny", "human", "bone", "pilgrim", "cloth seal", "gold", "silver",
		"precious", "lead", "2026-05", "May 2026", "21.7", "18.7", "24.7",
		"31.7", "32.7", "33.7", "34.7", "35.7", "36.7", "28.7", "29.7", "30.7", "B6", "B7", "2026-04-", "5 Apr",
		"19 Apr", "Long Furlong"} {
		if strings.Contains(all, text) {
			at := strings.Index(all, text)
			t.Errorf("it tells %q: …%s…", text, all[max(0, at-60):min(len(all), at+60)])
		}
	}
	// The page says when it was made, and nothing else of a day.
	if day := regexp.MustCompile(`20\d\d-\d\d-\d\d`).FindString(strings.ReplaceAll(all, "2026-06-01", "")); day != "" {
		t.Errorf("it tells the day %s", day)
	}
	if len(m.Outings)+len(m.Guesses)+len(m.Depth.Groups)+m.GuessOpen+m.Depth.Missing > 0 || len(m.Fields) > 1 {
		t.Errorf("single figures: outings %v, fields %v, guesses %v, depths %+v", m.Outings, m.Fields, m.Guesses, m.Depth)
	}
	// The outings of 19 April and 3 May had only finds that are held back; the pin has a depth of its own.
	got := []any{m.Totals, m.Months, m.Bands, m.Depth.Plough, m.Trust}
	want := []any{season.Totals{Finds: 7, Objects: 7, Outings: 2, Nothing: 1, Hours: 6, TimedOut: 2, TimedFinds: 7,
		FindsAnHour: 1.17}, []season.Month{{Month: "2026-04/2026-06", Finds: 7, Outings: 2, Hours: 6, Nothing: 1}},
		[]season.Band{{Material: "copper and its alloys", To: 5}, {Material: "copper and its alloys", From: 5, To: 10},
			{Material: "copper and its alloys", From: 10, To: 15, Finds: 4},
			{Material: "copper and its alloys", From: 15, To: 20, Finds: 2}}, []season.Plough{{Depth: 25}},
		[]season.Trust{{Detector: "detector A", Pairs: 7, Mean: 3, Deeper: 1}}}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if len(m.Best) != 7 || m.Best[0].Name != "pin" || len(m.Open) != 0 {
		t.Errorf("to show %+v, open %+v", m.Best, m.Open)
	}
	var out []string
	for _, o := range m.Out {
		out = append(out, o.Find+" "+o.Why)
	}
	slices.Sort(out)
	if want := []string{"B71 may be treasure", "B72 may be treasure", "B73 human remains", "B74 closed",
		"B75 embargo", "B76 closed"}; !slices.Equal(out, want) || m.Left != 6 {
		t.Errorf("%d left out, the owner is told of %q", m.Left, out)
	}
}

// A detector that is named after a field has a number in place of its name.
func TestShowDetector(t *testing.T) {
	r := keptFromAll()
	for i := range r.Outings {
		r.Outings[i].Detector.Model = "the one for Long Furlong"
	}
	m := of(t, "", "de", logOf(t, r))
	if all := written(t, m); len(m.Trust) != 1 || m.Trust[0].Detector != "Detektor 1" || strings.Contains(all, "Furlong") {
		t.Errorf("detectors %+v", m.Trust)
	}
}

// A find that one log keeps out is not told by another that says less of it; one that is asked for by its number is
// shown without it.
func TestShowOfTwoLogs(t *testing.T) {
	r := keptFromAll()
	second := keptFromAll()
	second.Finds = nil
	for _, f := range r.Finds {
		g := *f
		if f.Number == "B74" {
			g.Sensitivity = ""
		}
		second.Finds = append(second.Finds, &g)
	}
	for _, logs := range [][]string{{logOf(t, r), logOf(t, second)}, {logOf(t, second), logOf(t, r)}} {
		m := of(t, "", "en", logs...)
		if all := written(t, m); m.Totals.Finds != 7 || strings.Contains(all, "pilgrim") ||
			regexp.MustCompile(`B[67]\d`).MatchString(all) {
			t.Errorf("%d finds, or one that is closed is told", m.Totals.Finds)
		}
	}
	m, err := season.Of(t.Context(), []string{logOf(t, r)}, pipeline.Options{},
		season.Options{Best: []string{"B63", "B71"}})
	if err != nil || len(m.Best) != 1 || m.Best[0].Find != "" {
		t.Errorf("asked for: %+v, %v", m, err)
	}
}

// With pictures, those of the finds that are shown stand in the page, under names that say nothing.
func TestShowPictures(t *testing.T) {
	r := keptFromAll()
	files := fstest.MapFS{}
	for i, f := range r.Finds {
		img := image.NewRGBA(image.Rect(0, 0, 8, 8))
		img.Set(0, 0, color.RGBA{R: uint8(20 * i), A: 255})
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		name := "Long Furlong " + f.Number + ".png"
		files[name] = &fstest.MapFile{Data: b.Bytes()}
		f.Media = []find.Media{{File: name, View: &find.Term{Code: "front"}}}
	}
	m, err := season.Of(t.Context(), []string{logOf(t, r)}, pipeline.Options{Files: files}, season.Options{})
	if err != nil {
		t.Fatal(err)
	}
	all := written(t, m)
	if n := strings.Count(all, "data:image/"); n != 7 || strings.Contains(all, "Furlong") || strings.Contains(all, "B6") {
		t.Errorf("%d pictures, or a name of one tells something", n)
	}
}

// How people write the hours of an outing is common practice; no source. Where one cell is plainly a clock time, 1 to 4
// is from one to four o'clock; alone it may be one to four hours. The 1600s and the 17th century are one line.
func TestHoursAndAgesAsPeopleWriteThem(t *testing.T) {
	for _, c := range []struct {
		cells  string
		hours  float64
		unread int
	}{{"3|2,5 h|2:30|2h15|2h 15 min", 12.5, 0}, {"9.30-12.30|10-1|9h30 à 12h|9 am to 1 pm|1 to 4|1/2|all morning", 15.5,
		2},
		{"2-3", 0, 1}} {
		log := "No,Date,Field,Find,Period,Hours\n"
		for i, cell := range strings.Split(c.cells, "|") {
			period := []string{"1600s", "17th century"}[i%2]
			log += fmt.Sprintf("%d,2026-03-%02d,Long Furlong,button,%s,\"%s\"\n", i+1, i+1, period, cell)
		}
		o := pipeline.Options{FS: fstest.MapFS{"a.csv": {Data: []byte(log)}}}
		made, err := season.Of(t.Context(), []string{"a.csv"}, o, season.Options{Audience: share.Self})
		if err != nil {
			t.Fatal(err)
		}
		if made.Totals.Hours != c.hours || made.Totals.Unread != c.unread {
			t.Errorf("%s: %v hours, %d not understood; want %v, %d", c.cells, made.Totals.Hours, made.Totals.Unread, c.hours,
				c.unread)
		}
		if len(made.Periods) != 1 || made.Periods[0].Name != "1600–1699" {
			t.Errorf("ages are %v", made.Periods)
		}
	}
}

// Two bags of one number are two finds for every reader; ages stand on one scale, doubt beside it; two depths without a
// word how they are known are no lack of a guess; in a copy that takes names away nothing waits for a name.
func TestOrdinaryLog(t *testing.T) {
	log := []byte("No,Date,Find,Period,Depth,Detector depth\n18,2026-03-01,pin,17th-18th c,6 in,4 in\n" +
		"18,2026-03-01,pin,Roman?,7 in,5 in\n19,2026-03-02,knife,Roman,8 in,6 in\n")
	o := pipeline.Options{FS: fstest.MapFS{"a.csv": {Data: log}}}
	for _, a := range []share.Audience{share.Self, share.Club, share.Public, season.Show} {
		made, err := season.Of(t.Context(), []string{"a.csv"}, o, season.Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		if n := made.Totals.Finds + len(made.Out); n != 3 || a == share.Public && len(made.Open) > 0 {
			t.Errorf("%s: %d finds, open %v", a, n, made.Open)
		} else if p := made.Periods; a == share.Self && (made.GuessOnly != 3 || len(p) != 2 || p[0].Name != "1700–1799" ||
			p[1].Name != "Roman" || p[1].Finds != 2 || p[1].Unsure != 1) {
			t.Errorf("%d pairs unsaid, ages %v", made.GuessOnly, p)
		}
	}
}
