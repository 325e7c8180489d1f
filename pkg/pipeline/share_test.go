package pipeline

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/share"
	"github.com/findslip/findslip/pkg/testkit/heavy"
	"github.com/findslip/findslip/pkg/validate"
)

// secretWords stand in a random report and must not stand in a copy for those who may not know
// the place.
var secretWords = []string{"Hilda", "Barnaby", "finder-z", "Long Furlong", "Chapel Piece", "Thornmere", "the barn",
	"loft", "pounds", "/Users/", "thornmere.example", "my phone"}

// secretReport makes a report full of things that must not leak.
func secretReport(r *rand.Rand) *find.Report {
	rep := &find.Report{Findslip: "1.0", ID: find.NewReportID(), Title: "Long Furlong log",
		People: []find.Person{{ID: "person-1", Name: "Hilda Whitethorn", Handle: "finder-z",
			Contact: "hilda@thornmere.example"}, {ID: "person-2", Name: "Old Barnaby"}},
		Permissions: []find.Permission{{ID: "permission-1", Basis: &find.Term{Code: "written-owner"},
			Place: &find.Place{Name: "Long Furlong", Parish: "Thornmere"}, GrantedBy: "person-2"},
			{ID: "permission-2", Basis: &find.Term{Code: "oral-owner"}, Place: &find.Place{Name: "Chapel Piece"}}},
		Outings: []find.Outing{{ID: "outing-1", Permission: "permission-1", Date: "2026-04-12", Rubbish: "a bag of foil"}}}
	lat, lon := r.Float64()*120-60, r.Float64()*340-170
	for i := range 5 {
		field := []string{"Long Furlong", "Chapel Piece"}[i%2]
		la, lo := coordinate.Round7(lat+r.Float64()*0.02), coordinate.Round7(lon+r.Float64()*0.02)
		f := &find.Find{ID: find.FindID(rep.ID, fmt.Sprint(i)), Number: fmt.Sprintf("SF-%03d", i), Name: "button",
			Finder: "person-1", Permission: fmt.Sprintf("permission-%d", 1+i%2), Lifted: "all",
			Found: &find.Found{Date: "2026-04-12", Time: "14:30", Verbatim: "Sunday at " + field},
			Place: &find.Place{Name: field, Parish: "Thornmere", Region: "Midshire", Country: "GB",
				Verbatim: "behind the barn"},
			Position: &find.Position{Latitude: find.Float(la), Longitude: find.Float(lo), Uncertainty: find.Int(r.IntN(900) + 1),
				UncertaintyBasis: &find.Term{Code: "stated"}, Verbatim: fmt.Sprintf("%.6f, %.6f", la, lo),
				Method: &find.Term{Code: "phone", Verbatim: "my phone"}},
			Depth: &find.Depth{Quantity: find.Quantity{Min: find.Int(20), Max: find.Int(20), Unit: "cm", Said: "cm",
				Verbatim: "20 cm"}, Basis: &find.Term{Code: "tape-measured"}},
			Count:          &find.Quantity{Min: find.Int(1), Max: find.Int(1)},
			Materials:      []find.Material{{Term: find.Term{Code: "pewter", Verbatim: "pewter, like at Chapel Piece"}}},
			Identification: &find.Identification{Certainty: "probable", By: "person-1"},
			Disposition:    &find.Term{Code: "landowner"},
			Notes:          "call Hilda Whitethorn, the barn at Long Furlong", StoragePlace: "tin in the loft",
			Value:       "about 40 pounds",
			Columns:     map[string]string{"Where": "Long Furlong"},
			Sensitivity: []string{"", "open", "coarse", "restricted", "closed"}[i],
			Source:      &find.Source{File: "/Users/hilda/kestrel.xlsx"}}
		rep.Finds = append(rep.Finds, f)
	}
	rep.Finds[0].Question = "Which year?"
	return rep
}

// texts returns the texts of a file, those of a packed one part by part.
func texts(t *testing.T, data []byte) string {
	t.Helper()
	if !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		return string(data)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	all.WriteString(z.Comment + "\n")
	for _, part := range z.File {
		if strings.HasPrefix(part.Name, "handover/data/schema/") || strings.HasPrefix(part.Name,
			"handover/data/vocabulary/") {
			continue // published texts, the same in every hand-over
		}
		if year := part.Modified.UTC().Year(); year > 2000 {
			t.Fatalf("part %s tells that it was written in %d", part.Name, year)
		}
		fmt.Fprintf(&all, "%s\n%s\n%s\n", part.Name, part.Comment, part.Extra)
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		r.Close()
		if err != nil {
			t.Fatal(err)
		}
		all.WriteString(texts(t, b)) // a workbook is packed itself
		all.WriteByte('\n')
	}
	return all.String()
}

