package transfer

import (
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
)

// The tables of the garden beside heads and packets.
var (
	settingKind = &tableKind{
		Kind: exchange.Kind{Name: "settings", Need: []string{"setting", "value"}}, table: "setting", one: "setting", many: "settings",
		key:     []string{"setting"},
		columns: []kindColumn{{Column: exchange.Column{Name: "setting", Clean: cleanWord}, sql: "name"}, textColumn("value")},
	}
	cropKind = &tableKind{
		Kind: exchange.Kind{Name: "crops", Need: []string{"crop", "title", "base"}}, table: "crop", one: "crop", many: "crops",
		key: []string{"crop"}, keyed: true,
		columns: []kindColumn{
			named("crop", cleanCrop), {Column: exchange.Column{Name: "title", Clean: naming.CleanLabel}, sql: "title"},
			{Column: exchange.Column{Name: "base", Clean: cleanWord}, sql: "base"}, addedAt,
		},
	}
	pollenKind = &tableKind{
		must: []string{"plant", "season", "collected"},
		Kind: exchange.Kind{Name: "pollen", Need: []string{"pollen", "plant",
			"collected"}}, table: "pollen", one: "pollen", many: "lots of pollen",
		key: []string{"pollen"}, keyed: true,
		columns: []kindColumn{
			named("pollen", naming.CleanID), refTo("plant", "plants", "plant_id"), refTo("season", "seasons", "season_id"),
			typed("collected", exchange.Day, "collected_on"), typed("dried", exchange.Day, "dried_on"),
			typed("good_until", exchange.Day, "good_until"), typed("used_up", exchange.Day, "used_up_on"), labelColumn("place", naming.CleanLabel),
			textColumn("note"), addedAt,
		},
	}
	seedOutKind = &tableKind{
		must: []string{"packet", "day", "how", "seeds"},
		Kind: exchange.Kind{Name: "seed_out", Need: []string{"packet", "day", "how", "seeds"}}, table: "seed_out", one: "seed that left",
		many: "lots of seed that left",
		columns: []kindColumn{
			refTo("packet", "packets", "packet_id"), typed("day", exchange.Day, "day"), oneOf("how", nil, words(book.Outs)...),
			typed("seeds", exchange.Count, "seeds"), typed("grams", exchange.Real, "grams"), textColumn("to_whom"), textColumn("note"),
		},
	}
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
