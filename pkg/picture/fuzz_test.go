package picture

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"image/png"
	"testing"
)

// FuzzClean: a copy carries nothing, is a picture of the same sort, and is cleaned to itself in size.
func FuzzClean(f *testing.F) {
	var dot bytes.Buffer
	if err := png.Encode(&dot, image.NewGray(image.Rect(0, 0, 3, 2))); err != nil {
		f.Fatal(err)
	}
	f.Add(dot.Bytes(), 0)
	f.Add([]byte("\xff\xd8\xff\xd9"), 2)
	f.Add([]byte(pngHead+"\x00\x00\x00\rIHDR\x7f\xff\xff\xff\x7f\xff\xff\xff\x08\x06\x00\x00\x00"), 1)
	f.Fuzz(func(t *testing.T, data []byte, side int) {
		clean, err := Clean(t.Context(), data, Options{MaxSide: side, MaxPixels: 1 << 16})
		if err != nil {
			return
		}
		if Carries(clean) != nil || Extension(clean) != Extension(data) {
			t.Fatalf("the copy carries %v and is %s", Carries(clean), Extension(clean))
		}
		c, _, err := image.DecodeConfig(bytes.NewReader(clean))
		if err != nil || side > 0 && max(c.Width, c.Height) > side {
			t.Fatalf("the copy is %d by %d: %v", c.Width, c.Height, err)
		}
	})
}

// FuzzCleanTurned puts anything into the place of the metadata of a sound picture.
func FuzzCleanTurned(f *testing.F) {
	f.Add([]byte("II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x06\x00\x00\x00\x00\x00\x00\x00"))
	f.Add([]byte("MM\x00*\x00\x00\x00\x08\xff\xff"))
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, corner(), nil); err != nil {
		f.Fatal(err)
	}
	data := plain.Bytes()
	f.Fuzz(func(t *testing.T, tiff []byte) {
		if len(tiff) > 60000 {
			return
		}
		body := append([]byte("Exif\x00\x00"), tiff...)
		dirty := append([]byte("\xff\xd8\xff\xe1"), binary.BigEndian.AppendUint16(nil, uint16(len(body)+2))...)
		dirty = append(append(dirty, body...), data[2:]...)
		clean, err := Clean(t.Context(), dirty, Options{})
		if err != nil || Carries(clean) != nil {
			t.Fatalf("%v, carries %v", err, Carries(clean))
		}
	})
}
