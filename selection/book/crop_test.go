package book_test

import (
	"context"
	"errors"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"

	"github.com/google/go-cmp/cmp"
)

func TestCrops(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.Filled(t)
	must.OK(t, b.SetLineCrop(ctx, "MARIGOLD", "calendula"))
	if err := b.SetLineCrop(ctx, "nothing", "zinnia"); !errors.Is(err, ErrNotFound) {
		t.Errorf("an unknown line: %v, want ErrNotFound", err)
	}
	if of, err := b.LineCrops(ctx); err != nil || !cmp.Equal(of, map[string]string{"marigold": "calendula"}) {
		t.Errorf("LineCrops = %v, %v", of, err)
	}
	set := func(v ...CropValue) {
		t.Helper()
		must.OK(t, b.SetCropValues(ctx, v...))
	}
	set(CropValue{"calendula", "days", "3"}, CropValue{"calendula", "ripe", "24-30"})
	set(CropValue{"calendula", "days", "5"})
	set(CropValue{"calendula", "ripe", ""}) // as usual again
	if got, err := b.CropValues(ctx); err != nil || !cmp.Equal(got, []CropValue{{"calendula", "days", "5"}}) {
		t.Errorf("CropValues = %v, %v", got, err)
	}
	if err := b.SetCropValues(ctx, CropValue{"zinnia", "days", "3"}, CropValue{"", "days", "3"}); err == nil {
		t.Error("a value of no crop was kept")
	}
	if got, err := b.CropValues(ctx); err != nil || len(got) != 1 {
		t.Errorf("after a refused one: %v, %v", got, err)
	}
}
