package transfer

import (
	"maps"
	"math"
	"slices"
	"strings"

	"hueward/colorimg"
	"hueward/selection"
	"hueward/selection/book/exchange"
	"hueward/selection/book/record"
)

// settleReading fills in and checks one reading: of a photo, or by an instrument.
func (r *importRow) settleReading(im *importer) {
	photo, ofPhoto := r.whole("photo")
	source, _ := r.value("source").(string)
	at, stamped := r.value("measured_at").(string)
	day, dated := r.value("date").(string)
	switch {
	case ofPhoto && source != record.PhotoSource:
		im.fail(r, "source", "%s, but a photo is named; want %q, or no photo", exchange.Quote(source), record.PhotoSource)
	case source == record.PhotoSource && !ofPhoto:
		im.fail(r, "source", `"photo", but the column photo names none; measure the photos, or name the instrument`)
	case source == "":
		im.fail(r, "source", "is empty; name the instrument")
	case !stamped && !r.need(im, "date"):
	case stamped && dated && !ofPhoto && !strings.HasPrefix(at, day):
		im.fail(r, "date", "%s, but measured_at is %s; correct both", day, at)
	case ofPhoto && r.ofPhoto(im, photo), !ofPhoto && r.need(im, "plant", "season"):
		if !stamped {
			r.set("measured_at", day+"T12:00:00Z")
		}
		r.settleColor(im, ofPhoto)
	}
}

// ofPhoto checks that a reading of a photo does not contradict it; the photo's plant and season count.
func (r *importRow) ofPhoto(im *importer, photo int64) (ok bool) {
	shows, known := im.shown[photo]
	if !known {
		vals := im.row(photoKind, photo)
		shows = [2]any{vals[photoKind.at("plant")], vals[photoKind.at("season")]}
		if im.shown == nil {
			im.shown = map[int64][2]any{}
		}
		im.shown[photo] = shows
	}
	for i, c := range [2]string{"plant", "season"} {
		if v := r.value(c); v != nil && v != shows[i] {
			im.fail(r, c, "is not the one that the photo has; correct it in the photos' table, or leave it empty")
			return false
		}
		r.set(c, nil)
	}
	return true
}

// mostOf are numbers that are 0 or more, and how large they may be.
var mostOf = map[string]float64{
	"se": selection.MaxError, "trueness": selection.MaxError,
	"se_L": selection.MaxError, "se_a": selection.MaxError, "se_b": selection.MaxError,
	"spread_L": math.MaxFloat64, "spread_a": math.MaxFloat64, "spread_b": math.MaxFloat64,
	"petal_share": math.MaxFloat64, "diameter_px": math.MaxFloat64, "diameter_mm": math.MaxFloat64,
}

func (r *importRow) settleColor(im *importer, ofPhoto bool) {
	if r.value("status") == nil {
		r.set("status", string(colorimg.OK))
	}
	refused := r.value("status") == string(colorimg.Refused)
	switch {
	case refused && (r.value("L") != nil || r.value("a") != nil || r.value("b") != nil):
		im.fail(r, "status", "refused, but there is a colour; leave L, a and b empty, or correct the status")
		return
	case refused && r.value("reason") == nil:
		im.fail(r, "reason", "is empty; say why the reading is refused")
		return
	case !refused && !r.need(im, "L", "a", "b"):
		return
	}
	// A petal in a photo that was exposed too long may measure lighter than white.
	if !ofPhoto && !r.shade(im) {
		return
	}
	for _, c := range slices.Sorted(maps.Keys(mostOf)) {
		if !r.within(im, c, 0, mostOf[c]) {
			return
		}
	}
	if r.value("trueness") == nil {
		trueness := 0.0
		if se, ok := r.real("se"); ok && !ofPhoto {
			trueness = se
		}
		r.set("trueness", trueness)
	}
}
