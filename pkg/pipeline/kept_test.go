package pipeline_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/pipeline"
)

// keptTruth is what a careful person is sure of, from a log alone.
type keptTruth struct {
	File  string     `json:"file"`
	Finds []keptFind `json:"finds"`
	Maybe []string   `json:"maybe_finds"`
	Texts []string   `json:"kept_text"`
}

type keptFind struct {
	Row      string   `json:"row"`
	Number   string   `json:"number"`
	Name     string   `json:"name"`
	Date     string   `json:"date"`
	Lat      *float64 `json:"lat"`
	Lon      *float64 `json:"lon"`
	Within   float64  `json:"within_m"`
	DepthMin *float64 `json:"depth_min_cm"`
	DepthMax *float64 `json:"depth_max_cm"`
	Count    *float64 `json:"count"`
	Weight   *float64 `json:"weight_g"`
	Material any      `json:"material"`
	Place    string   `json:"place_or_field"`
	Finder   string   `json:"finder"`
	Media    []string `json:"media"`
	Empty    []string `json:"must_be_empty"`
}

// keptScore counts the facts of the logs.
type keptScore struct {
	right, all    int
	wrong, absent []string
}

// TestKeptLogs reads logs as people really keep them, and holds what it reads to the truth beside them: nothing
// wrong, no find that nobody made, none lost, no text lost, and at least 97 of 100 facts right
// (testdata/kept: written from general knowledge by somebody who had not seen the code).
func TestKeptLogs(t *testing.T) {
	files, err := filepath.Glob("../../testdata/kept/*.truth.json")
	if err != nil || len(files) < 16 {
		t.Fatalf("%d logs, %v", len(files), err)
	}
	var total keptScore
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		var truth keptTruth
		if err := json.Unmarshal(raw, &truth); err != nil {
			t.Fatal(err)
		}
		t.Run(truth.File, func(t *testing.T) {
			var b bytes.Buffer
			if _, err := pipeline.Convert(context.Background(), filepath.Join("../../testdata/kept", truth.File), &b,
				pipeline.Options{To: pipeline.Findslip}); err != nil {
				t.Fatal(err)
			}
			in, err := find.DecodeJSON(bytes.NewReader(b.Bytes()), find.Options{})
			if err != nil {
				t.Fatal(err)
			}
			r, _, err := find.Collect(in)
			if err != nil {
				t.Fatal(err)
			}
			s := judgeLog(t, &truth, r)
			total.right, total.all = total.right+s.right, total.all+s.all
			for _, w := range s.wrong {
				t.Errorf("wrong: %s", w)
			}
			if len(s.absent) > 0 {
				t.Logf("missing: %s", strings.Join(s.absent, "; "))
			}
		})
	}
	if total.right*100 < total.all*97 {
		t.Errorf("%d of %d facts right", total.right, total.all)
	}
}

func judgeLog(t *testing.T, truth *keptTruth, r *find.Report) (s keptScore) {
	taken := map[int]bool{}
	for i := range truth.Finds {
		x := &truth.Finds[i]
		best, at := 1.9, -1
		for j, f := range r.Finds {
			if !taken[j] {
				if l := likeness(x, f) - 0.01*math.Abs(float64(i-j)); l > best {
					best, at = l, j
				}
			}
		}
		if at < 0 {
			t.Errorf("lost: row %s, %s %s", x.Row, x.Number, x.Name)
			continue
		}
		taken[at] = true
		s.facts(x, r, r.Finds[at])
	}
	if more := len(r.Finds) - len(taken); more > len(truth.Maybe) {
		for j, f := range r.Finds {
			if !taken[j] {
				t.Errorf("a find that nobody made: %s %s", f.Number, f.Name)
			}
		}
	}
	raw, err := find.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	var all any
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	var texts strings.Builder
	gather(all, &texts)
	for _, text := range truth.Texts {
		// of an outline in a map file
		if text != "marken, aftale med ejeren 2025" && !strings.Contains(folded(texts.String()), folded(text)) {
			t.Errorf("text lost: %q", text)
		}
	}
	return s
}

func gather(v any, b *strings.Builder) {
	switch v := v.(type) {
	case string:
		b.WriteString(v + "\n")
	case []any:
		for _, x := range v {
			gather(x, b)
		}
	case map[string]any:
		for k, x := range v {
			b.WriteString(k + "\n")
			gather(x, b)
		}
	}
}

var digits = regexp.MustCompile(`\d+`)

func folded(s string) string {
	s = strings.ToLower(strings.Join(strings.Fields(s), " "))
	return strings.NewReplacer("‘", "'", "’", "'", "“", `"`, "”", `"`).Replace(s)
}

func number(s string) string {
	return digits.ReplaceAllStringFunc(folded(s),
		func(d string) string { n, _ := strconv.Atoi(d); return strconv.Itoa(n) })
}

