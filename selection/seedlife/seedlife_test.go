package seedlife

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

var made = time.Date(2020, 9, 1, 0, 0, 0, 0, time.UTC)

func after(years float64) time.Time {
	return made.Add(time.Duration(years * 365.25 * 24 * float64(time.Hour)))
}

// By the definition: all of it new, half of that after its years, and a straight line of
// probits in between and beyond (Ellis and Roberts 1980, equation 1).
func TestExpected(t *testing.T) {
	t.Parallel()
	k := Kind{Fresh: 0.8, Years: 4}
	for _, c := range []struct{ years, want float64 }{{0, 0.8}, {4, 0.4}} {
		if got := Expected(k, made, after(c.years)); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("after %v years %.4f, want %v", c.years, got, c.want)
		}
	}
	probit := distuv.UnitNormal.Quantile
	step := probit(Expected(k, made, after(1))) - probit(0.8)
	for y := 2.0; y < 9; y++ {
		if got := probit(Expected(k, made, after(y))) - probit(0.8); math.Abs(got-y*step) > 1e-6 {
			t.Errorf("probits after %v years fell by %.4f, want %.4f", y, got, y*step)
		}
	}
	if got := Expected(k, time.Time{}, after(3)); got != 0.8 {
		t.Errorf("of unknown age: %v", got)
	}
}

// A large test takes the place of what is usual; one of few seeds moves it a little; one
// of a later day is not known yet; and of several the newest counts.
func TestExpectedTests(t *testing.T) {
	t.Parallel()
	k := Kind{Fresh: 0.8, Years: 4}
	big := Test{after(2), 100_000, 30_000}
	if got := Expected(k, made, after(2), big); math.Abs(got-0.3) > 1e-3 {
		t.Errorf("on the day of the test: %.4f, want 0.3", got)
	}
	if got := Expected(k, made, after(3), big); got >= 0.3 || got < 0.15 {
		t.Errorf("a year after the test: %.4f", got)
	}
	if got, usual := Expected(k, made, after(2), Test{after(2), 2, 0}), Expected(k, made, after(2)); got >= usual || got < 0.7*usual {
		t.Errorf("none of two sprouted: %.4f, usual %.4f", got, usual)
	}
	if got, usual := Expected(k, made, after(1), big), Expected(k, made, after(1)); got != usual {
		t.Errorf("a test of a later day counts: %v, %v", got, usual)
	}
	old := Test{after(1), 100_000, 90_000}
	if got, want := Expected(k, made, after(3), old, big), Expected(k, made, after(3), big); math.Abs(got-want) > 1e-3 {
		t.Errorf("two tests: %.4f, want %.4f", got, want)
	}
	if got := Expected(k, made, after(5), Test{after(2), 20, 20}); got <= 0 || got >= 1 {
		t.Errorf("all of twenty sprouted: %v", got)
	}
}

// Whatever is asked: a share, never more than on an earlier day.
func TestExpectedFalls(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := Kind{rapid.Float64Range(0.05, 0.98).Draw(t, "fresh"), rapid.Float64Range(0.5, 20).Draw(t, "years")}
		x, y := rapid.Float64Range(0, 30).Draw(t, "x"), rapid.Float64Range(0, 30).Draw(t, "y")
		a, b := Expected(k, made, after(min(x, y))), Expected(k, made, after(max(x, y)))
		if !(a >= b-1e-12 && b >= 0 && a <= 1) { // but for rounding
			t.Fatalf("%v after %v years, %v after %v", a, min(x, y), b, max(x, y))
		}
	})
}
