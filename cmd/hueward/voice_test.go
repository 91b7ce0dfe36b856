package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html"
	"io"
	"math"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/report/words"
	"hueward/selection"
)

// voice is a book of two seasons in the making.
type voice struct {
	t       *testing.T
	dir     string
	base    string // of its page
	lab     map[string]cie.Lab
	rnd     *rand.Rand
	parents map[string][2]string
}

func (v *voice) run(args ...string) string {
	v.t.Helper()
	out, _ := hueward(v.t, statusDone, append(args, "--book", v.dir)...)
	return out
}

func (v *voice) json(into any, args ...string) {
	v.t.Helper()
	must.OK(v.t, json.Unmarshal([]byte(v.run(append(args, "--json")...)), into))
}

func (v *voice) page(path string) string {
	v.t.Helper()
	r := must.Have(http.Get(v.base + path))(v.t)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != 200 {
		v.t.Fatalf("%s: status %d, %v", path, r.StatusCode, err)
	}
	return html.UnescapeString(string(b))
}

// grow adds plants with an instrument's reading each.
func (v *voice) grow(line, season string, plants map[string]cie.Lab) {
	v.t.Helper()
	var ps, rs strings.Builder
	ps.WriteString("plant,line,season,seed_parent,pollen_parent\n")
	rs.WriteString("plant,season,date,L,a,b,se,source\n")
	for id, c := range plants {
		v.lab[id] = c
		fmt.Fprintf(&ps, "%s,%s,%s,%s,%s\n", id, line, season, v.parents[id][0], v.parents[id][1])
		fmt.Fprintf(&rs, "%s,%s,%s-07-14,%.2f,%.2f,%.2f,0.4,colorimeter\n", id, season, season, c.L, c.A, c.B)
	}
	dir := v.t.TempDir()
	for name, text := range map[string]string{"plants.csv": ps.String(), "readings.csv": rs.String()} {
		must.OK(v.t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666))
	}
	v.run("import", filepath.Join(dir, "plants.csv"), filepath.Join(dir, "readings.csv"))
}

// agree holds that rank, pairs, plan, report and page name the same plants and numbers, and returns what rank and pairs say.
// The plan and the report take longest, and are looked at where whole is true.
func (v *voice) agree(line string, whole bool) (r selection.RankJSON, p selection.PairsJSON) {
	t := v.t
	t.Helper()
	v.json(&r, "rank", line)
	v.json(&p, "pairs", line)
	by := map[string]selection.PlantJSON{}
	var keep []string
	going := 0
	for i, q := range r.Plants {
		by[q.Plant] = q
		if i > 0 && q.Sorts < r.Plants[i-1].Sorts {
			t.Errorf("%s: rank %d, %s, has %.2f after %.2f", line, q.Rank, q.Plant, q.Sorts, r.Plants[i-1].Sorts)
		}
		if q.Advice == selection.Keep {
			keep = append(keep, q.Plant+" "+words.Fixed(q.Sorts, 1))
		}
		if q.Advice != selection.Pass {
			going++
		}
	}

	// Terminal and CSV show the number that sorts.
	text := v.run("rank", line)
	for _, q := range r.Plants {
		if !regexp.MustCompile(`(?m)^ *\d+  ` + q.Plant + ` +` + q.Advice.Word() + ` +\S* ?\d+ % +` + words.Fixed(q.Sorts, 1) +
			` `).MatchString(text) {
			t.Errorf("%s: the terminal does not show %s, %s, at %.1f:\n%s", line, q.Plant, q.Advice.Word(), q.Sorts, text)
		}
	}
	rows := must.Have(csv.NewReader(strings.NewReader(v.run("rank", line, "--csv"))).ReadAll())(t)
	at := slices.Index(rows[0], "sorted_by")
	for i, q := range r.Plants {
		if rows[i+1][2] != q.Plant || rows[i+1][at] != words.Fixed(q.Sorts, 2) {
			t.Errorf("%s: CSV row %d is %s %s, want %s %.2f", line, i+1, rows[i+1][2], rows[i+1][at], q.Plant, q.Sorts)
		}
	}

	// What is crossed is kept or in reserve, and says for which cross; what is dropped is in no pair.
	var crosses []string
	for _, list := range [][]selection.PairJSON{p.Chosen, p.Pairs} {
		for _, x := range list {
			for _, id := range []string{x.SeedParent, x.PollenParent} {
				if q, ok := by[id]; !ok || q.Advice == selection.Pass {
					t.Errorf("%s: pairs names %s, which rank has as %+v", line, id, q)
				}
			}
		}
	}
	needed := map[string]bool{}
	for _, x := range p.Chosen {
		name := x.SeedParent + " × " + x.PollenParent
		if x.Kind == selection.KindSelf {
			name = x.SeedParent + " selfed"
		}
		crosses = append(crosses, name)
		for _, id := range []string{x.SeedParent, x.PollenParent} {
			needed[id] = true
			if !slices.Contains(by[id].Crosses, name) {
				t.Errorf("%s: %s is in %s; rank says %v", line, id, name, by[id].Crosses)
			}
			if q := by[id]; q.Advice == selection.Reserve && !strings.Contains(q.Why, name) {
				t.Errorf("%s: %s is held for %s, but rank says %q", line, id, name, q.Why)
			}
		}
	}
	for id, q := range by {
		if len(q.Crosses) > 0 != needed[id] {
			t.Errorf("%s: %s is in crosses %v by rank, in pairs: %v", line, id, q.Crosses, needed[id])
		}
	}

	if whole {
		v.reported(line, going, keep, crosses)
	}

	// So does the page.
	if line != "buff" { // the first line is the one that is looked at
		return r, p
	}
	list := v.page("/plants")
	for _, q := range r.Plants {
		i := strings.Index(list, `id="p-`+q.Plant+`"`)
		if i < 0 {
			t.Errorf("%s: the page does not list %s", line, q.Plant)
			continue
		}
		row := list[i:]
		row = row[:strings.Index(row, "</li>")]
		if !strings.Contains(row, "<b>"+words.Fixed(q.Sorts, 1)+"</b>") || !strings.Contains(row, q.Advice.Word()) {
			t.Errorf("%s: the page has %s as %q, want %.1f, %s", line, q.Plant, row, q.Sorts, q.Advice.Word())
		}
	}
	var ticked []string
	for _, m := range regexp.MustCompile(`class="chosen">.*?name="pair" value="([^"]+)"`).FindAllStringSubmatch(v.page("/pairs"), -1) {
		ticked = append(ticked, m[1])
	}
	for i, x := range p.Chosen {
		if i >= len(ticked) || ticked[i] != x.SeedParent+" "+x.PollenParent || len(ticked) != len(p.Chosen) {
			t.Errorf("%s: the page proposes %v, pairs %v", line, ticked, crosses)
			break
		}
	}
	return r, p
}

