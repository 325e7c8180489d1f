// Package picture makes copies of pictures that say nothing but what is to be seen on them, and
// says what a picture carries beside that. It knows nothing of finds.
//
//	clean, err := picture.Clean(ctx, data, picture.Options{})
//	carried := picture.Carries(data) // position, owner, ...
//
// # Terms
//
// What is seen on a picture is its own affair: a signpost in the background is not found here.
//
// This package is unstable: it may change between any two versions.
package picture

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
)

// quality is the JPEG quality of copies.
const quality = 92

// maxPixels bounds what is unpacked of one picture. A pixel can take a dozen bytes while it is
// turned upright.
const maxPixels = 25_000_000

// Options of Clean. The zero value keeps the size.
type Options struct {
	MaxSide   int   // longer side in pixels; 0: as it is. Nothing is made larger.
	MaxPixels int64 // of the picture, before it is unpacked; 0: 25 million
}

// ErrFormat says that a picture is neither JPEG nor PNG, so that no clean copy can be made of it.
var ErrFormat = errors.New("the picture is neither JPEG nor PNG")

// ErrPixels says that a picture has more pixels than are unpacked.
var ErrPixels = errors.New("the picture has too many pixels")

// Extension returns the extension for the format of a picture, .jpg or .png, empty if it is
// neither.
func Extension(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		return ".jpg"
	case bytes.HasPrefix(data, []byte(pngHead)):
		return ".png"
	}
	return ""
}

// Clean returns a new picture with the same pixels, turned upright as the orientation of the source
// says, and nothing else: no metadata, no colour profile, no preview, nothing after its end. The
// source is left alone. JPEG stays JPEG, of quality 92, and PNG stays PNG. The errors are ErrFormat,
// ErrPixels, and those of a picture that is damaged.
func Clean(ctx context.Context, data []byte, o Options) ([]byte, error) {
	clean, err := cleaned(ctx, data, o)
	if stopped := ctx.Err(); stopped != nil {
		return nil, fmt.Errorf("cleaning the picture: %w", stopped)
	}
	return clean, err
}

func cleaned(ctx context.Context, data []byte, o Options) ([]byte, error) {
	ext := Extension(data)
	if ext == "" {
		return nil, ErrFormat
	}
	c, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("the picture is damaged: %w", err)
	}
	if most := cmp.Or(o.MaxPixels, maxPixels); c.Width <= 0 || c.Height <= 0 || int64(c.Width) > most/int64(c.Height) {
		return nil, ErrPixels
	}
	img, _, err := image.Decode(stopping{ctx, bytes.NewReader(data), nil})
	if err != nil {
		return nil, fmt.Errorf("the picture is damaged: %w", err)
	}
	img = fit(ctx, img, o.MaxSide)
	if ext == ".jpg" {
		img = upright(ctx, img, orientation(exif(data)))
	}
	img = shownOnly(ctx, img)
	var out bytes.Buffer
	to := stopping{ctx, nil, &out}
	if ext == ".jpg" {
		err = jpeg.Encode(to, img, &jpeg.Options{Quality: quality})
	} else {
		err = png.Encode(to, img)
	}
	if err != nil {
		return nil, fmt.Errorf("writing the picture: %w", err)
	}
	if left := Carries(out.Bytes()); len(left) > 0 {
		return nil, fmt.Errorf("the copy still carries %v", left)
	}
	return out.Bytes(), nil
}

// shownOnly takes away the colour of what is not seen: what was wiped out of a picture is often still in its
// file, under an alpha of 0 or near it. A pixel of alpha 0 becomes nothing, and one of less than half white.
func shownOnly(ctx context.Context, img image.Image) image.Image {
	if opaque, ok := img.(interface{ Opaque() bool }); ok && opaque.Opaque() {
		return img
	}
	b := img.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		if ctx.Err() != nil {
			break // Clean says so
		}
		for x := range b.Dx() {
			c := color.NRGBAModel.Convert(img.At(b.Min.X+x, b.Min.Y+y)).(color.NRGBA)
			switch {
			case c.A == 0:
				c = color.NRGBA{}
			case c.A < 128:
				c.R, c.G, c.B = 255, 255, 255
			}
			out.SetNRGBA(x, y, c)
		}
	}
	return out
}

// stopping is a reader or a writer that ends with the error of its context.
type stopping struct {
	ctx context.Context
	r   io.Reader
	w   io.Writer
}

func (s stopping) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}

func (s stopping) Write(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.w.Write(p)
}

// upright applies an orientation of Exif (CIPA DC-008, tag 274): 2 and 4 are mirrored, 3 is upside
// down, 5 to 8 lie on a side.
func upright(ctx context.Context, img image.Image, how int) image.Image {
	if how < 2 || how > 8 {
		return img
	}
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	if how >= 5 {
		w, h = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		if ctx.Err() != nil {
			break // Clean says so
		}
		for x := range w {
			sx, sy := source(x, y, w, h, how)
			out.Set(x, y, img.At(b.Min.X+sx, b.Min.Y+sy))
		}
	}
	return out
}

// source tells which pixel of the source comes to x, y of the upright picture of size w by h.
func source(x, y, w, h, how int) (int, int) {
	switch how {
	case 2: // mirrored left to right
		return w - 1 - x, y
	case 3: // upside down
		return w - 1 - x, h - 1 - y
	case 4: // mirrored top to bottom
		return x, h - 1 - y
	case 5: // rows are columns
		return y, x
	case 6: // to be turned clockwise
		return y, w - 1 - x
	case 7:
		return h - 1 - y, w - 1 - x
	case 8: // to be turned against the clock
		return h - 1 - y, x
	}
	return x, y
}

// fit makes a picture smaller by the mean of the pixels that fall together.
func fit(ctx context.Context, img image.Image, side int) image.Image {
	b := img.Bounds()
	longest := max(b.Dx(), b.Dy())
	if side <= 0 || longest <= side {
		return img
	}
	w, h := max(1, b.Dx()*side/longest), max(1, b.Dy()*side/longest)
	out := image.NewRGBA64(image.Rect(0, 0, w, h))
	for y := range h {
		if ctx.Err() != nil {
			break // Clean says so
		}
		y0, y1 := b.Min.Y+y*b.Dy()/h, b.Min.Y+max((y+1)*b.Dy()/h, y*b.Dy()/h+1)
		for x := range w {
			x0, x1 := b.Min.X+x*b.Dx()/w, b.Min.X+max((x+1)*b.Dx()/w, x*b.Dx()/w+1)
			var r, g, bl, a, n uint64
			for yy := y0; yy < y1; yy++ {
				for xx := x0; xx < x1; xx++ {
					pr, pg, pb, pa := img.At(xx, yy).RGBA()
					r, g, bl, a, n = r+uint64(pr), g+uint64(pg), bl+uint64(pb), a+uint64(pa), n+1
				}
			}
			out.SetRGBA64(x, y, color.RGBA64{R: uint16(r / n), G: uint16(g / n), B: uint16(bl / n), A: uint16(a / n)})
		}
	}
	return out
}
