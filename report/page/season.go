package page

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"hueward/report/compose"
	"hueward/report/words"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// headRow is one head of the list, and how far it is.
type headRow struct {
	book.Head
	Parents, State string
	Open           bool
}

// heads lists the season's heads.
func (q *request) heads() error {
	season, err := q.seasonNow()
	if err != nil {
		return err
	}
	_, chosen, err := q.lineNow()
	if err != nil {
		return err
	}
	if chosen != "" {
		season = chosen
	}
	heads, err := q.b.Heads(q.ctx(), season)
	if err != nil {
		return err
	}
	crosses, err := q.b.Crosses(q.ctx(), season)
	if err != nil {
		return err
	}
	words := map[string]string{}
	for _, c := range crosses {
		words[c.Name] = c.Words()
	}
	d := struct {
		Open, Done []headRow
		Crosses    []book.Cross
		Words      map[string]string
		Season     string
		Head       string
	}{Crosses: crosses, Words: words, Season: season, Head: q.r.FormValue("head")}
	for _, h := range heads {
		r := headRow{Head: h, Parents: words[h.Cross], State: compose.HeadWords(h), Open: h.Lost.IsZero() && h.Harvested.IsZero()}
		if r.Open {
			d.Open = append(d.Open, r)
		} else {
			d.Done = append(d.Done, r)
		}
	}
	return q.render("heads", "Heads", d)
}

// headDone notes what was done with a head, or adds one.
func (q *request) headDone() error {
	return q.doHead(q.r.PostFormValue("step"), q.r.PostFormValue("subject"), q.r.PostFormValue("cross"))
}

// crosses lists the season's crosses.
func (q *request) crosses() error {
	line, season, err := q.lineNow()
	if err != nil {
		return err
	}
	var picks []book.Plant
	if line != nil {
		if picks, err = q.picks(line.Name, season); err != nil {
			return err
		}
	}
	list, err := q.b.Crosses(q.ctx(), season)
	if err != nil {
		return err
	}
	slices.Reverse(list)
	return q.render("crosses", "Crosses", struct {
		List         []book.Cross
		Seed, Pollen string
		Picks        []book.Plant
	}{list, q.r.FormValue("seed"), q.r.FormValue("pollen"), picks})
}

// mostPicks are plants that a cross can be made of by one touch each.
const mostPicks = 24

// picks are the season's plants that a cross is likely made of: those kept and in reserve,
// or all where there are fewer than two of those.
func (q *request) picks(line, season string) ([]book.Plant, error) {
	season, err := garden.SeasonWithReadings(q.ctx(), q.b, line, season)
	if err != nil {
		return nil, err
	}
	all, err := q.b.Plants(q.ctx(), book.PlantFilter{Line: line, Season: season})
	if err != nil {
		return nil, err
	}
	chosen := slices.DeleteFunc(slices.Clone(all), func(p book.Plant) bool { return p.Status != book.Kept && p.Status != book.Reserve })
	if len(chosen) < 2 {
		chosen = slices.DeleteFunc(all, func(p book.Plant) bool { return p.Status == book.Lost || p.Status == book.OffType })
	}
	return chosen[:min(len(chosen), mostPicks)], nil
}

