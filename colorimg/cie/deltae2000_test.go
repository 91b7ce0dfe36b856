package cie

import (
	"math"
	"testing"

	"github.com/lucasb-eyer/go-colorful"
	"pgregory.net/rapid"
)

// sharma is table 1 of Sharma, Wu, Dalal 2005, Color Res. Appl. 30(1):21-30,
// doi:10.1002/col.20070, in the order of its pairs.
var sharma = []struct {
	x, y Lab
	want float64
}{
	{Lab{50, 2.6772, -79.7751}, Lab{50, 0, -82.7485}, 2.0425},
	{Lab{50, 3.1571, -77.2803}, Lab{50, 0, -82.7485}, 2.8615},
	{Lab{50, 2.8361, -74.0200}, Lab{50, 0, -82.7485}, 3.4412},
	{Lab{50, -1.3802, -84.2814}, Lab{50, 0, -82.7485}, 1.0000},
	{Lab{50, -1.1848, -84.8006}, Lab{50, 0, -82.7485}, 1.0000},
	{Lab{50, -0.9009, -85.5211}, Lab{50, 0, -82.7485}, 1.0000},
	{Lab{50, 0, 0}, Lab{50, -1, 2}, 2.3669},
	{Lab{50, -1, 2}, Lab{50, 0, 0}, 2.3669},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0009}, 7.1792},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0010}, 7.1792},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0011}, 7.2195},
	{Lab{50, 2.4900, -0.0010}, Lab{50, -2.4900, 0.0012}, 7.2195},
	{Lab{50, -0.0010, 2.4900}, Lab{50, 0.0009, -2.4900}, 4.8045},
	{Lab{50, -0.0010, 2.4900}, Lab{50, 0.0010, -2.4900}, 4.8045},
	{Lab{50, -0.0010, 2.4900}, Lab{50, 0.0011, -2.4900}, 4.7461},
	{Lab{50, 2.5, 0}, Lab{50, 0, -2.5}, 4.3065},
	{Lab{50, 2.5, 0}, Lab{73, 25, -18}, 27.1492},
	{Lab{50, 2.5, 0}, Lab{61, -5, 29}, 22.8977},
	{Lab{50, 2.5, 0}, Lab{56, -27, -3}, 31.9030},
	{Lab{50, 2.5, 0}, Lab{58, 24, 15}, 19.4535},
	{Lab{50, 2.5, 0}, Lab{50, 3.1736, 0.5854}, 1.0000},
	{Lab{50, 2.5, 0}, Lab{50, 3.2972, 0}, 1.0000},
	{Lab{50, 2.5, 0}, Lab{50, 1.8634, 0.5757}, 1.0000},
	{Lab{50, 2.5, 0}, Lab{50, 3.2592, 0.3350}, 1.0000},
	{Lab{60.2574, -34.0099, 36.2677}, Lab{60.4626, -34.1751, 39.4387}, 1.2644},
	{Lab{63.0109, -31.0961, -5.8663}, Lab{62.8187, -29.7946, -4.0864}, 1.2630},
	{Lab{61.2901, 3.7196, -5.3901}, Lab{61.4292, 2.2480, -4.9620}, 1.8731},
	{Lab{35.0831, -44.1164, 3.7933}, Lab{35.0232, -40.0716, 1.5901}, 1.8645},
	{Lab{22.7233, 20.0904, -46.6940}, Lab{23.0331, 14.9730, -42.5619}, 2.0373},
	{Lab{36.4612, 47.8580, 18.3852}, Lab{36.2715, 50.5065, 21.2231}, 1.4146},
	{Lab{90.8027, -2.0831, 1.4410}, Lab{91.1528, -1.6435, 0.0447}, 1.4441},
	{Lab{90.9257, -0.5406, -0.9208}, Lab{88.6381, -0.8985, -0.7239}, 1.5381},
	{Lab{6.7747, -0.2908, -2.4247}, Lab{5.8714, -0.0985, -2.2286}, 0.6377},
	{Lab{2.0776, 0.0795, -1.1350}, Lab{0.9033, -0.0636, -0.5514}, 0.9082},
}

