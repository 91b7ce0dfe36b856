package majorgene

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// book is a made-up line: many genes of small effect, some strong ones, weather, and readings.
type book struct {
	plants   []genetics.Parents
	records  *Records
	genotype [][]int // of each plant, copies of the second allele at each strong locus
	place    map[string]int
	poly     []space.Vector
	color    []space.Vector
}

// truth is how strong genes make colours.
type truth struct {
	name   string
	loci   int
	effect func(g []int) space.Vector
	freq   [2][]float64 // of the second allele in the two groups
}

// far is a step of so many Delta E or so, from orange to cream.
func far(size float64) space.Vector {
	return space.Times(size/math.Sqrt(3), space.Vector{0.9, -0.6, -1.35})
}

func step(size float64) func(int) space.Vector {
	return func(g int) space.Vector {
		if g == 2 {
			return far(size)
		}
		return space.Vector{}
	}
}

var (
	none     = truth{name: "none", effect: func([]int) space.Vector { return space.Vector{} }, freq: [2][]float64{{}, {}}}
	dominant = truth{"dominant", 1, func(g []int) space.Vector { return step(14)(g[0]) }, [2][]float64{{0.2}, {0.7}}}
	halfway  = truth{"halfway", 1, func(g []int) space.Vector { return far(7 * float64(g[0])) }, [2][]float64{{0.3}, {0.6}}}
	pathway  = truth{"pathway", 2, func(g []int) space.Vector {
		if g[0] == 2 {
			return space.Vector{15, -12, -25}
		}
		if g[1] == 2 {
			return space.Vector{-8, 14, -6}
		}
		return space.Vector{}
	}, [2][]float64{{0.3, 0.6}, {0.6, 0.3}}}
)

// scheme is how a line is grown.
type scheme struct {
	founders, each, seasons int
	parents                 int // kept of each season; those nearest to a shade
	pure                    bool
	open                    bool // a third of the offspring have a pollen parent that is not known
}

// grow draws a book. Plants within a group scatter by about 3 in each number, of which
// half passes on, and a season shifts all by 1.
func grow(rnd *rand.Rand, s scheme, tr truth) *book {
	b := &book{place: map[string]int{}, records: &Records{}}
	z := func(sd float64) space.Vector {
		return space.Vector{sd * rnd.NormFloat64(), sd * rnd.NormFloat64(), sd * rnd.NormFloat64()}
	}
	var season []space.Vector
	for range s.seasons {
		season = append(season, z(1))
	}
	var ofSeason []int
	type rec struct {
		plant, season int
		y             space.Vector
	}
	var recs []rec
	sg := 3 / math.Sqrt2
	put := func(p genetics.Parents, poly space.Vector, g []int, at int) int {
		i := len(b.plants)
		b.place[p.ID] = i
		b.plants, b.poly, b.genotype = append(b.plants, p), append(b.poly, poly), append(b.genotype, g)
		color := space.Plus(poly, tr.effect(g))
		b.color = append(b.color, color)
		recs = append(recs, rec{i, at, space.Plus(space.Plus(color, season[at]), z(sg))})
		ofSeason = append(ofSeason, at)
		return i
	}
	middle := [2]space.Vector{{68, 30, 50}, {80, 12, 34}}
	var now []int
	for k := range 2 {
		for i := range s.founders / 2 {
			p := genetics.Parents{ID: fmt.Sprintf("%c%d", 'A'+k, i), Group: string('A' + rune(k))}
			g := make([]int, tr.loci)
			sd := sg
			if s.pure {
				p.Inbreeding, sd = 1, 0
			}
			for l := range g {
				switch {
				case s.pure:
					g[l] = 2 * k
				default:
					for range 2 {
						if rnd.Float64() < tr.freq[k][l] {
							g[l]++
						}
					}
				}
			}
			now = append(now, put(p, space.Plus(middle[k], z(sd)), g, 0))
		}
	}
	cross := func(x, y, at, number int, hide bool) int {
		mid := space.Times(0.5, space.Plus(b.poly[x], b.poly[y]))
		d := math.Sqrt(0.5)
		if s.pure && at == 1 {
			d = 0
		}
		g := make([]int, tr.loci)
		for l := range g {
			for _, parent := range [2]int{x, y} {
				if 2*rnd.Float64() < float64(b.genotype[parent][l]) {
					g[l]++
				}
			}
		}
		p := genetics.Parents{ID: fmt.Sprintf("%d-%d", at, number), Seed: b.plants[x].ID, Pollen: b.plants[y].ID}
		if hide {
			p.Pollen = ""
		}
		return put(p, space.Plus(mid, z(sg*d)), g, at)
	}
	for at := 1; at < s.seasons; at++ {
		var next []int
		switch {
		case s.pure && at == 1:
			for i := range max(4, s.each/8) {
				next = append(next, cross(now[0], now[len(now)-1], at, i, false))
			}
		default:
			kept := now
			if s.parents > 0 && at > 1 {
				away := func(i int) float64 { r := space.Minus(recs[i].y, space.Vector{74, 20, 42}); return space.Dot(r, r) }
				kept = slices.Clone(now)
				slices.SortFunc(kept, func(x, y int) int { return cmp.Compare(away(x), away(y)) })
				kept = kept[:min(len(kept), s.parents)]
			}
			for i := range s.each {
				x, y := kept[rnd.IntN(len(kept))], kept[rnd.IntN(len(kept))]
				if s.pure {
					y = x
				}
				next = append(next, cross(x, y, at, i, s.open && i%3 == 0))
			}
		}
		now = next
	}
	ped, err := genetics.NewPedigree(b.plants)
	if err != nil {
		panic(err)
	}
	b.records.Ped = ped
	for _, r := range recs {
		at, _ := ped.Place(b.plants[r.plant].ID)
		b.records.Plant, b.records.Season, b.records.Y = append(b.records.Plant, at), append(b.records.Season, int32(r.season)),
			append(b.records.Y, r.y)
	}
	return b
}

var schemes = []scheme{
	{founders: 12, each: 12, seasons: 2},
	{founders: 20, each: 20, seasons: 3, parents: 4},
	{founders: 40, each: 60, seasons: 3, parents: 6, open: true},
	{founders: 60, each: 60, seasons: 5, parents: 6},
	{founders: 4, each: 60, seasons: 3, pure: true},
	{founders: 60, each: 110, seasons: 5, parents: 8},
}
