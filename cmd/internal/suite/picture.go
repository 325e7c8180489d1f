package suite

import (
	"bytes"
	"fmt"
	"image"
	_ "image/jpeg" // pictures of the suite are of these two formats
	_ "image/png"
)

// A Picture is what a picture shows.
type Picture struct {
	Width   int       `json:"width"`
	Height  int       `json:"height"`
	Corners [4]string `json:"corners"` // red, green, blue or white: top left, top right, bottom left, bottom right
}

// wrong says how a picture differs from what it is to show.
func (p *Picture) wrong(text []byte) []string {
	img, _, err := image.Decode(bytes.NewReader(text))
	if err != nil {
		return []string{"the output is no picture in JPEG or PNG"}
	}
	b := img.Bounds()
	if b.Dx() != p.Width || b.Dy() != p.Height {
		return []string{fmt.Sprintf("the picture is %d wide and %d high, not %d and %d", b.Dx(), b.Dy(), p.Width, p.Height)}
	}
	var wrong []string
	for i, want := range p.Corners {
		x, y := b.Min.X+b.Dx()/4, b.Min.Y+b.Dy()/4 // in the middle of a quarter
		if i%2 == 1 {
			x += b.Dx() / 2
		}
		if i >= 2 {
			y += b.Dy() / 2
		}
		if got := colourOf(img, x, y); got != want {
			wrong = append(wrong, fmt.Sprintf("corner %d of the picture is %s, not %s", i+1, got, want))
		}
	}
	return wrong
}

// colourOf names the colour of a point.
func colourOf(img image.Image, x, y int) string {
	r, g, b, _ := img.At(x, y).RGBA()
	const half = 0x8000
	switch {
	case r > half && g > half && b > half:
		return "white"
	case r > half && g < half && b < half:
		return "red"
	case r < half && g > half && b < half:
		return "green"
	case r < half && g < half && b > half:
		return "blue"
	}
	return "another"
}