// Pairs 10 and 14 have hues exactly 180° apart: the last bit of an arctangent
// picks the branch, and a fused multiply-add on another processor may pick the
// other one. If this test fails there and nowhere else, that is why.
func TestDeltaE2000Sharma(t *testing.T) {
	if len(sharma) != 34 {
		t.Fatalf("%d pairs, the table has 34", len(sharma))
	}
	for i, p := range sharma {
		if got := DeltaE2000(p.x, p.y); !near(got, p.want, 1e-4) {
			t.Errorf("DeltaE2000(pair %d) = %.4f, want %.4f ± 0.0001", i+1, got, p.want)
		}
		if got := DeltaE2000(p.y, p.x); !near(got, p.want, 1e-4) {
			t.Errorf("DeltaE2000(pair %d, swapped) = %.4f, want %.4f ± 0.0001", i+1, got, p.want)
		}
	}
}

// The parts of pairs where only one thing differs, so that the formula's
// weight is worked out by hand: SL and SC of eq. 15 and 16.
func TestCompareOnePart(t *testing.T) {
	sl := 1 + 0.015*100/math.Sqrt(20+100) // mean L* 60
	got := Compare(Lab{50, 0, 0}, Lab{70, 0, 0})
	if !near(got.Lightness, 20/sl, 1e-12) || got.Chroma != 0 || got.Hue != 0 || got.Total != got.Lightness {
		t.Errorf("Compare(grey, lighter grey) = %+v, want Lightness %.4f alone", got, 20/sl)
	}
	// b* is not changed by the a' of eq. 5, so C' is 10 and 20, its mean 15.
	sc := 1 + 0.045*15
	got = Compare(Lab{50, 0, 10}, Lab{50, 0, 20})
	if !near(got.Chroma, 10/sc, 1e-12) || got.Lightness != 0 || got.Hue != 0 || !near(got.Total, 10/sc, 1e-12) {
		t.Errorf("Compare(yellow, more vivid yellow) = %+v, want Chroma %.4f alone", got, 10/sc)
	}
}

func TestCompareSigns(t *testing.T) {
	for _, k := range []struct {
		what                   string
		x, y                   LCh
		lightness, chroma, hue float64
	}{
		{"darker", LCh{60, 40, 70}, LCh{55, 40, 70}, -1, 0, 0},
		{"duller", LCh{60, 40, 90}, LCh{60, 30, 90}, 0, -1, 0},
		{"orange to yellow", LCh{60, 40, 60}, LCh{60, 40, 90}, 0, 0, 1},
		{"orange to red", LCh{60, 40, 60}, LCh{60, 40, 30}, 0, 0, -1},
		{"magenta to red, over 0°", LCh{60, 40, 350}, LCh{60, 40, 10}, 0, 0, 1},
		{"red to magenta, over 0°", LCh{60, 40, 10}, LCh{60, 40, 350}, 0, 0, -1},
	} {
		d := Compare(k.x.Lab(), k.y.Lab())
		for _, p := range []struct {
			part      string
			got, want float64
		}{{"Lightness", d.Lightness, k.lightness}, {"Chroma", d.Chroma, k.chroma}, {"Hue", d.Hue, k.hue}} {
			// a' changes C' a little where only the hue moves.
			if p.want != 0 && p.got*p.want <= 0.5 || p.want == 0 && math.Abs(p.got) > 0.5 {
				t.Errorf("Compare(%s).%s = %.3f, want the sign of %g", k.what, p.part, p.got, p.want)
			}
		}
	}
}

func TestCompareLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawLab(t, "x"), drawLab(t, "y")
		d, e := Compare(x, y), Compare(y, x)
		if !(d.Total >= 0) {
			t.Fatalf("Compare(%v, %v).Total = %g, want 0 or more", x, y, d.Total)
		}
		if d.Total != DeltaE2000(x, y) || d.Total != e.Total || d.Rotation != e.Rotation {
			t.Fatalf("Compare(%v, %v) = %+v, swapped %+v", x, y, d, e)
		}
		if d.Lightness != -e.Lightness || d.Chroma != -e.Chroma || !near(d.Hue, -e.Hue, 1e-12) {
			t.Fatalf("Compare(%v, %v) = %+v, want the opposite of %+v", x, y, d, e)
		}
		sum := d.Lightness*d.Lightness + d.Chroma*d.Chroma + d.Hue*d.Hue + d.Rotation
		if !near(sum, d.Total*d.Total, 1e-9*(1+sum)) {
			t.Fatalf("parts of Compare(%v, %v) add up to %g, want %g", x, y, sum, d.Total*d.Total)
		}
		// |RT| is at most 2 sin 60°; eq. 17 to 19.
		if math.Abs(d.Rotation) > math.Sqrt(3)*math.Abs(d.Chroma*d.Hue)+1e-12 {
			t.Fatalf("Compare(%v, %v).Rotation = %g, want at most √3·|Chroma·Hue|", x, y, d.Rotation)
		}
		if z := Compare(x, x); z != (Difference{}) {
			t.Fatalf("Compare(%v, itself) = %+v, want all 0", x, z)
		}
	})
}

