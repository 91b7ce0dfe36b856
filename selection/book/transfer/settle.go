package transfer

import (
	"encoding/json"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
	"hueward/selection/genetics"
)

// settle fills in what follows from the rest of a row, and checks the whole; what the kind must have is there.
func (im *importer) settle(r *importRow) {
	switch r.kind {
	case targetKind:
		r.shade(im)
		if v, _ := r.real("within"); !(v > 0 && v <= 100) {
			im.fail(r, "within", "%v: want a tolerance above 0 and at most 100", v)
		}
	case founderGroupKind:
		r.within(im, "inbreeding", 0, 1)
	case traitKind:
		if _, err := record.CleanTrait(traitOf(r.vals)); err != nil {
			im.fail(r, "trait", "%v", err)
		}
	case settingKind:
		r.settleSetting(im)
	case pollenKind:
		r.settlePollen(im)
	case seedOutKind:
		r.some(im, "seeds")
		r.weighed(im)
	case plantKind:
		r.within(im, "founder_inbreeding", 0, 1)
		r.settleClone(im)
	case crossKind:
		r.settleCross(im)
	case headKind:
		r.settleHead(im)
	case packetKind:
		r.settlePacket(im)
	case germinationKind:
		r.settleGermination(im)
	case sowingKind:
		r.some(im, "seeds")
		r.weighed(im)
		r.follow(im, "packet", packetKind)
	case scoreKind:
		id, _ := r.whole("trait")
		v, err := im.trait(id).Value(r.value("value").(string))
		if err != nil {
			im.fail(r, "value", "%v", err)
		}
		r.set("value", v)
	case cameraKind:
		if v, _ := r.real("loo_de"); v < 0 {
			im.fail(r, "loo_de", "%v: want 0 or more", v)
		}
	case photoKind:
		if r.value("name") == nil {
			r.set("name", path.Base(r.value("path").(string)))
		}
	case readingKind:
		r.settleReading(im)
	}
}

// some checks that a count is not 0.
func (r *importRow) some(im *importer, column string) {
	if n, _ := r.whole(column); n < 1 {
		im.fail(r, column, "%d: want 1 or more", n)
	}
}

// shade checks that a colour lies where petals' colours do.
func (r *importRow) shade(im *importer) bool {
	return r.within(im, "L", 0, 100) && r.within(im, "a", -200, 200) && r.within(im, "b", -200, 200)
}

// traitOf is the trait that a row's values say.
func traitOf(vals []any) book.Trait {
	r := importRow{kind: traitKind, vals: vals}
	t := book.Trait{Name: r.text("trait"), Unit: r.text("unit"), Better: r.text("better"), Note: r.text("note")}
	if v, ok := r.real("low"); ok {
		t.Low = &v
	}
	if v, ok := r.real("high"); ok {
		t.High = &v
	}
	if s, ok := r.value("words").(string); ok {
		json.Unmarshal([]byte(s), &t.Words) // its shape was checked
	}
	return t
}

// trait returns a trait by its number.
func (im *importer) trait(id int64) *book.Trait {
	if im.traits == nil {
		im.traits = map[int64]*book.Trait{}
	}
	if im.traits[id] == nil {
		t := traitOf(im.row(traitKind, id))
		im.traits[id] = &t
	}
	return im.traits[id]
}

func (r *importRow) settleCross(im *importer) {
	seed, _ := r.whole("seed_parent")
	r.settleStored(im)
	pollen, known := r.whole("pollen_parent")
	mother := im.row(plantKind, seed)
	if r.value("line") == nil {
		r.set("line", mother[plantKind.at("line")])
	}
	kind, _ := r.value("kind").(string)
	switch self := known && pollen == seed; {
	case kind == "" && self:
		r.set("kind", string(book.KindSelf))
	case kind == "" && !known:
		r.set("kind", string(book.KindOpen))
	case kind == "":
		father := im.row(plantKind, pollen)
		r.set("kind", string(book.KindCross))
		s, p := plantKind.at("seed_parent"), plantKind.at("pollen_parent")
		if genetics.FullSibs([2]any{mother[s], mother[p]}, [2]any{father[s], father[p]}, nil) {
			r.set("kind", string(book.KindSib))
		}
	case self && kind != string(book.KindSelf):
		im.fail(r, "kind", "%q, but both parents are the same plant; that is self", kind)
	case !self && kind == string(book.KindSelf):
		im.fail(r, "kind", `"self", but the pollen parent is not the seed parent; correct one of them`)
	case known && kind == string(book.KindOpen):
		im.fail(r, "pollen_parent", "is named, but the kind is open, where it is not known; correct one of them")
	}
}

