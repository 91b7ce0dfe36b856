package book_test

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"

	"hueward/colorimg/cie"
)

var buff = cie.Lab{L: 76, A: 16, B: 34}

func TestTargetHistory(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	first := Target{Lab: cie.Lab{L: 80, A: 10, B: 30}, Source: "--hex"}
	second := Target{Aim: Hold, Lab: booktest.Buff, Within: 2, Source: "photo a.jpg", Measured: true}
	for _, s := range []Target{first, second} {
		must.OK(t, b.SetTarget(ctx, "Marigold", s))
	}
	second.SetAt = booktest.Noon
	n := must.Have(b.Line(ctx, "MARIGOLD"))(t)
	booktest.Same(t, "line", &Line{Name: "Marigold", Target: &second}, n)
	history := booktest.Column(t, booktest.DB(t, b), "SELECT concat_ws(' ', source, within, measured, set_at) FROM target ORDER BY id")
	at := booktest.Noon.Format(time.RFC3339)
	booktest.Same(t, "history", []string{"--hex 3.0 0 " + at, "photo a.jpg 2.0 1 " + at}, history)
	if got := second.Selection(); got.Within != 2 || got.Lab != buff || !got.Measured || got.Source != "photo a.jpg" {
		t.Errorf("Selection = %+v", got)
	}
}

func TestLineErrors(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	must.OK(t, b.AddLine(ctx, "cosmos, held", ""))
	if err := b.AddLine(ctx, "Cosmos, Held", ""); !errors.Is(err, ErrDuplicate) {
		t.Errorf("AddLine again = %v, want ErrDuplicate", err)
	}
	if _, err := b.Line(ctx, "dahlia"); !errors.Is(err, ErrNotFound) {
		t.Errorf("Line(dahlia) = %v, want ErrNotFound", err)
	}
	for name, bad := range map[string]Target{
		"NaN": {Lab: cie.Lab{L: math.NaN()}}, "negative tolerance": {Within: -1},
		"unknown aim": {Aim: "wander"}, "infinite tolerance": {Within: math.Inf(1)},
	} {
		if err := b.SetTarget(ctx, "dahlia", bad); err == nil {
			t.Errorf("%s: SetTarget succeeds", name)
		}
	}
	if n := booktest.Count(t, b, "target") + booktest.Count(t, b, "line"); n != 1 {
		t.Errorf("%d lines and targets after refused ones, want the 1 line", n)
	}
	for _, name := range []string{"", "  ", "a\nb", "a\x00"} {
		if err := b.AddLine(ctx, name, ""); err == nil {
			t.Errorf("AddLine(%q) succeeds", name)
		}
	}
}

func TestSeasons(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	b := booktest.New(t)
	for _, s := range []string{"2027", "2026", "2026", "2026-autumn"} {
		must.OK(t, b.EnsureSeason(ctx, s))
	}
	got := must.Have(b.Seasons(ctx))(t)
	booktest.Same(t, "seasons", []string{"2026", "2026-autumn", "2027"}, got)
	if err := b.EnsureSeason(ctx, "../2026"); err == nil {
		t.Error(`season "../2026" is taken`)
	}
}
