package book_test

import (
	"context"
	"encoding/json"
	"errors"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"

	"github.com/google/go-cmp/cmp"
)

func TestCameraModels(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	models := func() []CameraModel {
		t.Helper()
		m := must.Have(b.CameraModels(ctx))(t)
		return m
	}
	booktest.Same(t, "a new book's models", []CameraModel{}, models())
	second := CameraModel{Camera: " Made-up Phone 20 ", Model: json.RawMessage(`{}`), Kind: "gains"}
	for _, m := range []CameraModel{second, booktest.Phone} {
		if replaced, err := b.SetCameraModel(ctx, m); replaced || err != nil {
			t.Fatalf("SetCameraModel = %v, %v, want a first one", replaced, err)
		}
	}
	second.Camera, second.LearntAt = "Made-up Phone 20", booktest.Noon
	booktest.Same(t, "models", []CameraModel{booktest.Phone, second}, models())
	// Learnt anew: the newest alone, under the camera's name as it was last written.
	again := booktest.Phone
	again.Camera, again.Kind, again.Error = "MADE-UP phone 3", "root-polynomial", 0.8
	if replaced, err := b.SetCameraModel(ctx, again); !replaced || err != nil {
		t.Errorf("learnt anew: SetCameraModel = %v, %v, want the first replaced", replaced, err)
	}
	booktest.Same(t, "models, one learnt anew", []CameraModel{again, second}, models())
	if err := b.ForgetCameraModel(ctx, "made-up phone 3"); err != nil {
		t.Error(err)
	}
	if err := b.ForgetCameraModel(ctx, "made-up phone 3"); !errors.Is(err, ErrNotFound) {
		t.Errorf("forgotten twice: %v, want ErrNotFound", err)
	}
	booktest.Same(t, "models, one forgotten", []CameraModel{second}, models())
}

// What cannot be kept leaves the earlier model in its place.
func TestCameraModelErrors(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	must.Have(b.SetCameraModel(ctx, booktest.Phone))(t)
	zero := 0.0
	for name, spoil := range map[string]func(*CameraModel){
		"no camera":        func(m *CameraModel) { m.Camera = " " },
		"no model":         func(m *CameraModel) { m.Model = nil },
		"half a model":     func(m *CameraModel) { m.Model = m.Model[:5] },
		"NaN":              func(m *CameraModel) { m.Error = zero / zero },
		"a negative error": func(m *CameraModel) { m.Error = -1 },
		"fewer than none":  func(m *CameraModel) { m.Patches = -1 },
	} {
		m := booktest.Phone
		spoil(&m)
		if _, err := b.SetCameraModel(ctx, m); err == nil {
			t.Errorf("%s: SetCameraModel succeeds", name)
		}
	}
	got, err := b.CameraModels(ctx)
	if d := cmp.Diff([]CameraModel{booktest.Phone}, got); d != "" || err != nil {
		t.Errorf("models: %v (-want +got):\n%s", err, d)
	}
}
