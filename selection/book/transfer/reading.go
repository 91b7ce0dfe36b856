package transfer

import (
	"maps"
	"math"
	"slices"
	"strings"

	"hueward/colorimg"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/book/exchange"
)

// settleReading fills in and checks one reading: of a photo, or by an instrument.
func (r *importRow) settleReading(im *importer) error {
	photo, ofPhoto := r.whole("photo")
	source, _ := r.value("source").(string)
	switch {
	case ofPhoto && source != book.PhotoSource:
		im.fail(r, "source", "%s, but a photo is named; want %q, or no photo", exchange.Quote(source), book.PhotoSource)
		return nil
	case source == book.PhotoSource && !ofPhoto:
		im.fail(r, "source", `"photo", but the column photo names none; measure the photos, or name the instrument`)
		return nil
	case source == "":
		im.fail(r, "source", "is empty; name the instrument")
		return nil
	}
	if at, ok := r.value("measured_at").(string); !ok {
		if !r.need(im, "date") {
			return nil
		}
		r.set("measured_at", r.value("date").(string)+"T12:00:00Z")
	} else if d, ok := r.value("date").(string); ok && !ofPhoto && !strings.HasPrefix(at, d) {
		im.fail(r, "date", "%s, but measured_at is %s; correct both", d, at)
		return nil
	}
	if ofPhoto {
		if ok, err := r.ofPhoto(im, photo); !ok {
			return err
		}
	} else if !r.need(im, "plant", "season") {
		return nil
	}
	return r.settleColor(im, ofPhoto)
}

// ofPhoto checks that a reading of a photo does not contradict it; the photo's
// plant and season count.
func (r *importRow) ofPhoto(im *importer, photo int64) (ok bool, err error) {
	shows, known := im.shown[photo]
	if !known {
		vals, err := im.row(photoKind, photo)
		if err != nil {
			return false, err
		}
		shows = [2]any{vals[photoKind.at("plant")], vals[photoKind.at("season")]}
		if im.shown == nil {
			im.shown = map[int64][2]any{}
		}
		im.shown[photo] = shows
	}
	for i, c := range [2]string{"plant", "season"} {
		if v := r.value(c); v != nil && v != shows[i] {
			im.fail(r, c, "is not the one that the photo has; correct it in the photos' table, or leave it empty")
			return false, nil
		}
		r.set(c, nil)
	}
	return true, nil
}

// mostOf are numbers that are 0 or more, and how large they may be.
var mostOf = map[string]float64{
	"se": selection.MaxError, "trueness": selection.MaxError,
	"se_L": selection.MaxError, "se_a": selection.MaxError, "se_b": selection.MaxError,
	"spread_L": math.MaxFloat64, "spread_a": math.MaxFloat64, "spread_b": math.MaxFloat64,
	"petal_share": math.MaxFloat64, "diameter_px": math.MaxFloat64, "diameter_mm": math.MaxFloat64,
}

func (r *importRow) settleColor(im *importer, ofPhoto bool) error {
	if r.value("status") == nil {
		r.set("status", string(colorimg.OK))
	}
	refused := r.value("status") == string(colorimg.Refused)
	_, l := r.real("L")
	_, a := r.real("a")
	_, b := r.real("b")
	switch {
	case refused && (l || a || b):
		im.fail(r, "status", "refused, but there is a colour; leave L, a and b empty, or correct the status")
		return nil
	case refused && r.value("reason") == nil:
		im.fail(r, "reason", "is empty; say why the reading is refused")
		return nil
	case !refused && !r.need(im, "L", "a", "b"):
		return nil
	}
	// A petal in a photo that was exposed too long may measure lighter than white.
	if !ofPhoto && !r.shade(im) {
		return nil
	}
	for _, c := range slices.Sorted(maps.Keys(mostOf)) {
		if !r.within(im, c, 0, mostOf[c]) {
			return nil
		}
	}
	if r.value("trueness") == nil {
		trueness := 0.0
		if se, ok := r.real("se"); ok && !ofPhoto {
			trueness = se
		}
		r.set("trueness", trueness)
	}
	return nil
}
