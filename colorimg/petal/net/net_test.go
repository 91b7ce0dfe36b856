package net

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"testing"
)

// kept reads the inputs that learn.py kept and the logits that PyTorch gave.
func kept(t testing.TB) (in, out []float32) {
	b, err := os.ReadFile("testdata/kept.bin")
	if err != nil {
		t.Fatal(err)
	}
	all := make([]float32, len(b)/4)
	if err := binary.Read(bytes.NewReader(b), binary.LittleEndian, all); err != nil {
		t.Fatal(err)
	}
	n := 2 * Inputs * 48 * 64
	return all[:n], all[n:]
}

// The probabilities are those of PyTorch on the same inputs: its logits, kept by
// learn/learn.py, through the softmax by definition.
func TestRunEqualsPyTorch(t *testing.T) {
	const h, w = 48, 64
	in, want := kept(t)
	worst := 0.0
	for k := range 2 {
		got := Finder().Run(in[k*Inputs*h*w:(k+1)*Inputs*h*w], h, w)
		logits := want[k*Classes*h*w : (k+1)*Classes*h*w]
		for i := range h * w {
			sum := 0.0
			for c := range Classes {
				sum += math.Exp(float64(logits[c*h*w+i]))
			}
			for c := range Classes {
				d := math.Abs(float64(got[c*h*w+i]) - math.Exp(float64(logits[c*h*w+i]))/sum)
				if !(d <= worst) {
					worst = d
				}
			}
		}
	}
	t.Logf("largest difference %.1e", worst)
	if !(worst <= 1e-3) {
		t.Errorf("largest difference from PyTorch's probabilities %.2g, want 0.001 at most", worst)
	}
}

func TestHalf(t *testing.T) {
	// Values of IEEE 754 binary16, from memory.
	for b, want := range map[uint16]float32{
		0: 0, 0x3c00: 1, 0xc000: -2, 0x3555: 0.33325195, 0x7bff: 65504, 0x0001: 5.9604645e-8, 0x8400: -6.1035156e-5,
	} {
		if got := half(b); got != want {
			t.Errorf("half(%#x) = %g, want %g", b, got, want)
		}
	}
}

func TestReadOtherWeights(t *testing.T) {
	for name, b := range map[string][]byte{"none": nil, "too few": finder[:len(finder)-2], "too many": append(bytes.Clone(finder), 0, 0)} {
		if _, err := read(b); err != errWeights {
			t.Errorf("%s: error %v, want %v", name, err, errWeights)
		}
	}
}

func BenchmarkRun(b *testing.B) {
	for _, side := range []int{96, 144} {
		in := make([]float32, Inputs*side*side)
		b.Run("", func(b *testing.B) {
			for range b.N {
				Finder().Run(in, side, side)
			}
		})
	}
}
