package picture

import (
	"encoding/binary"
	"math"
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
