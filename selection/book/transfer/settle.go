package transfer

import (
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"

	"hueward/selection/book"
	"hueward/selection/book/exchange"
	"hueward/selection/book/record"
	"hueward/selection/genetics"
)

// settle fills in what follows from the rest of a row, and checks the whole.
func (im *importer) settle(r *importRow) error {
	switch r.kind {
	case targetKind:
		if r.need(im, "line", "L", "a", "b", "within") {
			r.shade(im)
			if v, _ := r.real("within"); v <= 0 {
				im.fail(r, "within", "%v: want a tolerance above 0", v)
			}
		}
	case founderGroupKind:
		r.within(im, "inbreeding", 0, 1)
	case traitKind:
		r.settleTrait(im)
	case settingKind:
		r.settleSetting(im)
	case pollenKind:
		r.settlePollen(im)
	case seedOutKind:
		r.settleSeedOut(im)
	case plantKind:
		r.need(im, "line", "season")
		r.within(im, "founder_inbreeding", 0, 1)
		return r.settleClone(im)
	case crossKind:
		return r.settleCross(im)
	case headKind:
		return r.settleHead(im)
	case packetKind:
		return r.settlePacket(im)
	case germinationKind:
		r.settleGermination(im)
	case sowingKind:
		return r.settleSowing(im)
	case scoreKind:
		return r.settleScore(im)
	case cameraKind:
		if v, _ := r.real("loo_de"); v < 0 {
			im.fail(r, "loo_de", "%v: want 0 or more", v)
		}
		r.need(im, "model")
	case photoKind:
		if r.need(im, "season", "path") && r.value("name") == nil {
			path := r.value("path").(string)
			r.set("name", path[strings.LastIndexByte(path, '/')+1:])
		}
	case readingKind:
		return r.settleReading(im)
	}
	return nil
}

// shade checks that a colour lies where petals' colours do.
func (r *importRow) shade(im *importer) bool {
	return r.within(im, "L", 0, 100) && r.within(im, "a", -200, 200) && r.within(im, "b", -200, 200)
}

func (r *importRow) settleTrait(im *importer) {
	if _, err := record.CleanTrait(traitOf(r.vals)); err != nil {
		im.fail(r, "trait", "%v", err)
	}
}