// dms writes an angle in degrees, minutes and whole seconds, and in minutes with three decimals.
func dms(v float64) []string {
	v = math.Abs(v)
	d := math.Floor(v)
	m := (v - d) * 60
	s := (m - math.Floor(m)) * 60
	return []string{fmt.Sprintf("%.0f°%02.0f'%02.0f", d, math.Floor(m), s),
		fmt.Sprintf("%.0f° %.0f' %.0f", d, math.Floor(m), s), fmt.Sprintf("%.3f'", m)}
}

var decimals = regexp.MustCompile(`\d+[.,]\d{3,}`)

// attack looks for the places and words of a source in a text, in ways of its own.
func attack(source, copied *find.Report, text string, format Format) error {
	for _, secret := range secretWords {
		if strings.Contains(text, secret) {
			return fmt.Errorf("it holds %q", secret)
		}
	}
	centres := map[string]bool{}
	for _, f := range copied.Finds {
		if f.Position != nil {
			for _, n := range []find.Number{f.Position.Latitude, f.Position.Longitude} {
				centres[strings.TrimPrefix(n.String(), "-")] = true
			}
		}
	}
	for _, number := range decimals.FindAllString(text, -1) {
		if strings.Contains(number, ",") && format != Page {
			continue // two cells or two numbers of a list
		}
		v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
		if err != nil || centres[number] {
			continue
		}
		for _, f := range source.Finds {
			for _, n := range []find.Number{f.Position.Latitude, f.Position.Longitude} {
				if math.Abs(v-math.Abs(n.Float())) < 0.0005 {
					return fmt.Errorf("it holds the number %s, which is near that of a place", number)
				}
			}
		}
	}
	for _, f := range source.Finds {
		for _, n := range []find.Number{f.Position.Latitude, f.Position.Longitude} {
			for _, spelt := range dms(n.Float()) {
				if strings.Contains(text, spelt) {
					return fmt.Errorf("it holds %s", spelt)
				}
			}
		}
		if strings.Contains(text, f.Number) {
			return fmt.Errorf("it holds the number of a find")
		}
	}
	return nil
}

