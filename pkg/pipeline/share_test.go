package pipeline

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/jpeg"
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
	"github.com/findslip/findslip/pkg/notice"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/share"
)

// secretWords stand in a random report and must not stand in a copy for those who may not know
// the place.
var secretWords = []string{"Hilda", "Barnaby", "finder-z", "Long Furlong", "Chapel Piece", "Thornmere", "the barn", "loft", "pounds", "/Users/", "thornmere.example", "my phone"}

// secretReport makes a report full of things that must not leak.
func secretReport(r *rand.Rand) *find.Report {
	rep := &find.Report{Findslip: "1.0", ID: find.NewReportID(), Title: "Long Furlong log",
		People: []find.Person{{ID: "person-1", Name: "Hilda Whitethorn", Handle: "finder-z", Contact: "hilda@thornmere.example"}, {ID: "person-2", Name: "Old Barnaby"}},
		Permissions: []find.Permission{{ID: "permission-1", Basis: &find.Term{Code: "written-owner"}, Place: &find.Place{Name: "Long Furlong", Parish: "Thornmere"}, GrantedBy: "person-2"},
			{ID: "permission-2", Basis: &find.Term{Code: "oral-owner"}, Place: &find.Place{Name: "Chapel Piece"}}},
		Outings: []find.Outing{{ID: "outing-1", Permission: "permission-1", Date: "2026-04-12", Rubbish: "a bag of foil"}}}
	lat, lon := r.Float64()*120-60, r.Float64()*340-170
	for i := range 5 {
		field := []string{"Long Furlong", "Chapel Piece"}[i%2]
		la, lo := coordinate.Round7(lat+r.Float64()*0.02), coordinate.Round7(lon+r.Float64()*0.02)
		f := &find.Find{ID: find.FindID(rep.ID, fmt.Sprint(i)), Number: fmt.Sprintf("SF-%03d", i), Name: "button", Finder: "person-1", Permission: fmt.Sprintf("permission-%d", 1+i%2), Lifted: "all",
			Found:    &find.Found{Date: "2026-04-12", Time: "14:30", Verbatim: "Sunday at " + field},
			Place:    &find.Place{Name: field, Parish: "Thornmere", Region: "Midshire", Country: "GB", Verbatim: "behind the barn"},
			Position: &find.Position{Latitude: find.Float(la), Longitude: find.Float(lo), Uncertainty: find.Int(r.IntN(900) + 1), UncertaintyBasis: &find.Term{Code: "stated"}, Verbatim: fmt.Sprintf("%.6f, %.6f", la, lo), Method: &find.Term{Code: "phone", Verbatim: "my phone"}},
			Depth:    &find.Depth{Quantity: find.Quantity{Min: find.Int(20), Max: find.Int(20), Unit: "cm", Said: "cm", Verbatim: "20 cm"}, Basis: &find.Term{Code: "tape-measured"}},
			Count:    &find.Quantity{Min: find.Int(1), Max: find.Int(1)}, Materials: []find.Material{{Term: find.Term{Code: "pewter", Verbatim: "pewter, like at Chapel Piece"}}},
			Identification: &find.Identification{Certainty: "probable", By: "person-1"}, Disposition: &find.Term{Code: "landowner"},
			Notes: "call Hilda Whitethorn, the barn at Long Furlong", StoragePlace: "tin in the loft", Value: "about 40 pounds", Columns: map[string]string{"Where": "Long Furlong"},
			Sensitivity: []string{"", "open", "coarse", "restricted", "closed"}[i], Source: &find.Source{File: "/Users/hilda/secret.xlsx"}}
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
	for _, part := range z.File {
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		r.Close()
		if err != nil {
			t.Fatal(err)
		}
		all.Write(b)
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
	return []string{fmt.Sprintf("%.0f°%02.0f'%02.0f", d, math.Floor(m), s), fmt.Sprintf("%.0f° %.0f' %.0f", d, math.Floor(m), s), fmt.Sprintf("%.3f'", m)}
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

// formatsFor are the forms in which a copy may leave.
func formatsFor(a share.Audience) []Format {
	out := slices.Clone(Formats())
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
	for range 12 {
		source := secretReport(r)
		writeReport(t, file, source)
		for _, a := range []share.Audience{share.Public, share.Expert, share.Landowner, share.Partner, share.Recorder} {
			if a == share.Landowner { // words about other land, and names in notes, would rightly stop it
				for _, f := range source.Finds {
					f.Materials[0].Verbatim, f.Notes = "pewter", "still bright"
				}
				writeReport(t, file, source)
			}
			for _, format := range formatsFor(a) {
				s, err := Share(context.Background(), file, Options{To: format}, ShareOptions{Options: share.Options{Audience: a, Permissions: []string{"permission-1"}}})
				if err != nil {
					t.Fatal(err)
				}
				if len(s.Leaks) > 0 || len(s.Data) == 0 {
					t.Fatalf("%s for %s: leaks %v, in %v", format, a, s.Leaks, s.Spans)
				}
				for i := range s.Notices {
					n := &s.Notices[i]
					if n.Kind.Severity == notice.Error && (n.Kind.Spec == "5.13" || strings.HasPrefix(n.Kind.Code, "schema-")) {
						t.Fatalf("the copy for %s is not sound: %s %s %s", a, n.Kind.Code, n.Place(), n.Message)
					}
				}
				text := texts(t, s.Data)
				for _, secret := range []string{"loft", "pounds", "/Users/", "Hilda", "thornmere.example"} {
					if strings.Contains(text, secret) {
						t.Fatalf("%s for %s holds %q", format, a, secret)
					}
				}
				if a == share.Landowner && (strings.Contains(text, "SF-001") || strings.Contains(text, "Chapel Piece") || strings.Contains(text, source.Finds[1].Position.Latitude.String())) {
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

// readBack reads a copy again: its generalisation is stated, and the true place lies within.
func readBack(t *testing.T, source *find.Report, s *Shared, format Format) {
	t.Helper()
	copied, err := collect(context.Background(), "-", Options{From: format, Stdin: bytes.NewReader(s.Data)})
	if err != nil {
		t.Fatal(err)
	}
	if format != CSV && copied.Audience != s.Copy.Report.Audience {
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
			t.Fatalf("%s states %v and %v for find %s, not %v and %v", format, f.Generalised, f.Absent, f.Number, want.Generalised, want.Absent)
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

// Thousands of reports in the formats that are quickest to write.
func TestManyReportsLeakNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for i := range 3000 {
		source := secretReport(r)
		a := []share.Audience{share.Public, share.Expert}[i%2]
		c, err := share.Copy(source, share.Options{Audience: a})
		if err != nil {
			t.Fatal(err)
		}
		format := []Format{CSV, GeoJSON, Findslip}[i%3]
		var out bytes.Buffer
		if err := encode(&out, find.StreamOf(c.Report), Options{To: format}); err != nil {
			t.Fatal(err)
		}
		text := out.String()
		if a == share.Expert {
			text = strings.ReplaceAll(text, "SF-", "")
		}
		if err := attack(source, c.Report, text, format); err != nil {
			t.Fatalf("%s for %s: %v", format, a, err)
		}
	}
}

// A word that should not go is named by its place in the words, and not quoted.
func TestLeakInWords(t *testing.T) {
	source := secretReport(rand.New(rand.NewPCG(15, 16)))
	source.Finds[0].Name = "button from Chapel Piece"
	file := filepath.Join(t.TempDir(), "season.findslip.json")
	writeReport(t, file, source)
	s, err := Share(context.Background(), file, Options{To: XLSX}, ShareOptions{Options: share.Options{Audience: share.Public}})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Leaks) == 0 || s.Data != nil || len(s.Spans) != 1 {
		t.Fatalf("leaks %v, spans %v", s.Leaks, s.Spans)
	}
	if got := s.Spans[0]; got.Pointer != "/name" || got.From != 12 || got.To != 24 || got.Kind != "place" || strings.Contains(got.String(), "Chapel") {
		t.Errorf("the span is %+v", got)
	}
}

// Leaks looks through any file, with or without a report in it.
func TestLeaksOfAnyFile(t *testing.T) {
	dir := t.TempDir()
	source := secretReport(rand.New(rand.NewPCG(17, 18)))
	file := filepath.Join(dir, "season.findslip.json")
	writeReport(t, file, source)
	s, err := Share(context.Background(), file, Options{To: GeoJSON}, ShareOptions{Options: share.Options{Audience: share.Public}})
	if err != nil {
		t.Fatal(err)
	}
	p := source.Finds[1].Position
	for _, c := range []struct {
		name string
		data []byte
		kind string
	}{
		{"copy.geojson", s.Data, ""},
		{"letter.txt", []byte("We were at Long Furlong all day."), "place"},
		{"letter.html", []byte("<p>we were at Long&#32;Furlong</p>"), "place"},
		{"track.csv", []byte("number,latitude,longitude\n1," + p.Latitude.String() + "," + p.Longitude.String() + "\n"), "position"},
		{"harmless.txt", []byte("Nothing to see."), ""},
	} {
		name := filepath.Join(dir, c.name)
		if err := os.WriteFile(name, c.data, 0o644); err != nil {
			t.Fatal(err)
		}
		leaks, a, err := Leaks(context.Background(), name, file, "", Options{})
		if err != nil || a != share.Public {
			t.Fatal(err, a)
		}
		found := slices.ContainsFunc(leaks, func(l share.Leak) bool { return l.Kind == c.kind })
		if found == (c.kind == "") || c.kind == "" && len(leaks) > 0 {
			t.Errorf("%s: %v, want %q", c.name, leaks, c.kind)
		}
	}
}

// jpegWithOwner is a JPEG picture with an Exif segment that says who took it (CIPA DC-008).
func jpegWithOwner(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 4)), nil); err != nil {
		t.Fatal(err)
	}
	body := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x3b\x00\x02\x00\x00\x00\x04Hil\x00\x00\x00\x00\x00"
	return append([]byte("\xff\xd8\xff\xe1\x00"+string(rune(len(body)+2))+body), b.Bytes()[2:]...)
}

func TestPicturesOfACopy(t *testing.T) {
	dir := t.TempDir()
	source := secretReport(rand.New(rand.NewPCG(19, 20)))
	source.Finds[1].Media = []find.Media{{File: "Long Furlong.jpg", View: &find.Term{Code: "front"}}, {File: "a.heic", View: &find.Term{Code: "back"}}, {File: "hole.jpg", View: &find.Term{Code: "in-hole"}}}
	source.Finds[2].Media = []find.Media{{File: "Long Furlong.jpg", View: &find.Term{Code: "group"}}}
	source.Finds[3].Media = []find.Media{{File: "../secret.jpg"}}
	file := filepath.Join(dir, "season.findslip.json")
	writeReport(t, file, source)
	original := jpegWithOwner(t)
	for name, data := range map[string][]byte{"Long Furlong.jpg": original, "hole.jpg": original, "a.heic": []byte("\x00\x00\x00\x18ftypheic")} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	saved := map[string][]byte{}
	s, err := Share(context.Background(), file, Options{To: Findslip, Files: os.DirFS(dir)}, ShareOptions{Options: share.Options{Audience: share.Expert, Pictures: "ask-pictures"},
		SavePicture: func(name string, data []byte) error { saved[name] = data; return nil }})
	if err != nil || len(s.Leaks) > 0 {
		t.Fatal(err, s.Leaks)
	}
	if len(saved) != 1 || len(s.LeftOut) != 2 {
		t.Fatalf("saved are %d pictures, left out are %q", len(saved), s.LeftOut)
	}
	name := "ask-pictures/picture-001.jpg"
	if picture.Carries(original) == nil || picture.Carries(saved[name]) != nil || len(saved[name]) == 0 {
		t.Errorf("the copy of the picture carries %v", picture.Carries(saved[name]))
	}
	sum := sha256.Sum256(saved[name])
	finds := s.Copy.Report.Finds
	for _, m := range [][]find.Media{finds[1].Media, finds[2].Media} {
		if len(m) != 1 || m[0].File != name || m[0].SHA256 != hex.EncodeToString(sum[:]) {
			t.Errorf("the copy names %+v", m)
		}
	}
	if finds[3].Media != nil || finds[3].Absent["/media"] != "withheld" {
		t.Errorf("a picture outside stays named: %+v", finds[3].Media)
	}
	if now, err := os.ReadFile(filepath.Join(dir, "Long Furlong.jpg")); err != nil || !bytes.Equal(now, original) {
		t.Error("the original was touched")
	}
	if leaks, _, err := Leaks(context.Background(), filepath.Join(dir, "Long Furlong.jpg"), file, "", Options{}); err != nil || len(leaks) != 1 || leaks[0].Kind != "picture-owner" {
		t.Errorf("leaks of the original: %v, %v", leaks, err)
	}
}
