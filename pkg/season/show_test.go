package season_test

import (
	"bytes"
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
	"github.com/findslip/findslip/pkg/season"
)

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
		FindsAnHour: 1.17}, []season.Month{{Month: "2026-04", Finds: 7, Outings: 2, Hours: 6, Nothing: 1}},
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
	m, err := season.Of(t.Context(), []string{logOf(t, r)}, pipeline.Options{}, season.Options{Best: []string{"B63", "B71"}})
	if err != nil || len(m.Best) != 1 || m.Best[0].Find != "" {
		t.Errorf("asked for: %+v, %v", m, err)
	}
}

// Logs as people keep them can be shown, and hold no more finds than a public copy.
func TestShowOfKeptLogs(t *testing.T) {
	logs, _ := filepath.Glob("../../testdata/kept/*.*")
	for _, name := range logs {
		if strings.HasSuffix(name, ".truth.json") || strings.HasSuffix(name, ".md") {
			continue
		}
		m, public := of(t, "", "en", name), of(t, "public", "en", name)
		dated := m.Totals.Undated
		for _, month := range m.Months {
			dated += month.Finds
		}
		if dated != m.Totals.Finds {
			t.Errorf("%s: %d finds by month, %d shown", name, dated, m.Totals.Finds)
		}
		if m.Totals.Finds != public.Totals.Finds || len(m.Out) != len(public.Out) || len(m.Last) > 7 {
			t.Errorf("%s: %d finds to show, %d in a public copy", name, m.Totals.Finds, public.Totals.Finds)
		}
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
		f.Media = []find.Media{{File: name}}
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
