package photo_test

import (
	"context"
	"errors"
	"fmt"

	"hueward/colorimg/photo"
)

// A photo is opened as displayed, made small, in linear light.
func ExampleOpen() {
	p, err := photo.Open(context.Background(), "../testdata/spectral/garden_0002.jpg", nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(p.Width, p.Height, p.Profile, p.ProfileAssumed, p.Image.W)

	_, err = photo.Open(context.Background(), "../testdata/spectral/truth.json", nil)
	var r *photo.RefusedError
	fmt.Println(errors.As(err, &r), r.Kind)
	// Output:
	// 1600 1200 sRGB true 1024
	// true unsupported
}