func (r *importRow) settleHead(im *importer) {
	name := r.name()
	plant, number := name, ""
	if i := strings.LastIndexByte(name, '-'); i > 0 {
		plant, number = name[:i], name[i+1:]
	}
	if r.value("plant") == nil {
		id, err := im.find(plantKind, plant)
		if err != nil {
			im.fail(r, "plant", "is empty, and %v", err)
			return
		}
		r.set("plant", id)
	}
	if r.value("number") == nil {
		n, err := strconv.ParseInt(number, 10, 32)
		if err != nil {
			im.fail(r, "head", "%s does not end with - and a number, as M-07-1 does; rename it, or give its number in the column number",
				exchange.Quote(name))
			return
		}
		r.set("number", n)
	}
	r.some(im, "number")
	n, _ := r.whole("number")
	if im.numbers == nil { // which the book's heads have
		im.numbers = map[[2]int64]int64{}
		im.tx.Each("SELECT plant_id, number, id FROM head", nil, func(scan func(to ...any)) {
			var k [2]int64
			var id int64
			scan(&k[0], &k[1], &id)
			im.numbers[k] = id
		})
	}
	id, _ := r.whole("plant")
	if other, taken := im.numbers[[2]int64{id, n}]; taken && other != r.id {
		im.fail(r, "number", "the plant has a head of number %d already; give this one another", n)
	}
	im.numbers[[2]int64{id, n}] = r.id

	days, _ := r.value("pollinated").([]string)
	if days = slices.Clone(days); len(days) > 0 {
		slices.Sort(days)
		if len(slices.Compact(slices.Clone(days))) < len(days) {
			im.fail(r, "pollinated", "names a day twice; leave one out")
		}
		r.set("pollinated", days)
	}
	for _, day := range slices.Sorted(maps.Keys(r.pollinationNotes())) {
		if !slices.Contains(days, day) {
			im.fail(r, "pollination_notes", "has a note on %s, which is not among the days of pollinated; correct one of them", exchange.Quote(day))
			break
		}
	}
}

// pollinationNotes are the notes on a head's pollinations, by their days.
func (r *importRow) pollinationNotes() (notes map[string]string) {
	if s, ok := r.value("pollination_notes").(string); ok {
		json.Unmarshal([]byte(s), &notes) // its shape was checked
	}
	return notes
}

// pollinations are the days of a head, as rows.
func pollinations(_ *importer, r *importRow) (out [][]any) {
	days, _ := r.value("pollinated").([]string)
	notes := r.pollinationNotes()
	for _, d := range days {
		out = append(out, []any{r.id, d, notes[d]})
	}
	return out
}

// packetHeads are the heads of a packet, as rows; settlePacket found them all.
func packetHeads(im *importer, r *importRow) (out [][]any) {
	names, _ := r.value("heads").([]string)
	for _, n := range names {
		if id, err := im.find(headKind, n); err == nil {
			out = append(out, []any{r.id, id})
		}
	}
	return out
}

// follow fills in an empty line from the row that a column names.
func (r *importRow) follow(im *importer, column string, k *tableKind) {
	if id, ok := r.whole(column); ok && r.value("line") == nil {
		r.set("line", im.row(k, id)[k.at("line")])
	}
}

func (r *importRow) settlePacket(im *importer) {
	r.follow(im, "cross", crossKind)
	if r.value("line") == nil {
		im.fail(r, "line", "is empty, and no cross says it; name the line")
	}
	r.need(im, "season")
	r.weighed(im)
	names, _ := r.value("heads").([]string)
	seen := map[int64]bool{}
	for _, n := range names {
		id, err := im.find(headKind, n)
		switch {
		case err != nil:
			im.fail(r, "heads", "%v", err)
			return
		case seen[id]:
			im.fail(r, "heads", "names %s twice; leave one out", exchange.Quote(n))
			return
		}
		seen[id] = true
	}
}

func (r *importRow) settleGermination(im *importer) {
	r.some(im, "seeds")
	seeds, _ := r.whole("seeds")
	sprouted, read := r.whole("sprouted")
	switch {
	case seeds < 1:
	case read != (r.value("read") != nil):
		im.fail(r, "sprouted", "and read are both given, or neither; fill in the other one")
	case sprouted > seeds:
		im.fail(r, "sprouted", "%d of %d seeds; correct one of them", sprouted, seeds)
	}
}

// cleanCrop is a crop's name as the book keeps it: in small letters.
func cleanCrop(s string) (string, error) {
	s, err := naming.CleanID(s)
	return strings.ToLower(s), err
}

func (r *importRow) settleSetting(im *importer) {
	value := r.text("value")
	if r.name() != "last-frost" {
		im.fail(r, "setting", "%s is not a setting of this version; want last-frost", exchange.Quote(r.name()))
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
