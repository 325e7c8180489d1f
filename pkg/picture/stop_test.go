package picture

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/jpeg"
	"image/png"
	"testing"

	"github.com/findslip/findslip/pkg/testkit/heavy"
)

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
