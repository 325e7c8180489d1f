package pipeline

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/picture"
	"github.com/findslip/findslip/pkg/share"
)

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
	source.Finds[2].Media = []find.Media{{File: "Long Furlong.jpg", View: &find.Term{Code: "group"}}}
	source.Finds[3].Media = []find.Media{{File: "../other.jpg"}}
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
