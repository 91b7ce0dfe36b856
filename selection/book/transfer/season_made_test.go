package transfer

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/book/naming"
	"hueward/selection/book/record"
)

// size of a made-up book.
type size struct {
	seasons, plants, readings int
	plain                     bool // all readings by an instrument, none of photos
}

// small is for every run; a grower's book after twenty years is full.
var (
	small = size{4, 400, 900, false}
	full  = size{20, 40_000, 100_000, false}
)

// awkward are texts that a careless table would not give back.
var awkward = []string{"", "sturdy", "=1+1", "+49 30", "-", "@home", "5\" stems, “tall”", " spaces around ", "two\nlines",
	"two\r\nlines\r", "a;b", "tab\there", "0012", "1,5", "2026-07-04", "Ünïcödé 🌼", "\ufeffmark", "NULL", "'", "trailing\t"}

// makeBook fills the book with seasons of breeding, by SQL: every table and every
// column has something in it.
func makeBook(t testing.TB, b *book.Book, z size) {
	t.Helper()
	r := rand.New(rand.NewPCG(4, uint64(z.plants)))
	err := b.Change(context.Background(), func(tx *record.Tx) string {
		tx.Do("UPDATE change_now SET change_id = NULL")
		insert := tx.Add
		maybe := func(v any) any {
			if r.IntN(3) == 0 {
				return nil
			}
			return v
		}
		word := func() string { return awkward[r.IntN(len(awkward))] }
		label := func() string { // as the book keeps them
			for {
				if s, err := naming.CleanLabel(word()); err == nil {
					return s
				}
			}
		}
		day := func(season int) string {
			return fmt.Sprintf("%d-%02d-%02d", season, 3+r.IntN(7), 1+r.IntN(28))
		}
		stamp := func(season int) string {
			return day(season) + fmt.Sprintf("T%02d:%02d:%02dZ", r.IntN(24), r.IntN(60), r.IntN(60))
		}
		real := func(low, high float64) float64 { return low + (high-low)*r.Float64() }

		var lines, seasons []int64
		for i, n := range []string{"buff apricot", "old cosmos", "Šedá “linka”", "line, with; all"} {
			id := insert("line", "name, key, note, added_at, crop", n, naming.Key(n), word(), stamp(2006), []string{"calendula", "cosmos", "",
				"zinnia"}[i])
			lines = append(lines, id)
			for range 3 {
				insert("target", "line_id, aim, l, a, b, within, source, measured, set_at", id, []string{"move", "hold"}[r.IntN(2)], real(0, 100),
					real(-90, 90), real(-90, 90), real(0.1, 9), word(), r.IntN(2), stamp(2006))
			}
		}
		insert("crop_value", "crop, field, value", "zinnia", "ripe", "when the head is brown, “dry”")
		insert("crop_value", "crop, field, value", "zinnia", "days", "40")
		insert("setting", "name, value", "last-frost", "05-15")
		insert("crop", "name, key, title, base, added_at", "peony", "peony", "peony, “old”", "other", stamp(2006))
		insert("crop", "name, key, title, base, added_at", "zinnia-4x", "zinnia-4x", "zinnia of four sets", "zinnia", stamp(2006))
		insert("founder_group", "name, key, inbreeding, note, added_at", "a bought Variety", "a bought variety", 0.5, word(), stamp(2006))
		insert("founder_group", "name, key, inbreeding, note, added_at", "from a neighbour", "from a neighbour", nil, "=SUM(A1)", stamp(2006))
		var traits []int64
		for _, tr := range append(book.UsualTraits[:2:2], book.Trait{Name: "note", Unit: "mm", Low: new(0.0), Note: word()},
			book.Trait{Name: "scent", Better: "more"}) {
			words := tr.Words
			if words == nil {
				words = []string{}
			}
			traits = append(traits, insert("trait", "name, key, unit, low, high, better, words, note", tr.Name, naming.Key(tr.Name), tr.Unit,
				tr.Low, tr.High, tr.Better, asJSON(t, words), tr.Note))
		}
		insert("camera_model", "camera, key, model, kind, patches, loo_de, photo, learnt_at", "Made-up Phone 3", "made-up phone 3",
			`{"curve": [1, 2.5], "x": "\"y"}`, "matrix", 24, 1.25, "chart.jpg", stamp(2010))
		insert("camera_model", "camera, key, model, kind, patches, loo_de, photo, learnt_at", "Garden, Pocket", "garden, pocket", `[]`, "gains",
			1, 0.0, "", stamp(2010))

		var plants, before, packets []int64
		each := z.plants / z.seasons
		for s := range z.seasons {
			year := 2007 + s
			season := insert("season", "name, key", fmt.Sprint(year), fmt.Sprint(year))
			seasons = append(seasons, season)
			var sowings []int64
			for i := range packets[max(0, len(packets)-5):] {
				p := packets[len(packets)-1-i]
				n := fmt.Sprintf("S%02d-%03d", year%100, i+1)
				n += string(naming.CheckLetter(n))
				sowings = append(sowings, insert("sowing", "name, key, packet_id, line_id, season_id, sown_on, seeds, note, added_at, grams, "+
					"planted_out_on", n, naming.Key(n), p, lines[i%4], season, maybe(day(year)), 1+r.IntN(90), word(), stamp(year),
					maybe(real(0.1, 3)), maybe(day(year))))
			}
			var now []int64
			for i := range each {
				n := fmt.Sprintf("%02d-%03d", year%100, i+1)
				switch i % 4 {
				case 0:
					n = fmt.Sprintf("M-%02d-%d", i, year)
				case 1:
					n = fmt.Sprintf("Žl.%d_%d", i, year)
				default:
					n += string(naming.CheckLetter(n))
				}
				var seed, pollen, group, inbreeding, sowing any
				if len(before) > 0 && i%9 != 0 {
					seed, pollen = before[r.IntN(len(before))], maybe(before[r.IntN(len(before))])
					if len(sowings) > 0 {
						sowing = maybe(sowings[r.IntN(len(sowings))])
					}
				}
				group = ""
				if seed == nil {
					group, inbreeding = label(), maybe(r.Float64())
				}
				id := insert("plant", "name, key, line_id, season_id, status, seed_parent_id, pollen_parent_id, founder_group, "+
					"founder_inbreeding, note, added_at, sowing_id",
					n, naming.Key(n), lines[i%4], season, string(book.Statuses[r.IntN(len(book.Statuses))]), seed, pollen, group, inbreeding, word(),
					stamp(year), sowing)
				if i%7 == 3 && len(now) > 0 { // a tuber of the year's first
					must.Have(tx.Exec(`UPDATE plant SET clone_of_id = ?, cloned_by = 'tuber', seed_parent_id = NULL, pollen_parent_id = NULL,
						place = 'bed 2, row 3' WHERE id = ?`, now[0], id))(t)
				}
				now = append(now, id)
				for k, tr := range traits {
					if i%(k+2) == 0 {
						v := float64(1 + r.IntN(5))
						if k == 2 {
							v = real(0, 300)
						}
						insert("score", "plant_id, trait_id, value, scored_on, note, added_at", id, tr, v, maybe(day(year)), word(), stamp(year))
					}
				}
			}
			for i := range max(5, each/100) {
				n := fmt.Sprintf("X%02d-%03d", year%100, i+1)
				n += string(naming.CheckLetter(n))
				seed, pollen := now[r.IntN(len(now))], any(now[r.IntN(len(now))])
				kind := []string{"cross", "sib"}[r.IntN(2)]
				switch i % 5 {
				case 1:
					kind, pollen = "self", seed
				case 2:
					kind, pollen = "open", nil
				case 3:
					kind, pollen = "cross", nil
				}
				if pollen == any(seed) {
					kind = "self"
				}
				var stored any
				if pollen != nil {
					ln := fmt.Sprintf("L%02d-%03d", year%100, i+1)
					ln += string(naming.CheckLetter(ln))
					stored = maybe(insert("pollen", "name, key, plant_id, season_id, collected_on, dried_on, good_until, used_up_on, place, note, "+
						"added_at", ln, naming.Key(ln), pollen, season, fmt.Sprintf("%d-03-01", year), maybe(day(year)), maybe(day(year)), maybe(day(year)),
						label(), word(), stamp(year)))
				}
				cross := insert("cross", "name, key, line_id, season_id, kind, seed_parent_id, pollen_parent_id, made_on, seeds, note, added_at, "+
					"pollen_id", n, naming.Key(n), lines[i%4], season, kind, seed, pollen, maybe(day(year)), maybe(r.IntN(80)), word(), stamp(year),
					stored)
				var plant string
				must.OK(t, tx.QueryRow("SELECT name FROM plant WHERE id = ?", now[i]).Scan(&plant))
				pn := fmt.Sprintf("P%02d-%03d", year%100, i+1)
				pn += string(naming.CheckLetter(pn))
				packet := insert("packet", "name, key, line_id, season_id, cross_id, founder_group, seeds, made_on, dried_on, place, paper, "+
					"note, added_at, grams, seeds_by_weight",
					pn, naming.Key(pn), lines[i%4], season, maybe(cross), label(), maybe(r.IntN(200)), maybe(day(year)), maybe(day(year)), label(),
					label(),
					word(), stamp(year), maybe(real(0.1, 9)), r.IntN(2))
				for range r.IntN(3) {
					insert("seed_out", "packet_id, day, how, seeds, grams, to_whom, note", packet, day(year), []string{"given", "sold", "lost"}[r.IntN(3)],
						1+r.IntN(30), maybe(real(0.1, 2)), word(), word())
				}
				packets = append(packets, packet)
				for k := range 3 {
					hn := fmt.Sprintf("%s-%d", plant, k+1)
					if k == 2 {
						hn = fmt.Sprintf("head.%d.%d", year, i)
					}
					head := insert("head", "name, key, plant_id, number, season_id, cross_id, bagged_on, stigmas_dry_on, harvested_on, seeds, "+
						"lost_on, note, added_at, emasculated_on",
						hn, naming.Key(hn), now[i], k+1, season, maybe(cross), maybe(day(year)), maybe(day(year)), maybe(day(year)), maybe(r.IntN(50)),
						maybe(day(year)), word(), stamp(year), maybe(day(year)))
					for d := range r.IntN(5) {
						insert("pollination", "head_id, day, note", head, fmt.Sprintf("%d-07-%02d", year, 10+d), word())
					}
					if k > 0 {
						insert("packet_head", "packet_id, head_id", packet, head)
					}
				}
				for range r.IntN(3) {
					n := 1 + r.IntN(20)
					if read := maybe(day(year)); read != nil {
						insert("germination_test", "packet_id, started_on, seeds, read_on, sprouted, note", packet, day(year), n, read, r.IntN(n+1), word())
					} else {
						insert("germination_test", "packet_id, started_on, seeds, note", packet, day(year), n, word())
					}
				}
			}
			plants, before = append(plants, now...), now
		}
		colors := []colorimg.Share{{Lab: colorimg.Triple{74.25, 18, 36}, Share: 0.8}, {Lab: colorimg.Triple{60, 30, 50}, Share: 0.2}}
		of := [2]int{} // readings so far: by instruments, of photos
		for of[0]+of[1] < z.readings {
			s := r.IntN(len(seasons))
			if z.plain || of[0] <= of[1] {
				se := real(0.1, 2)
				insert("reading", "plant_id, season_id, source, method, status, l, a, b, precision_de, trueness_de, measured_at",
					plants[r.IntN(len(plants))], seasons[s], []string{"colorimeter", "old meter, borrowed"}[r.IntN(2)], 0, "ok", real(20, 95), real(-50,
						80), real(-50, 90), se, se, stamp(2007+s))
				of[0]++
				continue
			}
			i := of[1]
			sum := booktest.Reading(fmt.Sprint(z, i)).SHA256
			photo := insert("photo", "sha256, plant_id, season_id, path, name, bytes, taken_at, camera, width, height, added_at", sum,
				maybe(plants[r.IntN(len(plants))]), seasons[s],
				fmt.Sprintf("photos/%d/M-%d/IMG_%d.jpg", 2007+s, i%97, i), fmt.Sprintf("IMG, %d.jpg", i), r.IntN(9e6), maybe(stamp(2007+s)), word(),
				4000, 3000, stamp(2007+s))
			for range 1 + r.IntN(2) {
				m := booktest.Reading(fmt.Sprint(i))
				m.Petal.Outline, m.Colors, m.Lab = [][]colorimg.Point{madeOutline(r)}, colors, &colorimg.Triple{real(20, 101), real(-50, 80), real(-50,
					90)}
				m.Reason, m.Tag.Text = word(), "M-1 "+word()
				if r.IntN(10) == 0 {
					m = &colorimg.Reading{Status: colorimg.Refused, Reason: "no grey card found; give --card x,y,w,h",
						Card: colorimg.CardRead{Gains: [3]float64{1, 1, 1}}}
				}
				b.InsertReading(tx, photo, m)
				of[1]++
			}
		}
		return ""
	})
	if err != nil {
		t.Fatal(err)
	}
}

func asJSON(t testing.TB, v any) string {
	t.Helper()
	b := must.Have(json.Marshal(v))(t)
	return string(b)
}

// madeAndExported is a book that makeBook filled, and the folder of its tables.
func madeAndExported(t testing.TB, z size) (b *book.Book, dir string) {
	t.Helper()
	b = booktest.New(t)
	makeBook(t, b, z)
	dir = filepath.Join(t.TempDir(), "out")
	must.Have(ExportDir(context.Background(), b, dir, false, false))(t)
	return b, dir
}

// madeOutline is a bloom's with as many points as one has in a photo of twelve
// megapixels, on the grid that it is found on there.
func madeOutline(r *rand.Rand) []colorimg.Point {
	const points, grid = 150, 6
	x, y, radius := 1000+2000*r.Float64(), 1000+1000*r.Float64(), 500+500*r.Float64()
	out := make([]colorimg.Point, points)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / points)
		petals := radius * (1 - 0.2*math.Abs(math.Sin(math.Pi*float64(i)/10)) + 0.02*r.Float64())
		out[i] = colorimg.Point{math.Round((x+petals*cos)/grid)*grid + 0.5, math.Round((y+petals*sin)/grid)*grid + 0.5}
	}
	return out
}
