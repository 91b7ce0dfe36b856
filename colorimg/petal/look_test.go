package petal

import (
	"slices"
	"testing"
)

// TestMirror: rows are turned left to right, each by itself.
func TestMirror(t *testing.T) {
	in := []float32{1, 2, 3, 4, 5, 6}
	mirror(in, 3)
	if want := []float32{3, 2, 1, 6, 5, 4}; !slices.Equal(in, want) {
		t.Errorf("mirror = %v, want %v", in, want)
	}
}