// traitOf is the trait that a row's values say.
func traitOf(vals []any) book.Trait {
	r := importRow{kind: traitKind, vals: vals}
	t := book.Trait{}
	t.Name, _ = r.value("trait").(string)
	t.Unit, _ = r.value("unit").(string)
	t.Better, _ = r.value("better").(string)
	t.Note, _ = r.value("note").(string)
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
func (im *importer) trait(id int64) (*book.Trait, error) {
	if t := im.traits[id]; t != nil {
		return t, nil
	}
	vals, err := im.row(traitKind, id)
	if err != nil {
		return nil, err
	}
	t := traitOf(vals)
	if im.traits == nil {
		im.traits = map[int64]*book.Trait{}
	}
	im.traits[id] = &t
	return &t, nil
}

func (r *importRow) settleCross(im *importer) error {
	if !r.need(im, "season", "seed_parent") {
		return nil
	}
	seed, _ := r.whole("seed_parent")
	if err := r.settleStored(im); err != nil {
		return err
	}
	pollen, known := r.whole("pollen_parent")
	mother, err := im.row(plantKind, seed)
	if err != nil {
		return err
	}
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
		father, err := im.row(plantKind, pollen)
		if err != nil {
			return err
		}
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
	return nil
}

func (r *importRow) settleHead(im *importer) error {
	name := r.name()
	plant, number := name, ""
	if i := strings.LastIndexByte(name, '-'); i > 0 {
		plant, number = name[:i], name[i+1:]
	}
	if r.value("plant") == nil {
		id, err := im.find(plantKind, plant)
		if err != nil {
			im.fail(r, "plant", "is empty, and %v", err)
			return nil
		}
		r.set("plant", id)
	}
	if r.value("number") == nil {
		n, err := strconv.ParseInt(number, 10, 32)
		if err != nil {
			im.fail(r, "head", "%s does not end with - and a number, as M-07-1 does; rename it, or give its number in the column number",
				exchange.Quote(name))
			return nil
		}
		r.set("number", n)
	}
	n, _ := r.whole("number")
	if n < 1 {
		im.fail(r, "number", "%d: want 1 or more", n)
	}
	if !r.need(im, "season") {
		return nil
	}
	if err := im.loadHeads(); err != nil {
		return err
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
	if s, ok := r.value("pollination_notes").(string); ok {
		notes := map[string]string{}
		json.Unmarshal([]byte(s), &notes) // its shape was checked
		for _, day := range slices.Sorted(maps.Keys(notes)) {
			if !slices.Contains(days, day) {
				im.fail(r, "pollination_notes", "has a note on %s, which is not among the days of pollinated; correct one of them", exchange.Quote(day))
				break
			}
		}
	}
	return nil
}

// loadHeads reads which numbers the book's heads have.
func (im *importer) loadHeads() error {
	if im.numbers != nil {
		return nil
	}
	im.numbers = map[[2]int64]int64{}
	rows, err := im.tx.Query("SELECT plant_id, number, id FROM head")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k [2]int64
		var id int64
		if err := rows.Scan(&k[0], &k[1], &id); err != nil {
			return err
		}
		im.numbers[k] = id
	}
	return rows.Err()
}

// pollinations are the days of a head, as rows.
func pollinations(_ *importer, r *importRow) (out [][]any) {
	days, _ := r.value("pollinated").([]string)
	notes := map[string]string{}
	if s, ok := r.value("pollination_notes").(string); ok {
		json.Unmarshal([]byte(s), &notes) // its shape was checked
	}
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
func (r *importRow) follow(im *importer, column string, k *tableKind) error {
	id, ok := r.whole(column)
	if r.value("line") != nil || !ok {
		return nil
	}
	vals, err := im.row(k, id)
	if err == nil {
		r.set("line", vals[k.at("line")])
	}
	return err
}

func (r *importRow) settlePacket(im *importer) error {
	if err := r.follow(im, "cross", crossKind); err != nil {
		return err
	}
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
			return nil
		case seen[id]:
			im.fail(r, "heads", "names %s twice; leave one out", exchange.Quote(n))
			return nil
		}
		seen[id] = true
	}
	return nil
}

func (r *importRow) settleGermination(im *importer) {
	if !r.need(im, "packet", "started", "seeds") {
		return
	}
	seeds, _ := r.whole("seeds")
	sprouted, read := r.whole("sprouted")
	switch {
	case seeds < 1:
		im.fail(r, "seeds", "%d: want 1 or more", seeds)
	case read != (r.value("read") != nil):
		im.fail(r, "sprouted", "and read are both given, or neither; fill in the other one")
	case sprouted > seeds:
		im.fail(r, "sprouted", "%d of %d seeds; correct one of them", sprouted, seeds)
	}
}

func (r *importRow) settleSowing(im *importer) error {
	if !r.need(im, "packet", "season", "seeds") {
		return nil
	}
	if n, _ := r.whole("seeds"); n < 1 {
		im.fail(r, "seeds", "%d: want 1 or more", n)
	}
	r.weighed(im)
	return r.follow(im, "packet", packetKind)
}

func (r *importRow) settleScore(im *importer) error {
	if !r.need(im, "plant", "trait", "value") {
		return nil
	}
	id, _ := r.whole("trait")
	t, err := im.trait(id)
	if err != nil {
		return err
	}
	v, err := t.Value(r.value("value").(string))
	if err != nil {
		im.fail(r, "value", "%v", err)
	}
	r.set("value", v)
	return nil
}
