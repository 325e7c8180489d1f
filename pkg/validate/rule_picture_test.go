package validate

import (
	"encoding/binary"
	"testing"
	"testing/fstest"
)

// jpegOf builds the smallest JPEG that says when it was taken: two directories in the byte order
// given (TIFF 6.0 section 2), in an APP1 segment (CIPA DC-008 section 4.7); the tags are those of sections 4.6.3
// and 4.6.5.
func jpegOf(order binary.AppendByteOrder, mark, when string) []byte {
	tiff := order.AppendUint32([]byte(mark), 8)
	tiff = order.AppendUint16(tiff, 1) // first directory: one entry, the pointer to the second
	tiff = order.AppendUint16(tiff, 0x8769)
	tiff = order.AppendUint16(tiff, 4)
	tiff = order.AppendUint32(tiff, 1)
	tiff = order.AppendUint32(tiff, 26)
	tiff = order.AppendUint32(tiff, 0)
	tiff = order.AppendUint16(tiff, 1) // at 26: one entry, the text at 44
	tiff = order.AppendUint16(tiff, 0x9003)
	tiff = order.AppendUint16(tiff, 2)
	tiff = order.AppendUint32(tiff, uint32(len(when)+1))
	tiff = order.AppendUint32(tiff, 44)
	tiff = order.AppendUint32(tiff, 0)
	tiff = append(append(tiff, when...), 0)
	out := []byte{0xff, 0xd8, 0xff, 0xe0, 0, 4, 'J', 'F', 0xff, 0xe1}
	out = binary.BigEndian.AppendUint16(out, uint16(2+6+len(tiff)))
	return append(append(append(out, "Exif\x00\x00"...), tiff...), 0xff, 0xd9)
}

func TestTakenAt(t *testing.T) {
	little, big := jpegOf(binary.LittleEndian, "II*\x00", "2025:04:11 20:15:07"),
		jpegOf(binary.BigEndian, "MM\x00*", "2025:04:11 20:15:07")
	files := fstest.MapFS{
		"little.jpg": {Data: little}, "big.jpg": {Data: big}, "cut.jpg": {Data: little[:60]}, "empty.jpg": {},
		"text.jpg":          {Data: []byte("no picture")},
		"clock-not-set.jpg": {Data: jpegOf(binary.LittleEndian, "II*\x00", "0000:00:00 00:00:00")},
		"words.jpg":         {Data: jpegOf(binary.LittleEndian, "II*\x00", "    :  :     :  :  ")},
	}
	for name, want := range map[string]string{
		"little.jpg": "2025-04-11T20:15:07", "./big.jpg": "2025-04-11T20:15:07", "cut.jpg": "", "empty.jpg": "",
		"text.jpg":          "",
		"clock-not-set.jpg": "", "words.jpg": "", "nowhere.jpg": "", "../little.jpg": "",
	} {
		if got, ok := takenAt(&Case{Files: files, run: &frame{mostPicture: 1 << 20}}, name); ok != (want != "") || ok &&
			got != want {
			t.Errorf("%s: %q, %v, want %q", name, got, ok, want)
		}
	}
	if _, ok := takenAt(&Case{}, "little.jpg"); ok {
		t.Error("a picture was read from nowhere")
	}
}
