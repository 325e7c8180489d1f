package pipeline

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/share"
)

// A program that must end at once takes the pictures of a hand-over away too.
func TestUnfinishedHandOver(t *testing.T) {
	temp := t.TempDir()
	t.Setenv("TMPDIR", temp)
	o := Options{Unfinished: new(Unfinished)}
	begun := func() int {
		t.Helper()
		entries, err := os.ReadDir(temp)
		if err != nil {
			t.Fatal(err)
		}
		return len(entries)
	}
	for _, end := range []func(*Packed){func(*Packed) { o.Unfinished.Remove() }, func(p *Packed) {
		if err := p.Close(); err != nil {
			t.Error(err)
		}
		o.Unfinished.names.Range(func(name, _ any) bool { t.Errorf("%v is still taken for unfinished", name); return true })
	}} {
		p, err := Pack(t.Context(), "../../examples/thornmere/season.findslip.json", o, PackOptions{Name: "season"},
			ShareOptions{Options: share.Options{Audience: share.Recorder}})
		if err != nil {
			t.Fatal(err)
		}
		if begun() == 0 {
			t.Fatal("nothing was begun")
		}
		if end(p); begun() != 0 {
			t.Errorf("%d folders are left", begun())
		}
		p.Close()
	}
}

// A program that must end while a folder is half made leaves no half folder; nor is one that came meanwhile replaced.
func TestFolderWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "out")
	left := func() []string {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, e := range entries {
			names = append(names, e.Name())
		}
		return names
	}
	half := func(then func()) error {
		var u Unfinished
		return u.Folder(name, func(part string) error {
			if err := os.Mkdir(part, 0o755); err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(part, "a"), nil, 0o644); err != nil {
				return err
			}
			if _, err := os.Lstat(name); err == nil {
				t.Error("half a folder is seen")
			}
			if then == nil {
				u.Remove() // as a second signal does
				if names := left(); len(names) > 0 {
					t.Errorf("a program that ends leaves %v", names)
				}
				return errors.New("ended")
			}
			then()
			return nil
		})
	}
	if err := half(nil); err == nil || len(left()) > 0 {
		t.Errorf("error %v, and there is %v", err, left())
	}
	if err := half(func() { os.Mkdir(name, 0o755) }); !errors.Is(err, fs.ErrExist) {
		t.Errorf("error %v where a folder came meanwhile", err)
	}
	if entries, err := os.ReadDir(name); err != nil || len(entries) > 0 || len(left()) != 1 {
		t.Errorf("the folder that came meanwhile holds %v, %v, beside %v", entries, err, left())
	}
	if err := os.Remove(name); err != nil {
		t.Fatal(err)
	}
	if err := half(func() {}); err != nil || len(left()) != 1 {
		t.Errorf("error %v, and there is %v", err, left())
	}
}

