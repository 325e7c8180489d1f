package picture_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"

	"github.com/findslip/findslip/pkg/picture"
)

func ExampleClean() {
	var drawn bytes.Buffer
	if err := png.Encode(&drawn, image.NewGray(image.Rect(0, 0, 40, 20))); err != nil {
		fmt.Println(err)
		return
	}
	// The copy holds what is seen and nothing else, and here no side longer than ten pixels.
	clean, err := picture.Clean(context.Background(), drawn.Bytes(), picture.Options{MaxSide: 10})
	if err != nil {
		fmt.Println(err)
		return
	}
	size, err := png.DecodeConfig(bytes.NewReader(clean))
	fmt.Println(size.Width, size.Height, len(picture.Carries(clean)), err)

	_, err = picture.Clean(context.Background(), []byte("no picture"), picture.Options{})
	fmt.Println(err)
	// Output:
	// 10 5 0 <nil>
	// the picture is neither JPEG nor PNG
}

// What a picture tells beside what is seen, before it is handed on as it is.
func ExampleCarries() {
	var drawn bytes.Buffer
	if err := png.Encode(&drawn, image.NewGray(image.Rect(0, 0, 2, 2))); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(picture.Carries(drawn.Bytes()))
	fmt.Println(picture.Carries(append(drawn.Bytes(), "Hilda Whitethorn, 3 Mill Lane"...)))
	// Output:
	// []
	// [trailer]
}
