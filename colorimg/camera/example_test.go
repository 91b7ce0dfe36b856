package camera_test

import (
	"fmt"

	"hueward/colorimg/camera"
	"hueward/colorimg/cie"
	"hueward/colorimg/patches"
	"hueward/colorimg/render"
)

// A phone that adds contrast and saturation is learnt from its photo of a chart.
func ExampleFit() {
	var samples []patches.Sample
	for i, c := range render.ChartColors() {
		v := cie.SRGB.RGB(c.XYZ())
		seen := render.UsualPhone.Apply(cie.RGB{R: 0.8 * v.R, G: 0.8 * v.G, B: 0.8 * v.B})
		samples = append(samples, patches.Sample{ID: fmt.Sprint(i), Ref: c.XYZ(), RGB: [3]float64{seen.R, seen.G, seen.B}, Pixels: 100,
			Neutral: c.A*c.A+c.B*c.B < 4})
	}
	m, err := camera.Fit(samples, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m.Kind != camera.Gains, m.Error.Mean < 1)
	// Output: true true
}
