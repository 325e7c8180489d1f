package picture

import (
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// placed builds a TIFF structure with a position of 36° 45' 7.5" S, 143° 55' 16.5" E, looking south-west by the compass
// and good to 4.5 m: tags of CIPA DC-008 section 4.6.6.
func placed(south string, degree uint32) []byte {
	b := binary.BigEndian
	out := b.AppendUint32([]byte("MM\x00*"), 8)
	entry := func(tag, kind uint16, count uint32, value []byte) {
		out = b.AppendUint16(out, tag)
		out = b.AppendUint16(out, kind)
		out = b.AppendUint32(out, count)
		out = append(out, value...)
	}
	at := func(n uint32) []byte { return b.AppendUint32(nil, n) }
	out = b.AppendUint16(out, 1)
	entry(0x8825, 4, 1, at(26))
	out = b.AppendUint32(out, 0)
	out = b.AppendUint16(out, 7) // at 26: 2 + 7*12 + 4 bytes, up to 116
	entry(1, 2, 2, []byte(south+"\x00\x00\x00"))
	entry(2, 5, 3, at(116))
	entry(3, 2, 2, []byte("E\x00\x00\x00"))
	entry(4, 5, 3, at(140))
	entry(0x10, 2, 2, []byte("M\x00\x00\x00"))
	entry(0x11, 5, 1, at(164))
	entry(0x1f, 5, 1, at(172))
	out = b.AppendUint32(out, 0)
	for _, n := range []uint32{degree, 1, 45 * degree / 36, 1, 75 * degree / 36, 10, 143 * degree / 36, 1,
		55 * degree / 36, 1, 165 * degree / 36, 10, 450, 2, 9, 2} {
		out = b.AppendUint32(out, n)
	}
	return out
}

func TestRead(t *testing.T) {
	told, ok := Read(placed("S", 36))
	if !ok || !told.Position || math.Abs(told.Latitude+36.7520833) > 1e-6 || math.Abs(told.Longitude-143.9212500) > 1e-6 {
		t.Errorf("%+v, %v", told, ok)
	}
	if told.Accuracy == nil || *told.Accuracy != 4.5 || told.Direction == nil || *told.Direction != 225 || !told.Magnetic {
		t.Errorf("accuracy %v, direction %v", told.Accuracy, told.Direction)
	}
	if told, _ := Read(placed("S", 0)); told.Position {
		t.Errorf("zeros are a position: %+v", told)
	}
	if told, _ := Read(telling()); told.Position || told.At != "2026-04-12T21:30:05" {
		t.Errorf("%+v", told)
	}
	if told, ok := Read([]byte("no picture")); ok || told != (Told{}) {
		t.Errorf("%+v", told)
	}
}

func TestMatch(t *testing.T) {
	names := []string{"014.jpg", "14_b.jpg", "LF-15 front.jpg", "lf0015.png", "IMG_0014.jpg", "DSC00014.JPG", "16.jpg",
		"17a.jpg", "2024-05-12.jpg", "P001.jpg", "bell.jpg", "20a.jpg"}
	got := Match(names, []string{"14", "LF-15", "16", "016", "17", "20A", "20"})
	want := map[string][]string{"14": {"014.jpg", "14_b.jpg"}, "LF-15": {"LF-15 front.jpg", "lf0015.png"},
		"17": {"17a.jpg"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// telling builds a TIFF structure (TIFF 6.0 section 2) that tells an owner, a time of taking and a
// position: tags of CIPA DC-008 sections 4.6.3 to 4.6.6.
func telling() []byte {
	b := binary.LittleEndian
	out := b.AppendUint32([]byte("II*\x00"), 8)
	entry := func(tag, kind uint16, count, value uint32) {
		out = b.AppendUint16(out, tag)
		out = b.AppendUint16(out, kind)
		out = b.AppendUint32(out, count)
		out = b.AppendUint32(out, value)
	}
	out = b.AppendUint16(out, 3) // at 8: three entries, 42 bytes
	entry(0x013b, 2, 4, 0x00424141)
	entry(0x8769, 4, 1, 50)
	entry(0x8825, 4, 1, 88)
	out = b.AppendUint32(out, 0)
	out = b.AppendUint16(out, 1) // at 50: Exif, 18 bytes
	entry(0x9003, 2, 20, 68)
	out = b.AppendUint32(out, 0)
	out = append(out, "2026:04:12 21:30:05\x00"...) // at 68
	out = b.AppendUint16(out, 1)                    // at 88: GPS, north
	entry(0x0001, 2, 2, 'N')
	return b.AppendUint32(out, 0)
}

// webp wraps it as the container of WebP does (RFC 9649 section 2.7).
func webp(tiff []byte) []byte {
	b := binary.LittleEndian
	body := append([]byte("WEBPVP8X"), 10, 0, 0, 0, 0x08, 0, 0, 0, 0, 0, 0, 0, 0, 0)
	body = append(body, "EXIF"...)
	body = b.AppendUint32(body, uint32(len(tiff)))
	body = append(body, tiff...)
	return append(b.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
}

func TestPicturesOfTelephonesAreLookedInto(t *testing.T) {
	for name, data := range map[string][]byte{"webp": webp(telling()), "tiff": telling()} {
		if !Known(data) {
			t.Errorf("%s is not known", name)
		}
		if got := Carries(data); !slices.Contains(got, "position") || !slices.Contains(got, "owner") || !slices.Contains(got,
			"time") {
			t.Errorf("%s carries %q", name, got)
		}
		if got, ok := TakenAt(data); !ok || got != "2026-04-12T21:30:05" {
			t.Errorf("%s was taken at %q", name, got)
		}
	}
	for _, text := range []string{"", "no picture", "RIFF....WAVE", "....ftypisom"} {
		if Known([]byte(text)) {
			t.Errorf("%q is known", text)
		}
	}
}

// A damaged picture never passes for a clean one.
func TestDamagedPicturesDoNotPass(t *testing.T) {
	for cut := 13; cut < len(webp(telling())); cut++ {
		data := webp(telling())[:cut]
		TakenAt(data)
		if got := Carries(data); cut > 60 && len(got) == 0 {
			t.Errorf("cut at %d it carries nothing", cut)
		}
	}
}

// FuzzMetadata: whatever the bytes, no panic, and a time is one.
func FuzzMetadata(f *testing.F) {
	f.Add(webp(telling()))
	f.Add(telling())
	f.Add([]byte("....ftypheic"))
	f.Add([]byte{0xff, 0xd8, 0xff, 0xff, 0xe1, 0, 2})
	f.Fuzz(func(t *testing.T, data []byte) {
		Carries(data)
		if at, ok := TakenAt(data); ok && len(at) != len("2026-04-12T21:30:05") {
			t.Errorf("%q is no time", at)
		}
	})
}
