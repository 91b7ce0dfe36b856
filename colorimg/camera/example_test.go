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
		seen := render.UsualPhone.Apply(cie.RGB{0.8 * v[0], 0.8 * v[1], 0.8 * v[2]})
		samples = append(samples, patches.Sample{ID: fmt.Sprint(i), Ref: c.XYZ(), RGB: seen, Pixels: 100,
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
