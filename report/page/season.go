package page

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"hueward/report/compose"
	"hueward/report/page/enter"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// headRow is one head of the list, and how far it is.
type headRow struct {
	book.Head
	Parents, State string
	Open           bool
	OwnPollen      bool // that must be kept out
}

// heads lists the season's heads.
func (q *request) heads() error {
	_, season := q.lineNow()
	if season == "" {
		season = q.seasonNow()
	}
	crosses, words := q.crossWords(season)
	d := struct {
		Open, Done []headRow
		Crosses    []book.Cross
		Words      map[string]string
		Season     string
		Head       string
	}{Crosses: crosses, Words: words, Season: season, Head: q.r.FormValue("head")}
	needs := queryOf(q, garden.OwnPollen, q.b)
	for _, h := range queryOf(q, q.b.Heads, season) {
		r := headRow{Head: h, Parents: words[h.Cross], State: compose.HeadWords(h), Open: h.Lost.IsZero() && h.Harvested.IsZero(),
			OwnPollen: needs(h)}
		if r.Open {
			d.Open = append(d.Open, r)
		} else {
			d.Done = append(d.Done, r)
		}
	}
	return q.render("heads", "Heads", d)
}

// crossWords are a season's crosses, and their words by their names.
func (q *request) crossWords(season string) (list []book.Cross, words map[string]string) {
	list = queryOf(q, q.b.Crosses, season)
	words = map[string]string{}
	for _, c := range list {
		words[c.Name] = c.Words()
	}
	return list, words
}

// headDone notes what was done with a head, or adds one.
func (q *request) headDone() error {
	return q.doHead(q.r.PostFormValue("step"), q.r.PostFormValue("subject"), q.r.PostFormValue("cross"))
}

// crosses lists the season's crosses.
func (q *request) crosses() error {
	line, season := q.lineNow()
	var picks []book.Plant
	if line != nil {
		picks = q.picks(line.Name, season)
	}
	list := queryOf(q, q.b.Crosses, season)
	slices.Reverse(list)
	lots := queryOf(q, q.b.Pollen, "")
	lots = slices.DeleteFunc(lots, func(p book.Pollen) bool { return !p.UsedUp.IsZero() })
	return q.render("crosses", "Crosses", struct {
		List                 []book.Cross
		Seed, Pollen, Stored string
		Picks                []book.Plant
		Lots                 []book.Pollen // stored pollen that is not used up
	}{list, q.r.FormValue("seed"), q.r.FormValue("pollen"), q.r.FormValue("stored"), picks, lots})
}

// mostPicks are plants that a cross can be made of by one touch each.
const mostPicks = 24

// picks are the season's plants that a cross is likely made of: those kept and in reserve,
// or all where there are fewer than two of those.
func (q *request) picks(line, season string) []book.Plant {
	season = query(q, func(ctx context.Context) (string, error) { return garden.SeasonWithReadings(ctx, q.b, line, season) })
	all := queryOf(q, q.b.Plants, book.PlantFilter{Line: line, Season: season})
	chosen := slices.DeleteFunc(slices.Clone(all), func(p book.Plant) bool { return p.Status != book.Kept && p.Status != book.Reserve })
	if len(chosen) < 2 {
		chosen = slices.DeleteFunc(all, func(p book.Plant) bool { return p.Status == book.Lost || p.Status == book.OffType })
	}
	return chosen[:min(len(chosen), mostPicks)]
}

// addCross notes a cross with its heads.
func (q *request) addCross() error {
	f := q.filled()
	heads := f.Count("heads")
	c := book.Cross{SeedParent: f.Text("seed"), PollenParent: f.Text("pollen"), MadeOn: f.Day("on"), Note: q.r.PostFormValue("note")}
	if f.Err != nil {
		return f.Err
	}
	kind := book.Kind(q.r.PostFormValue("kind"))
	if lot, stored := strings.CutPrefix(string(kind), "stored "); stored {
		c.Pollen, kind = lot, ""
	}
	switch {
	case c.SeedParent == "":
		return wrongf("Name the plant that bears the seed.")
	case kind == book.KindSelf || kind == book.KindOpen:
		c.Kind, c.PollenParent = kind, ""
	case c.PollenParent == "" && c.Pollen == "":
		c.Kind = book.KindCross // by hand, from a plant that is not known
	}
	made, err := q.cross(q.b, c, heads)
	if err != nil {
		return err
	}
	advice, err := garden.AdviseCross(q.ctx(), q.b, made)
	if err != nil {
		return err
	}
	for _, f := range []func(context.Context, *book.Book, *book.Cross) (string, error){garden.CrossDoubt, garden.PollenDoubt} {
		if doubt, err := f(q.ctx(), q.b, made); err != nil {
			return err
		} else if doubt != "" {
			advice = append(advice, words.Sentence(doubt))
		}
	}
	text := made.Name + ": " + made.Words() + headsWords(made.Kind, heads)
	q.done("%s", strings.Join(append([]string{text}, advice...), " "))
	return q.back("/crosses")
}