func likeness(x *keptFind, f *find.Find) (l float64) {
	if x.Number != "" && f.Number != "" {
		if number(x.Number) == number(f.Number) {
			l += 5
		} else {
			l -= 2
		}
	}
	if a, b := folded(x.Name), folded(f.Name); a != "" && b != "" {
		switch {
		case a == b:
			l += 4
		case strings.Contains(b, a):
			l += 2
		default:
			l--
		}
	}
	if f.Found != nil && x.Date != "" && f.Found.Date == x.Date {
		l++
	}
	return l
}

// fact counts one fact: a value that is not there is missing, another one is wrong.
func (s *keptScore) fact(x *keptFind, name string, got any, there, right bool) {
	switch s.all++; {
	case !there:
		s.absent = append(s.absent, x.Row+" "+name)
	case right:
		s.right++
	default:
		s.wrong = append(s.wrong, fmt.Sprintf("row %s: %s is %v", x.Row, name, got))
	}
}

func (s *keptScore) facts(x *keptFind, r *find.Report, f *find.Find) {
	if x.Number != "" {
		s.fact(x, "number", f.Number, f.Number != "", number(f.Number) == number(x.Number))
	}
	if x.Name != "" {
		s.fact(x, "name", f.Name, f.Name != "", strings.Contains(folded(f.Name), folded(x.Name)))
	}
	date := ""
	if f.Found != nil {
		date = f.Found.Date
	}
	if x.Date != "" {
		s.fact(x, "date", date, date != "", date == x.Date)
	}
	placed := f.Position != nil && f.Position.Latitude.Known() && f.Position.Longitude.Known()
	if x.Lat != nil {
		near := placed && coordinate.Distance(coordinate.Point{Longitude: *x.Lon, Latitude: *x.Lat},
			coordinate.Point{Longitude: f.Position.Longitude.Float(), Latitude: f.Position.Latitude.Float()}) <= x.Within
		s.fact(x, "position", f.Position, placed, near)
	}
	depth, count := (*find.Quantity)(nil), f.Count
	if f.Depth != nil {
		depth = &f.Depth.Quantity
	}
	if x.DepthMin != nil || x.DepthMax != nil {
		s.fact(x, "depth", depth, stated(depth),
			stated(depth) && isAbout(depth.Min, x.DepthMin, 0.02) && isAbout(depth.Max, x.DepthMax, 0.02))
	}
	if x.Count != nil {
		s.fact(x, "count", count, stated(count),
			stated(count) && isAbout(count.Min, x.Count, 0) && isAbout(count.Max, x.Count, 0))
	}
	if x.Weight != nil {
		s.fact(x, "weight", f.Weight, stated(f.Weight),
			stated(f.Weight) && isAbout(f.Weight.Min, x.Weight, 0.006) && isAbout(f.Weight.Max, x.Weight, 0.006))
	}
	if x.Material != nil {
		code := ""
		if len(f.Materials) > 0 {
			code = f.Materials[0].Code
		}
		s.fact(x, "material", code, code != "",
			strings.Contains(fmt.Sprintf(" %v ", strings.Trim(fmt.Sprint(x.Material), "[]")), " "+code+" "))
	}
	places, finder := placesOf(r, f), finderOf(r, f)
	if x.Place != "" {
		s.fact(x, "place", places, len(places) > 0,
			slices.ContainsFunc(places, func(p string) bool { return strings.Contains(folded(p), folded(x.Place)) }))
	}
	if x.Finder != "" {
		s.fact(x, "finder", finder, finder != "", folded(finder) == folded(x.Finder))
	}
	var media []string
	for _, m := range f.Media {
		media = append(media, m.File)
	}
	if x.Media != nil {
		s.fact(x, "pictures", media, media != nil, slices.Equal(media, x.Media))
	}
	held := map[string]bool{"position": placed, "depth": stated(depth), "weight": stated(f.Weight), "count": stated(count),
		"date":  date != "",
		"media": media != nil, "finder": finder != "", "place": len(places) > 0}
	for _, member := range x.Empty {
		s.fact(x, member+", which must be empty,", "given", true, !held[member])
	}
}

func stated(q *find.Quantity) bool { return q != nil && (q.Min.Known() || q.Max.Known()) }

func isAbout(n find.Number, want *float64, within float64) bool {
	if want == nil || !n.Known() {
		return want == nil && !n.Known()
	}
	return math.Abs(n.Float()-*want) <= within+1e-9
}

func placesOf(r *find.Report, f *find.Find) (out []string) {
	add := func(p *find.Place) {
		if p == nil {
			return
		}
		for _, text := range []string{p.Name, p.Parish, p.Region, p.Country, p.Verbatim} {
			if text != "" {
				out = append(out, text)
			}
		}
	}
	add(f.Place)
	if p := r.Permission(f.Permission); p != nil {
		add(p.Place)
	}
	return out
}

func finderOf(r *find.Report, f *find.Find) string {
	if p := r.Person(f.Finder); p != nil {
		return p.Handle + p.Name
	}
	return ""
}