// The register of a folder above is that of the log, unless everybody may write into that folder.
func TestRegisterAbove(t *testing.T) {
	const at = "2026-06-01T00:00:00Z"
	top := t.TempDir()
	folder := filepath.Join(top, "2026")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	above := filepath.Join(top, register.Name)
	if err := os.WriteFile(above, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	log := filepath.Join(folder, "log.xlsx")
	if r, err := OpenRegister(log, at, limit.Limits{}); err != nil || r.Name != above {
		t.Errorf("%+v, %v", r, err)
	}
	if err := os.Chmod(top, fs.ModeSticky|0o777); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(top); err != nil || info.Mode()&fs.ModeSticky == 0 {
		t.Skip("this system has no folders for all")
	}
	if r, err := OpenRegister(log, at, limit.Limits{}); err != nil || r.Name != filepath.Join(folder, register.Name) {
		t.Errorf("%+v, %v", r, err)
	}
}

// FuzzConvert reads anything as anything and writes it in every form: nothing panics, and what was
// written as a report is read again.
func FuzzConvert(f *testing.F) {
	for _, name := range []string{"testdata/valid/full.findslip.json", "testdata/valid/typical.findslip.json",
		"examples/thornmere/season.csv", "examples/thornmere/season.geojson",
		"examples/thornmere/season.gpx", "examples/thornmere/season.kml", "examples/thornmere/season.findslip.jsonl",
		"examples/thornmere/season.xlsx"} {
		raw, err := os.ReadFile("../../" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add("", raw)
	}
	f.Add("csv", []byte("No,Depth (in),Found,Grid ref\n1,8,12/4/26,SP 5270 9011\n2,more than a foot,,\n"))
	f.Add("gpx", []byte(`<gpx><wpt lat="52.5" lon="-1.2"><name>7</name></wpt></gpx>`))
	f.Add("kml",
		[]byte(`<kml><Document><Placemark><Point><coordinates>-1.2,52.5</coordinates></Point></Placemark></Document></kml>`))
	f.Fuzz(func(t *testing.T, from string, data []byte) {
		format, err := ParseFormat(from)
		if from != "" && err != nil || len(data) > 1<<18 {
			return
		}
		limits := limit.Limits{Record: 64 << 10, Header: 256 << 10, Rows: 1000, Finds: 1000, Expanded: 4 << 20,
			CellLength: 16 << 10}
		for _, to := range []Format{Findslip, JSONL, GeoJSON, GPX, KML, CSV} {
			var out bytes.Buffer
			r, err := Convert(context.Background(), "-", &out,
				Options{From: format, To: to, Stdin: bytes.NewReader(data), Limits: limits})
			if err != nil {
				continue
			}
			if to == GPX || to == CSV || to == KML || to == GeoJSON { // the words of people can be such as these forms refuse
				continue
			}
			if _, err := Check(context.Background(), "-", Options{From: to, Stdin: bytes.NewReader(out.Bytes())}); err != nil &&
				r.Notices.Count(1) == 0 {
				t.Fatalf("what was written as %s is not read: %v\n%.2000s", to, err, out.Bytes())
			}
		}
	})
}

// FuzzUnpack: a hand-over of any sort is unpacked and looked at, or refused.
func FuzzUnpack(f *testing.F) {
	f.Add([]byte("PK\x05\x06" + string(make([]byte, 18))))
	f.Fuzz(func(t *testing.T, data []byte) {
		dir := t.TempDir()
		name := dir + "/in.zip"
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
		_, _ = new(Unfinished).Unpack(t.Context(), name, dir+"/out", limit.Limits{BagFiles: 100, BagBytes: 1 << 20})
	})
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
	source.Finds[1].Media = []find.Media{{File: "Long Furlong.jpg", View: &find.Term{Code: "front"}},
		{File: "a.heic", View: &find.Term{Code: "back"}}, {File: "hole.jpg", View: &find.Term{Code: "in-hole"}}}
	source.Finds[2].Media = []find.Media{{File: "Long Furlong.jpg", View: &find.Term{Code: "back"}}}
	source.Finds[3].Media = []find.Media{{File: "../other.jpg", View: &find.Term{Code: "side"}}}
	file := filepath.Join(dir, "season.findslip.json")
	writeReport(t, file, source)
	original := jpegWithOwner(t)
	for name, data := range map[string][]byte{"Long Furlong.jpg": original, "hole.jpg": original,
		"a.heic": []byte("\x00\x00\x00\x18ftypheic")} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	saved := map[string][]byte{}
	s, err := Share(context.Background(), file, Options{To: Findslip, Files: os.DirFS(dir)},
		ShareOptions{Options: share.Options{Audience: share.Expert, Pictures: "ask-pictures"},
			HoldBack: true, SavePicture: func(name string, data []byte) error { saved[name] = data; return nil }})
	if err != nil || len(s.Leaks) > 0 {
		t.Fatal(err, s.Leaks)
	}
	if len(saved) != 1 || len(s.LeftOut) != 2 {
		t.Fatalf("saved are %d pictures, left out are %q", len(saved), s.LeftOut)
	}
	name := slices.Collect(maps.Keys(saved))[0]
	if !strings.HasPrefix(name, "ask-pictures/picture-") || strings.Contains(name, "SF") || strings.Contains(name,
		"Furlong") {
		t.Errorf("the picture is called %s", name)
	}
	if picture.Carries(original) == nil || picture.Carries(saved[name]) != nil || len(saved[name]) == 0 {
		t.Errorf("the copy of the picture carries %v", picture.Carries(saved[name]))
	}
	finds := map[string]*find.Find{}
	if err := s.Copy.Each(t.Context(), func(f *find.Find) error { finds[f.Number] = f; return nil }); err != nil {
		t.Fatal(err)
	}
	for _, m := range [][]find.Media{finds["SF-001"].Media, finds["SF-002"].Media} {
		if len(m) != 1 || m[0].File != name || m[0].SHA256 != "" {
			t.Errorf("the copy names %+v", m)
		}
	}
	if outside := finds["SF-003"]; outside.Media != nil || outside.Absent["/media"] != "withheld" {
		t.Errorf("a picture outside stays named: %+v", outside.Media)
	}
	if now, err := os.ReadFile(filepath.Join(dir, "Long Furlong.jpg")); err != nil || !bytes.Equal(now, original) {
		t.Error("the original was touched")
	}
	if looked, _, err := leaksIn(t, filepath.Join(dir, "Long Furlong.jpg"), file); err != nil || len(looked.Leaks) != 1 ||
		looked.Leaks[0].Kind != "picture-owner" {
		t.Errorf("leaks of the original: %v, %v", looked, err)
	}
}

// A finder's own hand-over has the pictures as they are; in a copy for others one that tells more
// than is seen stays behind.
func TestPicturesOfAHandOver(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "season.findslip.json")
	original := jpegWithOwner(t)
	if err := os.WriteFile(filepath.Join(dir, "a.jpg"), original, 0o644); err != nil {
		t.Fatal(err)
	}
	source := secretReport(rand.New(rand.NewPCG(25, 26)))
	source.Finds[0].Media = []find.Media{{File: "a.jpg"}}
	for audience, want := range map[string]int{"": 1, "self": 1, "recorder": 0} {
		source.Audience = audience
		writeReport(t, file, source)
		p, err := Pack(context.Background(), file, Options{}, PackOptions{Name: "handover"}, ShareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		var z bytes.Buffer
		if err := p.WriteZip(t.Context(), &z); err != nil {
			t.Fatal(err)
		}
		if err := p.Close(); err != nil {
			t.Fatal(err)
		}
		if p.Pictures != want || len(p.Held) != 1-want || strings.Contains(texts(t, z.Bytes()), "Exif") != (want == 1) {
			t.Errorf("%q: %d pictures go, %q stay", audience, p.Pictures, p.Held)
		}
	}
}
