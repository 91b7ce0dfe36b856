package words

import "testing"

func TestFixed(t *testing.T) {
	for _, test := range []struct {
		v        float64
		decimals int
		want     string
	}{{-0.04, 1, "0.0"}, {-0.06, 1, "-0.1"}, {76, 1, "76.0"}, {0.125, 0, "0"}} {
		if got := Fixed(test.v, test.decimals); got != test.want {
			t.Errorf("Fixed(%v, %d) = %q, want %q", test.v, test.decimals, got, test.want)
		}
	}
}
