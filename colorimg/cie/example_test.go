package cie_test

import (
	"fmt"

	"hueward/colorimg/cie"
)

// The distance of two colours: the first pair of Sharma, Wu, Dalal 2005, table 1.
func ExampleDeltaE2000() {
	fmt.Printf("%.4f\n", cie.DeltaE2000(cie.Lab{L: 50, A: 2.6772, B: -79.7751}, cie.Lab{L: 50, A: 0, B: -82.7485}))
	// Output: 2.0425
}

func ExampleParseLab() {
	c, err := cie.ParseLab("76, 14, 38")
	fmt.Println(c, err)
	h := c.LCh()
	fmt.Printf("chroma %.1f, hue %.1f degrees, %s, %s\n", h.C, h.H, c.Hex(), cie.Name(c))
	// Output:
	// {76 14 38} <nil>
	// chroma 40.5, hue 69.8 degrees, #eab076, light orange
}

// Light that has a grey card's colour is daylight of about this temperature.
func ExampleDaylightDistance() {
	kelvin, duv := cie.DaylightDistance(cie.Daylight(5500))
	fmt.Printf("%.0f K, %.3f off daylight\n", kelvin, duv)
	// Output: 5500 K, 0.000 off daylight
}
