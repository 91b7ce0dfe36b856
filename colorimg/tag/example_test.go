package tag_test

import (
	"fmt"

	"hueward/colorimg/tag"
)

// What a plant's tag says in its code, and that read again.
func ExampleParse() {
	text := tag.Payload{Plant: "M-07", MM: 24}.String()
	p, ok := tag.Parse(text)
	fmt.Println(text, ok, p.Plant, p.MM)
	// Output: HUEWARD:24:M-07 true M-07 24
}

// A code 24 mm wide, seen from straight above, gives the scale of the paper.
func ExampleTag_PixelsPerMM() {
	t := tag.Tag{Corners: [4][2]float64{{100, 100}, {220, 100}, {220, 220}, {100, 220}}}
	fmt.Println(t.PixelsPerMM(24), "pixels a millimetre")
	// Output: 5 pixels a millimetre
}
