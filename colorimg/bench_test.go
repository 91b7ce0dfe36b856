package colorimg_test

import (
	"bytes"
	"context"
	"image/jpeg"
	"sync"
	"testing"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// photo12MP is a phone's photo of 12 megapixels: a bloom among leaves, camera
// noise, quality 92, 4:2:0. It is drawn once for all benchmarks.
var photo12MP = sync.OnceValues(func() ([]byte, error) {
	s := render.Scene{Width: 4000, Height: 3000, Form: render.SemiDouble, Ground: render.Leaves, Petal: cie.Lab{L: 66, A: 37, B: 60},
		Diameter: 0.5, Kelvin: 5800, EV: -0.6, Seed: 12, Card: render.CardSpec{Border: render.LightBorder, Angle: 12}}
	var b bytes.Buffer
	_, err := s.JPEG(&b, 92)
	return b.Bytes(), err
})

func data12MP(b *testing.B) []byte {
	b.Helper()
	data, err := photo12MP()
	if err != nil {
		b.Fatal(err)
	}
	return data
}

func decode(b *testing.B, data []byte) {
	b.Helper()
	if _, err := jpeg.Decode(bytes.NewReader(data)); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkDecode12MP is what image/jpeg takes to decode the photo, alone.
func BenchmarkDecode12MP(b *testing.B) {
	data := data12MP(b)
	for b.Loop() {
		decode(b, data)
	}
}

// BenchmarkMeasure12MP is the same photo measured, decoding included: at most
// 1.6 times BenchmarkDecode12MP is wanted.
func BenchmarkMeasure12MP(b *testing.B) {
	name := write(b, "x.jpg", data12MP(b))
	for b.Loop() {
		measured(b, name, nil)
	}
}

// BenchmarkMeasureOverDecode takes both in turn, so that a busy machine slows
// both, and reports the median of their ratios.
func BenchmarkMeasureOverDecode(b *testing.B) {
	data := data12MP(b)
	name := write(b, "x.jpg", data)
	var ratio []float64
	for b.Loop() {
		t0 := time.Now()
		decode(b, data)
		t1 := time.Now()
		if _, err := colorimg.Measure(context.Background(), name, nil); err != nil {
			b.Fatal(err)
		}
		ratio = append(ratio, time.Since(t1).Seconds()/t1.Sub(t0).Seconds())
	}
	b.ReportMetric(quantile(ratio, 0.5), "measure/decode")
}
