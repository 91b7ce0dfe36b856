package petal

import (
	"testing"

	"hueward/colorimg/cie"
)

// TestMiddleNoLighterThanWhite: L* is 100 for a white that reflects all light (ISO/CIE 11664-4); petals that seem lighter
// stand in more light than the card.
func TestMiddleNoLighterThanWhite(t *testing.T) {
	px := []*sample{{lab: cie.Lab{L: 104, A: 1, B: 2}}, {lab: cie.Lab{L: 106, A: 1, B: 2}}, {lab: cie.Lab{L: 108, A: 1, B: 2}}}
	if got, want := middle(px), (cie.Lab{L: 100, A: 1, B: 2}); got != want {
		t.Errorf("middle = %v, want %v", got, want)
	}
}