// addCross notes a cross with its heads.
func (q *request) addCross() error {
	heads, err := q.countOf("heads")
	if err != nil {
		return err
	}
	on, err := q.dayOf("on")
	if err != nil {
		return err
	}
	c := book.Cross{SeedParent: strings.TrimSpace(q.r.PostFormValue("seed")), PollenParent: strings.TrimSpace(q.r.PostFormValue("pollen")),
		MadeOn: on, Note: q.r.PostFormValue("note")}
	switch kind := book.Kind(q.r.PostFormValue("kind")); {
	case c.SeedParent == "":
		return wrongf("Name the plant that bears the seed.")
	case kind == book.KindSelf || kind == book.KindOpen:
		c.Kind, c.PollenParent = kind, ""
	case c.PollenParent == "":
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
	if doubt, err := garden.CrossDoubt(q.ctx(), q.b, made); err != nil {
		return err
	} else if doubt != "" {
		advice = append(advice, sentence(doubt))
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
	var err error
	if c.Season, err = garden.SeasonOn(q.ctx(), q.b, "", c.MadeOn, q.opt.Now()); err != nil {
		return nil, err
	}
	made, _, err := b.AddCross(q.ctx(), c, n)
	return made, err
}

type packetRow struct {
	book.Packet
	Of   string
	Left *int
	Open *book.GerminationTest // the test that is not read yet
	Good string                // how many sprouted in the last that was
}

// packets lists packets and sowings.
func (q *request) packets() error {
	list, err := q.b.Packets(q.ctx(), "")
	if err != nil {
		return err
	}
	sowings, err := q.b.Sowings(q.ctx(), "")
	if err != nil {
		return err
	}
	season, err := q.seasonNow()
	if err != nil {
		return err
	}
	heads, err := q.b.Heads(q.ctx(), season)
	if err != nil {
		return err
	}
	crosses, err := q.b.Crosses(q.ctx(), "")
	if err != nil {
		return err
	}
	words := map[string]string{}
	for _, c := range crosses {
		words[c.Name] = c.Words()
	}
	packed := map[string]bool{}
	d := struct {
		List    []packetRow
		Sowings []book.Sowing
		Ripe    []book.Head // harvested, and in no packet yet
		Head    string
	}{Sowings: sowings, Head: q.r.FormValue("head")}
	for _, p := range list {
		r := packetRow{Packet: p, Of: p.FounderGroup}
		if p.Cross != "" {
			r.Of = words[p.Cross]
		}
		for _, h := range p.Heads {
			packed[h] = true
		}
		if p.Seeds != nil {
			left := max(0, *p.Seeds-p.Sown)
			r.Left = &left
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
	for _, h := range heads {
		if !h.Harvested.IsZero() && h.Lost.IsZero() && !packed[h.Name] {
			d.Ripe = append(d.Ripe, h)
		}
	}
	return q.render("packets", "Packets", d)
}

// packetDone takes all forms of the packets' page.
func (q *request) packetDone() error {
	name := q.r.PostFormValue("packet")
	seeds, err := q.countOf("seeds")
	if err != nil {
		return err
	}
	on, err := q.dayOf("on")
	if err != nil {
		return err
	}
	ctx := q.ctx()
	switch q.r.PostFormValue("do") {
	case "fill":
		p := book.Packet{Heads: q.r.PostForm["head"], FounderGroup: strings.TrimSpace(q.r.PostFormValue("bought")), Seeds: seeds, Made: on,
			Place: q.r.PostFormValue("place"), Paper: q.r.PostFormValue("paper")}
		if len(p.Heads) == 0 && p.FounderGroup == "" {
			return wrongf("Tick the heads whose seed is in the packet, or name the variety that was bought.")
		}
		if p.FounderGroup != "" {
			line, _, err := q.aimed()
			if err != nil {
				return err
			}
			p.Line = line.Name
			if p.Season, err = garden.SeasonOn(ctx, q.b, "", on, q.opt.Now()); err != nil {
				return err
			}
		}
		made, err := q.b.AddPacket(ctx, p)
		if err != nil {
			return err
		}
		q.done("Packet %s filled.", made.Name)
	case "dry":
		place := q.r.PostFormValue("place")
		fix := book.PacketFix{Dried: &on}
		if place != "" {
			fix.Place = &place
		}
		doubts, err := garden.DryDoubts(ctx, q.b, []string{name}, on)
		if err != nil {
			return err
		}
		if _, err := q.b.FixPackets(ctx, []string{name}, fix); err != nil {
			return err
		}
		text := fmt.Sprintf("Packet %s is dry.", name)
		for _, d := range doubts {
			text += " " + sentence(d)
		}
		q.done("%s", text)
	case "sow":
		n := book.NewSowing{Packet: name, Sown: on}
		if seeds != nil {
			n.Seeds = *seeds
		}
		if n.Season, err = garden.SeasonOn(ctx, q.b, "", on, q.opt.Now()); err != nil {
			return err
		}
		made, p, err := q.b.AddSowing(ctx, n)
		if err != nil {
			return err
		}
		text := words.Count(made.Seeds, "seed") + " of " + p.Name + " sown as " + made.Name + "."
		if p.Seeds != nil && p.Sown > *p.Seeds {
			text += " That is more than was counted into the packet."
		}
		age, ok, err := garden.AgeOf(ctx, q.b, p, on)
		if err != nil {
			return err
		}
		if w := age.Warning(p.Name, made.Seeds); ok && w != "" {
			text += " " + sentence(w)
		}
		q.done("%s", text)
	case "up":
		if seeds == nil || *seeds == 0 {
			return wrongf("Say how many plants came up.")
		}
		names, over, err := q.b.CameUp(ctx, name, *seeds, nil)
		if err != nil {
			return err
		}
		text := words.Count(len(names), "plant") + " came up: " + names[0]
		if len(names) > 1 {
			text += " to " + names[len(names)-1]
		}
		if over {
			text += "; more than seeds were sown"
		}
		q.done("%s.", text)
	case "test":
		if seeds == nil || *seeds == 0 {
			return wrongf("Say how many seeds are laid out.")
		}
		if _, _, err := q.b.StartTest(ctx, name, book.GerminationTest{Started: on, Seeds: *seeds}); err != nil {
			return err
		}
		q.done("Germination test of %s of %s begun.", words.Count(*seeds, "seed"), name)
	case "read":
		if seeds == nil {
			return wrongf("Say how many sprouted.")
		}
		if _, err := q.b.ReadTest(ctx, name, *seeds, on, ""); err != nil {
			return err
		}
		q.done("%d sprouted in the test of %s.", *seeds, name)
	default:
		return wrongf("Say what was done with the packet.")
	}
	return q.back("/packets")
}

// history lists what was entered, by whom.
func (q *request) history() error {
	list, err := q.b.History(q.ctx(), 200)
	if err != nil {
		return err
	}
	return q.render("history", "History", list)
}

// undo takes one change back, if it is still the newest.
func (q *request) undo() error {
	id, err := strconv.ParseInt(q.r.PostFormValue("change"), 10, 64)
	if err != nil || id <= 0 {
		return wrongf("Say what is to be taken back.")
	}
	c, err := q.b.UndoOnly(q.ctx(), id)
	switch {
	case errors.Is(err, book.ErrChangedSince):
		return &wrongError{http.StatusConflict, "Not taken back: something else was entered since, perhaps on another device. See the history."}
	case err != nil:
		return err
	}
	q.mention("Taken back: %s.", c.What)
	return q.back("/history")
}

// plantPath is a plant's page.
func plantPath(id string) string { return "/plants/" + url.PathEscape(id) }
