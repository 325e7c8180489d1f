package picture

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/testkit/heavy"
)

// corner is a picture of 48 by 32 with a red corner at the top left.
func corner() *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 48, 32))
	for y := range 32 {
		for x := range 48 {
			c := color.RGBA{240, 240, 240, 255}
			if x < 16 && y < 16 {
				c = color.RGBA{220, 10, 10, 255}
			}
			img.Set(x, y, c)
		}
	}
	return img
}

// withExif puts an Exif segment with an orientation, a serial number, an owner and a position into
// a JPEG file (CIPA DC-008, section 4.5.4).
func withExif(t *testing.T, img image.Image, how uint16, order binary.AppendByteOrder) []byte {
	t.Helper()
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, img, nil); err != nil {
		t.Fatal(err)
	}
	head := "II*\x00"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		head = "MM\x00*"
	}
	tiff := order.AppendUint32([]byte(head), 8)
	entry := func(tag, kind uint16, count, value uint32, short bool) {
		tiff = order.AppendUint16(tiff, tag)
		tiff = order.AppendUint16(tiff, kind)
		tiff = order.AppendUint32(tiff, count)
		if short {
			tiff = order.AppendUint16(tiff, uint16(value))
			tiff = order.AppendUint16(tiff, 0)
		} else {
			tiff = order.AppendUint32(tiff, value)
		}
	}
	tiff = order.AppendUint16(tiff, 4)
	entry(0x0112, 3, 1, uint32(how), true)
	entry(0x013b, 2, 4, 0x00424141, false)
	entry(0x8769, 4, 1, 62, false)
	entry(0x8825, 4, 1, 62, false)
	tiff = order.AppendUint32(tiff, 0)
	tiff = order.AppendUint16(tiff, 1)
	entry(0xa431, 2, 4, 0x00333231, false)
	tiff = order.AppendUint32(tiff, 0)
	body := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(len(body)+2))...)
	out = append(out, body...)
	return append(out, plain.Bytes()[2:]...)
}

func red(c color.Color) bool {
	r, g, _, _ := c.RGBA()
	return r > 0x9000 && g < 0x6000
}

// Where row 0 and column 0 of the stored picture lie for each value of tag 274 is the table of
// CIPA DC-008 section 4.6.4: 1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top,
// 6 right top, 7 right bottom, 8 left bottom.
func TestOrientation(t *testing.T) {
	corners := []string{"", "top left", "top right", "bottom right", "bottom left", "top left", "top right",
		"bottom right", "bottom left"}
	for how := 1; how <= 8; how++ {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			data := withExif(t, corner(), uint16(how), order)
			clean, err := Clean(t.Context(), data, Options{})
			if err != nil {
				t.Fatal(err)
			}
			img, err := jpeg.Decode(bytes.NewReader(clean))
			if err != nil {
				t.Fatal(err)
			}
			w, h := img.Bounds().Dx(), img.Bounds().Dy()
			if lies := how >= 5; lies != (w == 32 && h == 48) {
				t.Errorf("orientation %d gives %d by %d", how, w, h)
			}
			x, y := 4, 4
			if strings.Contains(corners[how], "right") {
				x = w - 5
			}
			if strings.Contains(corners[how], "bottom") {
				y = h - 5
			}
			if !red(img.At(x, y)) || red(img.At(w-1-x, h-1-y)) {
				t.Errorf("orientation %d does not bring the corner to the %s", how, corners[how])
			}
		}
	}
}

func TestCarries(t *testing.T) {
	data := withExif(t, corner(), 6, binary.BigEndian)
	if got := fmt.Sprint(Carries(data)); got != "[metadata owner position serial-number]" {
		t.Errorf("the picture carries %s", got)
	}
	if got := fmt.Sprint(Carries(append(data, "behind\xff\xd9"...))); !strings.Contains(got, "trailer") {
		t.Errorf("with something behind its end it carries %s", got)
	}
	clean, err := Clean(t.Context(), data, Options{MaxSide: 24})
	if err != nil || Carries(clean) != nil || bytes.Contains(clean, []byte("Exif")) || bytes.Contains(clean,
		[]byte("AAB")) {
		t.Errorf("the copy carries %v, %v", Carries(clean), err)
	}
	if c, err := jpeg.DecodeConfig(bytes.NewReader(clean)); err != nil || c.Height != 24 || c.Width != 16 {
		t.Errorf("the copy is %d by %d, %v", c.Width, c.Height, err)
	}
}

func TestPNG(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, corner()); err != nil {
		t.Fatal(err)
	}
	plain := b.Bytes()
	if Carries(plain) != nil {
		t.Errorf("a plain picture carries %v", Carries(plain))
	}
	end := bytes.Index(plain, []byte("IDAT")) - 4
	text := []byte("Author\x00finder-a")
	chunk := append(binary.BigEndian.AppendUint32(nil, uint32(len(text))), "tEXt"...)
	chunk = append(append(chunk, text...), 0x8b, 0x4f, 0x6b, 0x5a) // the sum is not looked at here
	dirty := append(append(append([]byte{}, plain[:end]...), chunk...), plain[end:]...)
	if got := fmt.Sprint(Carries(dirty)); got != "[words]" {
		t.Errorf("the picture carries %s", got)
	}
	clean, err := Clean(t.Context(), plain, Options{})
	if err != nil || Carries(clean) != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(clean))
	if err != nil || !red(img.At(3, 3)) || red(img.At(40, 3)) {
		t.Errorf("the copy shows something else: %v", err)
	}
}