// reported holds that the plan begins with the plants that are going on, that the report shows those that are kept, with their
// numbers, and the crosses, and that report and page show the plan.
func (v *voice) reported(line string, going int, keep, crosses []string) {
	t := v.t
	t.Helper()
	var plan selection.PlanJSON
	v.json(&plan, "plan", line)
	if want := fmt.Sprintf("it begins with the %d plants that are kept or in reserve", going); !slices.Contains(plan.Assumed, want) {
		t.Errorf("%s: plan assumes %q, want %q", line, plan.Assumed, want)
	}
	name := filepath.Join(t.TempDir(), "season.html")
	v.run("report", line, "-o", name)
	b := must.Have(os.ReadFile(name))(t)
	shown := html.UnescapeString(string(b))
	verdict := shown[strings.Index(shown, `class="picks"`):]
	verdict = verdict[:strings.Index(verdict, "</ul>")]
	var kept []string
	for _, m := range regexp.MustCompile(`<b>([^<]+)</b> <span class="numbers">([^<]+)</span>`).FindAllStringSubmatch(verdict, -1) {
		kept = append(kept, m[1]+" "+m[2])
	}
	if d := cmp.Diff(keep, kept); d != "" {
		t.Errorf("%s: the report's Keep box (-rank +report):\n%s", line, d)
	}
	var proposed []string
	for _, m := range regexp.MustCompile(`<(?:h3|li)><span class="dot"[^>]*></span>(?:<span class="dot"[^>]*></span>)?([^<]+)</(?:h3|li)>`).
		FindAllStringSubmatch(shown, -1) {
		proposed = append(proposed, m[1])
	}
	if d := cmp.Diff(crosses, proposed); d != "" {
		t.Errorf("%s: crosses in the report (-pairs +report):\n%s", line, d)
	}
	places := map[string]string{"report": shown}
	if line == "buff" && plan.Season == "2025" { // once: it takes a second
		places["page"] = v.page("/plan")
	}
	for where, shown := range places {
		shown = strings.ReplaceAll(shown, "\u00a0", " ")
		for _, c := range plan.Choices {
			row := regexp.MustCompile(fmt.Sprintf(`(?s)<th scope="row"[^>]*>%d</th><td[^>]*>%d</td>.*?</tr>`, c.Grow, c.Keep)).FindString(shown)
			want := []string{words.Percent(c.Inbreeding[len(c.Inbreeding)-1])}
			if line == "buff" {
				want = append(want, strings.NewReplacer("< ", "under ", "> ", "over ").Replace(words.Chance(c.Reached[0])))
			}
			for _, s := range want {
				if !strings.Contains(row, s) {
					t.Errorf("%s: plan %d:%d says %s, the %s has %q", line, c.Grow, c.Keep, s, where, row)
				}
			}
		}
	}
}