func headsWords(kind book.Kind, heads *int) string {
	switch {
	case heads == nil || *heads == 0:
		return "."
	case kind == book.KindOpen:
		return ", with " + words.Count(*heads, "head") + " to label, and not to bag."
	}
	return ", with " + words.Count(*heads, "head") + " to bag before they open."
}

func (q *request) cross(b *book.Book, c book.Cross, heads *int) (*book.Cross, error) {
	n := 0
	if heads != nil {
		n = *heads
	}
	if n > 200 {
		return nil, wrongf("%d heads are too many for one cross; at most 200.", n)
	}
	if c.Season = q.seasonOn(c.MadeOn); q.err != nil {
		return nil, q.err
	}
	made, _, err := b.AddCross(q.ctx(), c, n)
	return made, err
}

type packetRow struct {
	book.Packet
	Of   string
	Open *book.GerminationTest // the test that is not read yet
	Good string                // how many sprouted in the last that was
	Age  string                // until when it is worth sowing, and how much of it comes
}

// Holds is what is in it, and where it lies.
func (p packetRow) Holds() string { return enter.Holds(p.Packet) }

// packets lists packets and sowings.
func (q *request) packets() error {
	_, words := q.crossWords("")
	packed := map[string]bool{}
	d := struct {
		List    []packetRow
		Sowings []book.Sowing
		Ripe    []book.Head // harvested, and in no packet yet
		Head    string
	}{Sowings: queryOf(q, q.b.Sowings, ""), Head: q.r.FormValue("head")}
	for _, p := range queryOf(q, q.b.Packets, "") {
		r := packetRow{Packet: p, Of: p.FounderGroup, Age: queryOf(q, q.ageWords, &p)}
		if p.Cross != "" {
			r.Of = words[p.Cross]
		}
		for _, h := range p.Heads {
			packed[h] = true
		}
		for i := range p.Tests {
			t := &p.Tests[i]
			if t.Read.IsZero() {
				r.Open = t
			} else if t.Seeds > 0 {
				r.Good = strconv.Itoa(t.Sprouted) + " of " + strconv.Itoa(t.Seeds) + " sprouted"
			}
		}
		d.List = append(d.List, r)
	}
	slices.Reverse(d.List)
	slices.Reverse(d.Sowings)
	for _, h := range queryOf(q, q.b.Heads, q.seasonNow()) {
		if !h.Harvested.IsZero() && h.Lost.IsZero() && !packed[h.Name] {
			d.Ripe = append(d.Ripe, h)
		}
	}
	return q.render("packets", "Packets", d)
}

// history lists what was entered, by whom.
func (q *request) history() error {
	return q.render("history", "History", queryOf(q, q.b.History, 200))
}

// undo takes one change back, if it is still the newest.
func (q *request) undo() error {
	id, err := strconv.ParseInt(q.r.PostFormValue("change"), 10, 64)
	if err != nil || id <= 0 {
		return wrongf("Say what is to be taken back.")
	}
	c, err := q.b.Undo(q.ctx(), id)
	switch {
	case errors.Is(err, book.ErrChangedSince):
		return &wrongError{http.StatusConflict, "Not taken back: something else was entered since, perhaps on another device. See the history."}
	case err != nil:
		return err
	}
	q.mention("Taken back: %s.", c.What)
	path, _, _ := strings.Cut(q.backOr("/history"), "?")
	if id, ok := strings.CutPrefix(path, "/plants/"); ok { // which may have no such name any more
		id, err := url.PathUnescape(id)
		if _, gone := q.b.Plant(q.ctx(), id); err == nil && errors.Is(gone, book.ErrNotFound) {
			return q.to("/plants")
		}
	}
	return q.back("/history")
}

// plantPath is a plant's page.
func plantPath(id string) string { return "/plants/" + url.PathEscape(id) }