func writeReport(t *testing.T, file string, r *find.Report) {
	t.Helper()
	var b bytes.Buffer
	if err := find.EncodeJSON(&b, find.StreamOf(r)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// copied are the formats of a copy: it is not written as tables.
func copied() []Format {
	return slices.DeleteFunc(slices.Clone(Formats()), func(f Format) bool { return f == Tables })
}

// formatsFor are the forms in which a copy may leave.
func formatsFor(a share.Audience) []Format {
	out := copied()
	if share.HasSheet(a) {
		out = append(out, Page)
	}
	return out
}

// No copy for an audience that may not know the place holds it in any format; every copy is sound,
// says for whom it is, and its place is no surer than it should be.
func TestNoFormatLeaks(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	file := filepath.Join(t.TempDir(), "season.findslip.json")
	for range heavy.Some(2, 12) {
		source := secretReport(r)
		writeReport(t, file, source)
		for _, a := range []share.Audience{share.Public, share.Expert, share.Landowner, share.Club, share.Partner,
			share.Recorder} {
			if a == share.Landowner || a == share.Club { // words about other land, and names in notes, would rightly stop it
				for _, f := range source.Finds {
					f.Materials[0].Verbatim, f.Notes, f.Depth.Verbatim = "pewter", "still bright", "20 cm"
				}
				source.Title = "a log"
				writeReport(t, file, source)
			}
			for _, format := range formatsFor(a) {
				s, err := Share(context.Background(), file, Options{To: format},
					ShareOptions{Options: share.Options{Audience: a, Permissions: []string{"permission-1"}},
						HoldBack: a == share.Expert})
				if err != nil {
					t.Fatal(err)
				}
				if len(s.Leaks) > 0 || len(s.Data()) == 0 {
					t.Fatalf("%s for %s: leaks %v, in %v", format, a, s.Leaks, s.Spans)
				}
				list, err := s.Notices(t.Context(), Options{})
				if err != nil {
					t.Fatal(err)
				}
				for i := range list {
					n := &list[i]
					if n.Kind.Severity == notice.Error && (n.Kind.Spec == "5.13" || strings.HasPrefix(n.Kind.Code, "schema-")) {
						t.Fatalf("the copy for %s is not sound: %s %s %s", a, n.Kind.Code, n.Place(), n.Message)
					}
				}
				if err := s.Copy.Whole(t.Context()); err != nil {
					t.Fatal(err)
				}
				text := texts(t, s.Data())
				for _, secret := range []string{"loft", "pounds", "/Users/", "Hilda", "thornmere.example"} {
					if strings.Contains(text, secret) {
						t.Fatalf("%s for %s holds %q", format, a, secret)
					}
				}
				if a == share.Landowner && (strings.Contains(text, "SF-001") || strings.Contains(text, "Chapel Piece") ||
					strings.Contains(text, source.Finds[1].Position.Latitude.String())) {
					t.Fatalf("%s for the landowner holds something of other land", format)
				}
				if a != share.Public && a != share.Expert {
					continue
				}
				if a == share.Expert { // the expert keeps the numbers, which the finder must find again
					text = strings.ReplaceAll(text, "SF-", "")
				}
				if err := attack(source, s.Copy.Report, text, format); err != nil {
					t.Fatalf("%s for %s: %v", format, a, err)
				}
				if format != Page {
					readBack(t, source, s, format)
				}
			}
		}
	}
}

// Every copy in every format is valid when it is read again, says in itself for whom and when it was
// made, and goes on into every other format with what was made coarser still stated.
func TestEveryCopyGoesOn(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "season.findslip.json")
	source := secretReport(rand.New(rand.NewPCG(27, 28)))
	for _, f := range source.Finds {
		f.Materials[0].Verbatim, f.Notes = "pewter", "still bright"
	}
	writeReport(t, file, source)
	const made = "2026-06-01T00:00:00Z"
	turn := 0
	for _, a := range share.Audiences() {
		for _, format := range copied() {
			s, err := Share(context.Background(), file, Options{To: format},
				ShareOptions{Options: share.Options{Audience: a, Permissions: []string{"permission-1"}, Changed: made},
					HoldBack: true})
			if err != nil || len(s.Leaks) > 0 {
				t.Fatal(a, format, err, s.Leaks)
			}
			name := filepath.Join(dir, "copy")
			if err := os.WriteFile(name, s.Data(), 0o644); err != nil {
				t.Fatal(err)
			}
			checked, err := Check(context.Background(), name, Options{From: format, Level: validate.NoLevel})
			if err != nil {
				t.Fatal(a, format, err)
			}
			for i := range checked.Notices {
				if n := &checked.Notices[i]; n.Kind.Severity == notice.Error && !(a == share.Self && n.Kind.Spec == "5.13") &&
					!(n.Kind.Code == "reference-unknown" && format == CSV) {
					t.Errorf("%s as %s is not sound: %s %s %s", a, format, n.Kind.Code, n.Place(), n.Message)
				}
			}
			copied, err := Collect(context.Background(), name, Options{From: format})
			if err != nil {
				t.Fatal(err)
			}
			if got := cmp.Or(copied.Audience, "self"); got != string(a) || copied.Changed != made &&
				!(a == share.Self && format == CSV) {
				t.Errorf("%s as %s says that it is for %q and was made %q", a, format, got, copied.Changed)
			}
			turn++
			for i, next := range Formats() {
				if !heavy.On() && i != turn%len(Formats()) {
					continue // each in its turn
				}
				if next == CSV && len(copied.Finds) == 0 {
					// an expert's waypoints, who sees no place: a table says whose copy it is beside each find, and there is none
					continue
				}
				var out bytes.Buffer
				if _, err := Convert(context.Background(), name, &out,
					Options{From: format, To: next, Level: validate.NoLevel}); err != nil {
					t.Fatal(a, format, next, err)
				}
				again, err := Collect(context.Background(), "-", Options{From: next, Stdin: bytes.NewReader(out.Bytes())})
				if err != nil {
					t.Fatal(a, format, next, err)
				}
				stated := map[string]string{}
				for _, f := range again.Finds {
					stated[f.ID] = fmt.Sprint(f.Generalised)
				}
				for _, f := range copied.Finds {
					if want := fmt.Sprint(f.Generalised); stated[f.ID] != want && (next != GPX || f.Position != nil) {
						t.Errorf("%s as %s, then %s: find %s states %s, not %s", a, format, next, f.Number, stated[f.ID], want)
					}
				}
				if got := cmp.Or(again.Audience, "self"); got != string(a) {
					t.Errorf("%s as %s, then %s is for %q", a, format, next, got)
				}
			}
		}
	}
}

// A hand-over for those who may not know the place holds it nowhere in its bytes: report, notices,
// label, README, lists, names and times of parts; nor do its pictures.
func TestNoHandOverLeaks(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	dir := t.TempDir()
	file := filepath.Join(dir, "Long Furlong at Thornmere.findslip.json")
	if err := os.WriteFile(filepath.Join(dir, "Long Furlong.jpg"), jpegWithOwner(t), 0o644); err != nil {
		t.Fatal(err)
	}
	for i := range 8 {
		a := []share.Audience{share.Public, share.Expert, share.Recorder, share.Landowner}[i%4]
		source := secretReport(r)
		for _, f := range source.Finds {
			f.Media = []find.Media{{File: "Long Furlong.jpg", View: &find.Term{Code: "front"}}, {File: "gone.jpg"}}
			if a == share.Recorder || a == share.Landowner {
				f.Materials[0].Verbatim, f.Notes = "pewter", "still bright"
			}
		}
		writeReport(t, file, source)
		p, err := Pack(context.Background(), file, Options{}, PackOptions{Name: "handover", Day: "2026-06-01"},
			ShareOptions{Options: share.Options{Audience: a, Permissions: []string{"permission-1"},
				Changed: "2026-06-01T00:00:00Z"}, HoldBack: true})
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Shared.Leaks) > 0 {
			t.Fatalf("%s: %v", a, p.Shared.Leaks)
		}
		var z bytes.Buffer
		if err := p.WriteZip(t.Context(), &z); err != nil {
			t.Fatal(err)
		}
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
		text := texts(t, z.Bytes())
		for _, secret := range []string{"loft", "pounds", "/Users/", "Hilda", "thornmere.example", "Hil", "gone.jpg",
			"Long Furlong.jpg"} {
			if strings.Contains(text, secret) {
				t.Fatalf("the hand-over for %s holds %q", a, secret)
			}
		}
		if want := 1; a == share.Public && p.Pictures != 0 || a != share.Public && p.Pictures != want {
			t.Errorf("%d pictures go to %s", p.Pictures, a)
		}
		if a == share.Public || a == share.Expert {
			if a == share.Expert {
				text = strings.ReplaceAll(text, "SF-", "")
			}
			if err := p.Shared.Copy.Whole(t.Context()); err != nil {
				t.Fatal(err)
			}
			if err := attack(source, p.Shared.Copy.Report, text, Findslip); err != nil {
				t.Fatalf("the hand-over for %s: %v", a, err)
			}
		}
		for _, want := range []string{"The report was made for: " + string(a) + ".", "Bagging-Date: 2026-06-01",
			`"changed": "2026-06-01T00:00:00Z"`} {
			if !strings.Contains(text, want) {
				t.Errorf("the hand-over for %s does not say %q", a, want)
			}
		}
	}
}

