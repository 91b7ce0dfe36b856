package colorimg_test

import (
	"fmt"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// flagged reports whether the reading was refused or is to be looked at.
func (d drawn) flagged() bool {
	for _, f := range d.reading.Flags {
		if !f.Info() {
			return true
		}
	}
	return d.err != nil
}

// off is the reading's distance from the colour of the petals' surface.
func (d drawn) off() float64 { return cie.DeltaE2000(d.reading.Lab.Lab(), d.truth.Petal) }

func (d drawn) String() string {
	s := fmt.Sprintf("%d: %v on %v, petals %.0f, %.0f K", d.i, d.scene.Form, d.scene.Ground, d.truth.Petal, d.scene.Kelvin)
	if d.err != nil {
		s += ": " + d.reading.Reason
	} else {
		s += fmt.Sprintf(": off by %.1f (of what is seen %.1f), reads %.0f, IoU %.2f, card %s, flags %v", d.off(), d.deltaE(), d.reading.Lab.Lab(), d.iou(), d.reading.Card.Kind, d.reading.Flags)
	}
	if !d.truth.Measurable {
		s += ", not measurable: " + d.truth.Doubt
	}
	return s
}

func drawnSet(t *testing.T, n int, scene func(i int) render.Scene) []drawn {
	t.Helper()
	if testing.Short() {
		n /= 5
	}
	scenes := make([]render.Scene, n)
	for i := range scenes {
		scenes[i] = scene(i)
		scenes[i].Width, scenes[i].Height = 1000, 750
	}
	return measureAll(t, scenes)
}

// TestMeasureHard measures photos with shadows across card or bloom, a phone's
// tone curve, light that falls off, and daylight from 3800 to 11000 K. The
// figures are of those that could be measured at all; none may be wrong by more
// than 6 without a flag.
func TestMeasureHard(t *testing.T) {
	var de []float64
	refused := 0
	for _, d := range drawnSet(t, 100, func(i int) render.Scene { return render.Hard(i, 1) }) {
		switch {
		case d.err != nil:
			if refused++; d.truth.Measurable {
				t.Logf("refused %v", d)
			}
			continue
		case d.off() > 6 && !d.flagged():
			t.Errorf("without a flag %v", d)
		case d.off() > 4:
			t.Logf("%v", d)
		}
		if d.truth.Measurable {
			de = append(de, d.off())
		}
	}
	m, p95 := quantile(de, 0.5), quantile(de, 0.95)
	t.Logf("%d measurable and measured, %d refused: Delta E 2000 median %.2f, 95th percentile %.2f", len(de), refused, m, p95)
	if !(m <= 1.5) {
		t.Errorf("median Delta E 2000 = %.2f, want at most 1.5", m)
	}
	// A tone curve that a single grey card cannot tell leaves 3.85 to a perfect
	// reader.
	if !(p95 <= 4) {
		t.Errorf("95th percentile of Delta E 2000 = %.2f, want at most 4", p95)
	}
}

// TestMeasureAwkward measures blooms with insects, dew, hands, browned and
// faded petals, second colours and further blooms, against what is seen: a faded
// bloom does not tell what it was.
func TestMeasureAwkward(t *testing.T) {
	var de []float64
	refused, n := 0, 0
	for _, d := range drawnSet(t, 64, func(i int) render.Scene { return render.Awkward(i, 1) }) {
		n++
		switch {
		case d.err != nil:
			refused++
			t.Logf("refused %v", d)
			continue
		case d.scene.Tip != nil || d.scene.Eye != nil:
			continue // Truth.Seen is the median over both colours
		case d.deltaE() > 6 && !d.flagged():
			t.Errorf("without a flag %v", d)
		case d.deltaE() > 4:
			t.Logf("%v", d)
		}
		de = append(de, d.deltaE())
	}
	m, p95 := quantile(de, 0.5), quantile(de, 0.95)
	t.Logf("%d of %d refused: Delta E 2000 median %.2f, 95th percentile %.2f", refused, n, m, p95)
	if !(m <= 1.5) {
		t.Errorf("median Delta E 2000 = %.2f, want at most 1.5", m)
	}
	if !(p95 <= 4) {
		t.Errorf("95th percentile of Delta E 2000 = %.2f, want at most 4", p95)
	}
}
