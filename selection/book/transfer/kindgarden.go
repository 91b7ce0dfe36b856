package transfer

import (
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
)

// cleanCrop is a crop's name as the book keeps it: in small letters.
func cleanCrop(s string) (string, error) {
	s, err := naming.CleanID(s)
	return strings.ToLower(s), err
}

func (r *importRow) settleSetting(im *importer) {
	value, _ := r.value("value").(string)
	if r.name() != "last-frost" {
		im.fail(r, "setting", "%s is no setting of this version; want last-frost", exchange.Quote(r.name()))
	} else if _, err := time.Parse("01-02", value); err != nil {
		im.fail(r, "value", "%s: want a month and day such as 05-15", exchange.Quote(value))
	}
}

func (r *importRow) settlePollen(im *importer) {
	from, _ := r.value("collected").(string)
	for _, c := range []string{"dried", "good_until", "used_up"} {
		if d, ok := r.value(c).(string); ok && d < from {
			im.fail(r, c, "%s is before it was collected on %s; correct one of them", d, from)
		}
	}
}

// weighed checks a weight, where there is one.
func (r *importRow) weighed(im *importer) {
	if g, ok := r.real("grams"); ok && !(g > 0) {
		im.fail(r, "grams", "%v: want more than 0, or leave it empty", g)
	}
}

// settleClone checks whose genes a plant has, and fills in its parents from there.
func (r *importRow) settleClone(im *importer) {
	id, ok := r.whole("clone_of")
	by, _ := r.value("cloned_by").(string)
	switch {
	case ok != (by != ""):
		im.fail(r, "cloned_by", "and clone_of are both given, or neither; fill in the other one")
	case !ok:
	case id == r.id:
		im.fail(r, "clone_of", "is the plant itself; name the plant that it is a tuber, cutting or division of")
	case im.row(plantKind, id)[plantKind.at("clone_of")] != nil:
		im.fail(r, "clone_of", "is itself of another plant; name that one")
	}
}

// settleStored checks that stored pollen is of the cross's pollen parent.
func (r *importRow) settleStored(im *importer) {
	id, ok := r.whole("pollen")
	if !ok {
		return
	}
	plant, parent := im.row(pollenKind, id)[pollenKind.at("plant")], r.value("pollen_parent")
	switch {
	case parent == nil && r.value("kind") != string(book.KindOpen):
		r.set("pollen_parent", plant)
	case plant != parent:
		im.fail(r, "pollen", "is not of the pollen parent; correct one of them")
	}
}