// readBack reads a copy again: its generalisation is stated, and the true place lies within.
func readBack(t *testing.T, source *find.Report, s *Shared, format Format) {
	t.Helper()
	copied, err := Collect(context.Background(), "-", Options{From: format, Stdin: bytes.NewReader(s.Data())})
	if err != nil {
		t.Fatal(err)
	}
	if copied.Audience != s.Copy.Report.Audience {
		t.Fatalf("%s says that it is for %q", format, copied.Audience)
	}
	truth := map[string]*find.Position{}
	for _, f := range source.Finds {
		truth[f.ID] = f.Position
	}
	byID := map[string]*find.Find{}
	for _, f := range s.Copy.Report.Finds {
		if f.Position != nil || format != "gpx" { // a waypoint has a place; the loss is told when it is written
			byID[f.ID] = f
		}
	}
	if len(copied.Finds) != len(byID) {
		t.Fatalf("%s holds %d finds of %d", format, len(copied.Finds), len(byID))
	}
	for _, f := range copied.Finds {
		want := byID[f.ID]
		if want == nil {
			t.Fatalf("%s makes up the id %s", format, f.ID)
		}
		if fmt.Sprint(f.Generalised) != fmt.Sprint(want.Generalised) || f.Absent["/position"] != want.Absent["/position"] {
			t.Fatalf("%s states %v and %v for find %s, not %v and %v", format, f.Generalised, f.Absent, f.Number,
				want.Generalised, want.Absent)
		}
		id := f.ID
		if back := s.Copy.Back[id]; back != "" {
			id = back
		}
		if f.Position == nil || truth[id] == nil {
			continue
		}
		at := func(p *find.Position) coordinate.Point {
			return coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}
		}
		if d := coordinate.Distance(at(f.Position), at(truth[id])); d > f.Position.Uncertainty.Float() {
			t.Fatalf("%s: the true place is %.0f m away, the copy says %s m", format, d, f.Position.Uncertainty)
		}
	}
}

