package calendar

import (
	"fmt"
	"time"
)

// Pollen is stored pollen that is not used up.
type Pollen struct {
	Name, Line       string
	Plant            string
	Collected, Dried time.Time
	Until            time.Time // zero: as the crop says
}

// GoodUntil is the last day that pollen is good for.
func (c Crop) GoodUntil(p Pollen) time.Time {
	if !p.Until.IsZero() {
		return p.Until
	}
	return days(p.Collected, c.PollenDry+c.PollenLife)
}

// NearestFrost is the last frost of the year that is nearest to the day. Of frost the month and day count.
func NearestFrost(frost, day time.Time) time.Time {
	best := time.Time{}
	for _, year := range []int{day.Year() - 1, day.Year(), day.Year() + 1} {
		d := time.Date(year, frost.Month(), frost.Day(), 0, 0, 0, 0, time.UTC)
		if best.IsZero() || abs(between(d, day)) < abs(between(best, day)) {
			best = d
		}
	}
	return best
}

func abs(n int) int { return max(n, -n) }

// sowing is when a crop is sown under cover, and when planted out, by the last frost.
func (c Crop) sowing(frost time.Time) (sow, until, out time.Time) {
	out = days(frost, 7*c.PlantOut)
	return days(out, -7*c.Raise.High), days(out, -7*c.Raise.Low), out
}

// lateToSow is how many days after the last good day for sowing it is no longer asked
// for: the plants would flower too late. A guess.
const lateToSow = 28

// sowTasks are one for each line: packets whose seed grew before this season and of which nothing was sown in it.
func (g *Garden) sowTasks(day time.Time) []Task {
	if g.Frost.IsZero() {
		return nil
	}
	var out []Task
	at := map[string]int{}
	for _, p := range g.Packets {
		c, said := g.Crops[p.Line]
		if !said || !p.Ripe || !p.Left || p.Sown {
			continue
		}
		if by := c.SowBy(p.Made); !by.IsZero() && day.After(by) {
			continue // too old
		}
		sow, until, plant := c.sowing(g.Frost)
		if days(until, lateToSow).Before(day) {
			continue
		}
		i, ok := at[p.Line]
		if !ok {
			i = len(out)
			at[p.Line] = i
			out = append(out, Task{Kind: Sow, Line: p.Line, Due: sow, Until: until, Text: fmt.Sprintf("sow under cover at %s °C%s, to plant out "+
				"from %s, by your last frost; sow those that you have chosen", c.Temperature, c.lightWords(), plant.Format(time.DateOnly))})
		}
		out[i].Subjects = append(out[i].Subjects, p.Name)
	}
	return out
}

func (c Crop) lightWords() string {
	switch c.Light {
	case LightNeeded:
		return ", uncovered, in light"
	case LightNone:
		return ", covered"
	}
	return ""
}

// plantOutTasks are for sowings of this spring that are not planted out.
func (g *Garden) plantOutTasks() []Task {
	if g.Frost.IsZero() {
		return nil
	}
	var out []Task
	for _, s := range g.Sowings {
		c, said := g.Crops[s.Line]
		if !said || s.Out || s.Sown.IsZero() {
			continue
		}
		_, _, plant := c.sowing(g.Frost)
		if grown := days(s.Sown, 7*c.Raise.Low); grown.After(plant) {
			plant = grown // sown late
		}
		if between(s.Sown, plant) > 300 || between(g.Frost, s.Sown) > 60 {
			continue // sown for another year, or where it flowers
		}
		out = append(out, Task{Kind: PlantOut, Subjects: []string{s.Name}, Line: s.Line, Due: plant, Until: days(plant, 14),
			Text: "harden off and plant out; cover on cold nights"})
	}
	return out
}

// SowBy is the last day by which seed that was packed on that day is worth sowing, as the
// crop says; zero where no day is known.
func (c Crop) SowBy(made time.Time) time.Time {
	if made.IsZero() {
		return made
	}
	return made.AddDate(c.Life, 0, 0)
}

// soonOld is how many days before its time seed is told of: time for one more spring. Common practice, no source.
const soonOld = 180

// sowByTasks are for seed whose time runs out.
func (g *Garden) sowByTasks(day time.Time) []Task {
	var out []Task
	for _, p := range g.Packets {
		c, said := g.Crops[p.Line]
		by := c.SowBy(p.Made)
		if !said || by.IsZero() || !p.Left || p.Sown || day.After(days(by, 365)) { // told for a year
			continue
		}
		out = append(out, Task{Kind: SowBy, Subjects: []string{p.Name}, Line: p.Line, Due: days(by, -soonOld), Until: by,
			Text: fmt.Sprintf("sow it by %s, or test how much still sprouts", by.Format(time.DateOnly))})
	}
	return out
}

// pollenTasks are for pollen that is to be closed, or to be used before it dies.
func (g *Garden) pollenTasks(day time.Time) []Task {
	var out []Task
	for _, p := range g.Pollen {
		c := g.crop(p.Line)
		until := c.GoodUntil(p)
		if day.After(until) {
			continue
		}
		if dry := days(p.Collected, c.PollenDry); p.Dried.IsZero() {
			out = append(out, Task{Kind: DryPollen, Subjects: []string{p.Name}, Line: p.Line, Due: dry, Until: dry,
				Text: "pollen of " + p.Plant + ": when it is dry and powdery, close it with a drying agent and keep it in a refrigerator"})
			continue
		}
		out = append(out, Task{Kind: UsePollen, Subjects: []string{p.Name}, Line: p.Line, Due: p.Dried, Until: until,
			Text: fmt.Sprintf("pollen of %s is good until about %s: use it", p.Plant, until.Format(time.DateOnly))})
	}
	return out
}