// TestTwoSeasons plays two seasons through the commands, a line that is moved and one that is held, and holds at each step
// that all say the same. The garden is invented: colours are what parents pass on, and chance.
func TestTwoSeasons(t *testing.T) {
	t.Parallel()
	v := &voice{t: t, dir: filepath.Join(t.TempDir(), "book"), lab: map[string]cie.Lab{}, rnd: rand.New(rand.NewPCG(20, 2)),
		parents: map[string][2]string{}}
	hueward(t, statusDone, "new", v.dir, "--line", "buff", "--season", "2025")
	v.run("target", "buff", "--lab", "76,14,38", "--within", "4")
	v.run("target", "cosmos", "--hold", "--lab", "72,24,-7", "--within", "3")
	v.run("crops", "line", "cosmos", "cosmos")
	out, stop := serving(t, v.dir)
	defer stop()
	v.base = out.wait(t, `http://127\.0\.0\.1:\d+`)

	// 2025: plants from orange to cream; a held line with an off-type.
	founders := map[string]cie.Lab{}
	for i := range 12 {
		u := float64(i) / 11
		founders[fmt.Sprintf("M-%02d", i+1)] = cie.Lab{L: 68 + 20*u, A: 28 - 24*u + v.rnd.NormFloat64(), B: 64 - 40*u + v.rnd.NormFloat64()}
	}
	v.grow("buff", "2025", founders)
	held := map[string]cie.Lab{"C-09": {L: 82, A: 13, B: -4}}
	for i := range 8 {
		held[fmt.Sprintf("C-%02d", i+1)] = cie.Lab{L: 72 + 0.8*v.rnd.NormFloat64(), A: 24 + 0.8*v.rnd.NormFloat64(), B: -7 +
			0.6*v.rnd.NormFloat64()}
	}
	v.grow("cosmos", "2025", held)
	r, p := v.agree("buff", true)
	if r.RankedBy != "own colour" || len(p.Chosen) == 0 {
		t.Fatalf("ranked by %s, %d crosses", r.RankedBy, len(p.Chosen))
	}
	c, ring := v.agree("cosmos", true)
	for _, q := range c.Plants {
		if want := map[bool]selection.Advice{true: selection.Pass, false: selection.Keep}[q.Plant == "C-09"]; q.Advice != want {
			t.Errorf("%s of the held line: %s, %q; want %s", q.Plant, q.Advice, q.Why, want)
		}
	}
	if len(ring.Chosen) != 8 {
		t.Errorf("%d crosses hold the line, want one of each of the 8 true plants", len(ring.Chosen))
	}
	for _, x := range ring.Chosen {
		if x.Kind == selection.KindSelf {
			t.Errorf("%s is selfed, and cosmos sets hardly any seed to its own pollen", x.SeedParent)
		}
	}

	// The best is eaten: it is a candidate no more, though it was measured.
	best := r.Plants[0].Plant
	v.run("plants", "drop", best, "--as", "lost")
	r, _ = v.agree("buff", false)
	if len(r.LeftOut) != 1 || r.LeftOut[0].ID != best {
		t.Errorf("left out: %+v, want %s", r.LeftOut, best)
	}
	// The grower keeps some: those alone are paired, and it is said.
	for _, q := range r.Plants[:4] {
		v.run("plants", "keep", q.Plant)
	}
	if r, p = v.agree("buff", false); !strings.Contains(p.Only, "only the 4 plants") {
		t.Errorf("paired: %q", p.Only)
	}

	// 2026: the offspring of what was proposed.
	next := map[string]cie.Lab{}
	for k, x := range p.Chosen {
		v.run(slices.DeleteFunc([]string{"cross", x.SeedParent, map[bool]string{true: "--self",
			false: x.PollenParent}[x.Kind == selection.KindSelf],
			"--on", "2025-07-20"}, func(s string) bool { return s == "" })...)
		a, b := v.lab[x.SeedParent], v.lab[x.PollenParent]
		for i := range 4 {
			id := fmt.Sprintf("N-%d%d", k+1, i+1)
			v.parents[id] = [2]string{x.SeedParent, x.PollenParent}
			next[id] = cie.Lab{L: (a.L+b.L)/2 + 2*v.rnd.NormFloat64(), A: (a.A+b.A)/2 + 2*v.rnd.NormFloat64(), B: (a.B+b.B)/2 +
				3*v.rnd.NormFloat64()}
		}
	}
	v.grow("buff", "2026", next)
	if r, _ = v.agree("buff", true); r.RankedBy != "offspring" || r.Season != "2026" {
		t.Errorf("season %s is ranked by %s, want 2026 by offspring", r.Season, r.RankedBy)
	}
	apart := 0.0 // the two distances are not the same, or the test would tell nothing
	for _, q := range r.Plants {
		apart = max(apart, math.Abs(*q.ValueDeltaE-q.DeltaE))
	}
	if apart < 0.5 {
		t.Errorf("what plants pass on is at most %.2f off their own colour", apart)
	}
}