// Thousands of reports, in every format; the workbook, which is slow to write, for one in fifty.
func TestManyReportsLeakNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for i := range heavy.Some(300, 3000) {
		source := secretReport(r)
		a := []share.Audience{share.Public, share.Expert}[i%2]
		c, err := share.Copy(t.Context(), source, share.Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		search, err := share.NewSearch(t.Context(), share.Held(source), c, a)
		if err != nil {
			t.Fatal(err)
		}
		spans, err := search.Spans(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := share.HoldBack(t.Context(), c, spans); err != nil {
			t.Fatal(err)
		}
		format := []Format{CSV, GeoJSON, Findslip, JSONL, GPX, KML}[i/2%6]
		if i%100 < 2 {
			format = XLSX
		}
		var out bytes.Buffer
		if err := Encode(&out, find.StreamOf(c.Report), Options{To: format}); err != nil {
			t.Fatal(err)
		}
		text := texts(t, out.Bytes())
		if a == share.Expert {
			text = strings.ReplaceAll(text, "SF-", "")
		}
		if err := attack(source, c.Report, text, format); err != nil {
			t.Fatalf("%s for %s: %v", format, a, err)
		}
		if i%12 < 2 { // the leak check agrees, and reads every run of figures in every grid it knows
			if looked, err := share.Leaks(t.Context(), out.Bytes(), source, c, a, limit.Limits{}); err != nil ||
				len(looked.Leaks) > 0 {
				t.Fatalf("%s for %s: %v %v", format, a, looked, err)
			}
		}
	}
}

// Leaks looks through any file, with or without a report in it.
func TestLeaksOfAnyFile(t *testing.T) {
	dir := t.TempDir()
	source := secretReport(rand.New(rand.NewPCG(17, 18)))
	file := filepath.Join(dir, "season.findslip.json")
	writeReport(t, file, source)
	s, err := Share(context.Background(), file, Options{To: GeoJSON},
		ShareOptions{Options: share.Options{Audience: share.Public}})
	if err != nil {
		t.Fatal(err)
	}
	p := source.Finds[1].Position
	for _, c := range []struct {
		name string
		data []byte
		kind string
	}{
		{"copy.geojson", s.Data(), ""},
		{"letter.txt", []byte("We were at Long Furlong all day."), "place"},
		{"letter.html", []byte("<p>we were at Long&#32;Furlong</p>"), "place"},
		{"track.csv", []byte("number,latitude,longitude\n1," + p.Latitude.String() + "," + p.Longitude.String() + "\n"),
			"position"},
		{"harmless.txt", []byte("Nothing to see."), ""},
	} {
		name := filepath.Join(dir, c.name)
		if err := os.WriteFile(name, c.data, 0o644); err != nil {
			t.Fatal(err)
		}
		looked, a, err := leaksIn(t, name, file)
		if err != nil || a != share.Public {
			t.Fatal(err, a)
		}
		found := slices.ContainsFunc(looked.Leaks, func(l share.Leak) bool { return l.Kind == c.kind })
		if found == (c.kind == "") || c.kind == "" && len(looked.Leaks)+len(looked.Unread) > 0 {
			t.Errorf("%s: %v, want %q", c.name, looked, c.kind)
		}
	}
}

// leaksIn looks through a file for what a source has.
func leaksIn(t *testing.T, name, source string) (share.Looked, share.Audience, error) {
	t.Helper()
	search, err := OpenLeaks(t.Context(), source, Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer search.Close()
	return search.Look(t.Context(), name, "")
}

// TestFieldsCalledAsCells: a field may be called as a workbook calls its cells and styles.
func TestFieldsCalledAsCells(t *testing.T) {
	for _, field := range []string{"B12", "Field 12", "Twelve Acre", "No 7", "True"} {
		r := &find.Report{Findslip: "1.0", ID: find.NewReportID(),
			Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: field}}}}
		for i := range 20 {
			r.Finds = append(r.Finds, &find.Find{ID: fmt.Sprintf("urn:uuid:0190f3c2-5b7e-7a41-8c1d-0000000001%02d", i),
				Number: strconv.Itoa(i + 1), Name: "button", Permission: "permission-1",
				Materials: []find.Material{{Term: find.Term{Code: "brass"}}}})
		}
		file := filepath.Join(t.TempDir(), "season.findslip.json")
		writeReport(t, file, r)
		s, err := Share(t.Context(), file, Options{To: XLSX}, ShareOptions{Options: share.Options{Audience: share.Expert}})
		if err != nil || !s.Made {
			t.Errorf("%s: %v, %v", field, err, s.Leaks)
		}
	}
}