func TestRefused(t *testing.T) {
	for _, text := range []string{"", "GIF89a", "II*\x00", "\x00\x00\x00\x18ftypheic"} {
		if _, err := Clean(t.Context(), []byte(text), Options{}); !errors.Is(err, ErrFormat) {
			t.Errorf("%q: %v", text, err)
		}
	}
	// A header that promises more pixels than are unpacked.
	bomb := []byte(pngHead + "\x00\x00\x00\rIHDR\x00\x01\x00\x00\x00\x01\x00\x00\x08\x06\x00\x00\x00\xd3\x4f\xc7\x0e")
	if _, err := Clean(t.Context(), bomb, Options{}); err == nil {
		t.Error("a picture of 65536 by 65536 is unpacked")
	}
}

// What is wiped out of a picture to nothing keeps its colour in the file of it; not in the copy.
func TestWipedOut(t *testing.T) {
	palette := color.Palette{color.NRGBA{10, 200, 77, 0}, color.NRGBA{10, 200, 77, 9}, color.NRGBA{10, 200, 77, 255}}
	paletted := image.NewPaletted(image.Rect(0, 0, 3, 1), palette)
	plain, wide := image.NewNRGBA(paletted.Rect), image.NewNRGBA64(paletted.Rect)
	for x, c := range palette {
		paletted.SetColorIndex(x, 0, uint8(x))
		plain.Set(x, 0, c)
		n := c.(color.NRGBA)
		wide.SetNRGBA64(x, 0, color.NRGBA64{uint16(n.R) * 257, uint16(n.G) * 257, uint16(n.B) * 257, uint16(n.A) * 257})
	}
	want := []color.NRGBA{{}, {255, 255, 255, 9}, {10, 200, 77, 255}}
	for _, img := range []image.Image{paletted, plain, wide} {
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		clean, err := Clean(t.Context(), b.Bytes(), Options{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := png.Decode(bytes.NewReader(clean))
		if err != nil {
			t.Fatal(err)
		}
		for x, c := range want {
			if pixel := color.NRGBAModel.Convert(got.At(x, 0)); pixel != c {
				t.Errorf("%T: pixel %d is %v, want %v", img, x, pixel, c)
			}
		}
	}
}

// counted is a context that is cancelled once it has been asked so many times.
type counted struct {
	context.Context
	left  int
	asked int
}

func (c *counted) Err() error {
	c.asked++
	if c.left--; c.left < 0 {
		return context.Canceled
	}
	return nil
}

// Unpacking, making smaller, turning and packing stop when they are told to.
func TestStopped(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 200, 300))
	for i := range img.Pix {
		img.Pix[i] = byte(i * i >> 3) // that does not pack well
	}
	var j, p bytes.Buffer
	if err := errors.Join(jpeg.Encode(&j, img, nil), png.Encode(&p, img)); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"JPEG": j.Bytes(), "PNG": p.Bytes()} {
		for _, side := range []int{0, 150} {
			whole := &counted{Context: t.Context(), left: 1 << 30}
			if _, err := Clean(whole, data, Options{MaxSide: side}); err != nil {
				t.Fatal(err)
			}
			if whole.asked < 10 || side > 0 && whole.asked < 150 {
				t.Errorf("%s with a side of %d asks %d times whether it is to go on", name, side, whole.asked)
			}
			for n := 0; n < whole.asked; n += heavy.Some(7, 1) {
				ctx := &counted{Context: t.Context(), left: n}
				if clean, err := Clean(ctx, data, Options{MaxSide: side}); !errors.Is(err, context.Canceled) || clean != nil {
					t.Errorf("%s, stopped when asked for the %dth time: %v", name, n+1, err)
				}
				if ctx.asked-n > 8 {
					t.Errorf("%s asks %d times more after it was stopped", name, ctx.asked-n)
				}
			}
		}
	}
	asked := &counted{Context: t.Context(), left: 1 << 30}
	if upright(asked, img, 6); asked.asked != 200 {
		t.Errorf("turning a picture that is then 200 high asks %d times", asked.asked)
	}
}

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
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x10Exif\x00\x00II*\x00\x08\x00\x00\x00"))
	f.Add([]byte(pngHead + "\x00\x00\x00\x00tEXt\x00\x00\x00\x00"))
	f.Add([]byte{0xff, 0xd8, 0xff, 0xff, 0xe1, 0, 2})
	f.Fuzz(func(t *testing.T, data []byte) {
		Carries(data)
		_ = orientation(exif(data))
		if at, ok := TakenAt(data); ok && len(at) != len("2026-04-12T21:30:05") {
			t.Errorf("%q is no time", at)
		}
	})
}
