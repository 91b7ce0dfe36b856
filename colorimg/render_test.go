package colorimg_test

import "testing"

// TestMeasureRendered measures made-up photos over all petal colours, forms,
// grounds and lights, against the colour that they were drawn with.
func TestMeasureRendered(t *testing.T) {
	set := variedSet(t)
	var de, iou []float64
	for _, d := range set {
		if d.err != nil {
			t.Logf("%d refused on %v: %v", d.i, d.scene.Ground, d.err)
			if d.scene.Ground.Plain() {
				t.Errorf("photo %d on a plain board refused: %v", d.i, d.err)
			}
			continue
		}
		de, iou = append(de, d.deltaE()), append(iou, d.iou)
		if d.deltaE() > 3 || d.iou < 0.8 {
			t.Logf("photo %d: Delta E %.2f, IoU %.3f, form %v on %v, petal %.0f got %.0f, flags %v", d.i, d.deltaE(), d.iou, d.scene.Form,
				d.scene.Ground, d.truth.Seen, d.reading.Lab.Lab(), d.reading.Flags)
		}
	}
	m, p95, over := quantile(de, 0.5), quantile(de, 0.95), quantile(iou, 0.5)
	t.Logf("%d of %d measured: Delta E 2000 median %.2f, 95th percentile %.2f; IoU median %.3f", len(de), len(set), m, p95, over)
	if !(m <= 1.0) {
		t.Errorf("median Delta E 2000 = %.2f, want at most 1.0", m)
	}
	if !(p95 <= 3.0) {
		t.Errorf("95th percentile of Delta E 2000 = %.2f, want at most 3", p95)
	}
	if !(over >= 0.85) {
		t.Errorf("median IoU = %.3f, want at least 0.85", over)
	}
}
