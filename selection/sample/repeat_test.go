package sample

import (
	"math"
	"testing"
)

func TestRepeatabilityShroutFleiss(t *testing.T) {
	t.Parallel()
	// Shrout and Fleiss 1979, table 2: 6 targets by 4 judges; ICC(1,1) is 0.17
	// in their table 4. F = 1.79 on 5 and 18 df, and the interval -0.13 to 0.72,
	// as the R package psych prints them for the same table. From memory.
	table := [][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}
	r := Repeatability(table)
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"ICC(1,1)", r.Value, 0.17}, {"low, cut at 0", r.Low, 0}, {"high", r.High, 0.72}} {
		if math.Abs(c.got-c.want) > 0.005 {
			t.Errorf("%s = %.4f, want %.2f ± 0.005", c.what, c.got, c.want)
		}
	}
	if !r.Known || r.Plants != 6 || r.Photos != 24 {
		t.Errorf("Repeatability = %+v, want known, from 24 photos of 6 plants", r)
	}
}

func TestRepeatabilityDyestuff(t *testing.T) {
	t.Parallel()
	// Davies and Goldsmith 1972, dye-stuff yields, 6 batches of 5: batch
	// variance 1764.05, residual 2451.25 (REML, which is the analysis of
	// variance for groups of one size). Data from memory of lme4's Dyestuff.
	table := [][]float64{
		{1545, 1440, 1440, 1520, 1580}, {1540, 1555, 1490, 1560, 1495}, {1595, 1550, 1605, 1510, 1560},
		{1445, 1440, 1595, 1465, 1545}, {1595, 1630, 1515, 1635, 1625}, {1520, 1455, 1450, 1480, 1445},
	}
	want := 1764.05 / (1764.05 + 2451.25)
	if got := Repeatability(table).Value; math.Abs(got-want) > 1e-5 {
		t.Errorf("Repeatability(Dyestuff) = %.6f, want %.6f ± 0.00001", got, want)
	}
}

func TestRepeatabilityAwkward(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		groups [][]float64
		known  bool
		value  float64
	}{
		{"nothing", nil, false, 0},
		{"one plant", [][]float64{{1, 2, 3}}, false, 0},
		{"one photo each", [][]float64{{1}, {2}, {3}}, false, 0},
		{"all equal", [][]float64{{2, 2}, {2, 2}}, false, 0},
		{"perfect", [][]float64{{1, 1}, {2, 2}}, true, 1},
		{"worse than chance", [][]float64{{1, 5}, {5, 1}}, true, 0},
		{"an empty plant", [][]float64{{1, 1}, {}, {2, 2}}, true, 1},
	} {
		r := Repeatability(c.groups)
		if r.Known != c.known || r.Value != c.value || math.IsNaN(r.Low) || math.IsNaN(r.High) || r.Low > r.Value || r.High < r.Value {
			t.Errorf("%s: Repeatability = %+v, want known %v, value %v", c.name, r, c.known, c.value)
		}
	}
}
