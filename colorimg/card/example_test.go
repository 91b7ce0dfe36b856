package card_test

import (
	"context"
	"fmt"

	"hueward/colorimg/card"
	"hueward/colorimg/photo"
)

// The grey card of a photo, found and read.
func ExampleFind() {
	p, err := photo.Open(context.Background(), "../testdata/spectral/easy_0006.jpg", nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	found := card.Find(p.Image)
	if len(found) == 0 || found[0].Score < card.Accept {
		fmt.Println(card.ErrNone)
		return
	}
	patch := card.Read(p.Image, found[0].Quad, card.DefaultY)
	fmt.Printf("%.1f stops, gains of red, green, blue %.1f\n", patch.EV(), patch.Gains())
	// Output: -0.4 stops, gains of red, green, blue [1.4 1.3 1.2]
}