// go-colorful's own form goes through RGB and its own matrix; away from the hue
// cut it must say the same of the same two Lab colours.
func TestDeltaE2000Colorful(t *testing.T) {
	compared := 0
	for i := range 6000 {
		// A fixed walk over sRGB, coprime steps, so that all hues meet.
		p := colorful.Color{R: float64(i*37%256) / 255, G: float64(i*101%256) / 255, B: float64(i*197%256) / 255}
		q := colorful.Color{R: float64(i*53%256) / 255, G: float64(i*151%256) / 255, B: float64(i*11%256) / 255}
		x, y := fromColorful(p), fromColorful(q)
		if apart := math.Abs(x.LCh().H - y.LCh().H); math.Abs(apart-180) < 2 {
			continue // the cut: the a' of eq. 5 turns hues a little
		}
		compared++
		if got, want := DeltaE2000(x, y), 100*p.DistanceCIEDE2000(q); !near(got, want, 1e-9) {
			t.Errorf("DeltaE2000(%v, %v) = %.10f, go-colorful %.10f", x, y, got, want)
		}
	}
	if compared < 5500 {
		t.Errorf("only %d pairs compared", compared)
	}
}

func fromColorful(c colorful.Color) Lab {
	l, a, b := c.Lab() // scaled to 0…1
	return Lab{100 * l, 100 * a, 100 * b}
}

func TestDeltaE2000Awkward(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := Lab{60, 20, 30}
	for _, x := range []Lab{
		{nan, 0, 0}, {0, nan, 0}, {0, 0, nan}, {nan, nan, nan},
		{inf, 0, 0}, {0, inf, 0}, {0, 0, -inf}, {inf, inf, inf},
	} {
		if d, e := DeltaE2000(x, good), DeltaE2000(good, x); !math.IsNaN(d) || !math.IsNaN(e) {
			t.Errorf("DeltaE2000(%v, %v) = %g, swapped %g, want NaN", x, good, d, e)
		}
	}
	// Chroma to the seventh power must not overflow into NaN.
	if d := DeltaE2000(Lab{50, 1e60, 0}, Lab{50, 0, 1e60}); math.IsNaN(d) || d <= 0 {
		t.Errorf("DeltaE2000 of two enormous chromas = %g, want a number", d)
	}
	// A negative zero is no hue.
	z := math.Copysign(0, -1)
	if d, e := Compare(Lab{50, z, z}, good), Compare(Lab{50, 0, 0}, good); d != e {
		t.Errorf("Compare(grey of negative zeros) = %+v, want %+v", d, e)
	}
}

// What is left out for speed must not show: the formula as written is the other opinion, near each other, far apart,
// near greys, and near opposite hues.
func TestCompareFastAsSlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawLab(t, "x"), drawLab(t, "y")
		switch rapid.IntRange(0, 2).Draw(t, "how") {
		case 0:
			y = Lab{x.L + y.L/1e6, x.A + y.A/1e6, x.B + y.B/1e6}
		case 1:
			y = Lab{y.L, -0.7*x.A + y.A/1e3, -0.7*x.B + y.B/1e3}
		}
		fast, ok := compareFast(x, y)
		if !ok {
			return
		}
		slow := compareSlow(x, y)
		for _, p := range [][2]float64{{fast.Total, slow.Total}, {fast.Hue, slow.Hue}, {fast.Chroma, slow.Chroma}} {
			if !near(p[0], p[1], 1e-10*(1+slow.Total)) {
				t.Fatalf("compareFast(%v, %v) = %+v, compareSlow %+v", x, y, fast, slow)
			}
		}
	})
}

func BenchmarkDeltaE2000(b *testing.B) {
	i, sum := 0, 0.0
	for b.Loop() {
		p := &sharma[i%len(sharma)]
		sum += DeltaE2000(p.x, p.y)
		i++
	}
	_ = sum
}

// BenchmarkDeltaE2000Colorful is the same through go-colorful, for comparison.
func BenchmarkDeltaE2000Colorful(b *testing.B) {
	p, q := colorful.Color{R: 0.9, G: 0.6, B: 0.3}, colorful.Color{R: 0.8, G: 0.5, B: 0.4}
	for b.Loop() {
		_ = p.DistanceCIEDE2000(q)
	}
}
