package compose

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
	"hueward/report"
	"hueward/selection"
	"hueward/selection/garden"
	"hueward/selection/genetics"
)

// Season returns a season's report without the pictures and what is ahead: see [Pictures] and [Ahead].
func Season(r *garden.Season, made time.Time, version string) *report.Season {
	t := r.Line.Target
	s := &report.Season{
		Line: r.Line.Name, Season: r.Season, Aim: string(t.Aim), Made: made,
		Target: report.Target{
			Lab: t.Lab, Within: r.Ranking.Target.Within, Name: cie.Name(t.Lab), Hex: t.Lab.Hex(), Source: SourceWords(t.Source),
		},
		ByOffspring: r.Ranking.ByValue,
		Sure:        SureWords(r.Ranking),
		Assumed:     append([]string{}, r.Ranking.Assumed...),
		Warnings:    r.Ranking.Warnings,
		LeftOut:     r.Ranking.LeftOut,
		Unmeasured:  r.Ranking.Unmeasured,
		Version:     version,
	}
	if q := r.Ranking.Repeatability[3]; q.Of != "" {
		s.Repeatability = &report.Repeatability{Value: q.Value, Assumed: !q.Known}
	}
	colors := map[string]*colorimg.Reading{} // of each plant, a reading to show its colours by
	var trueness []float64
	for i := range r.Readings {
		rd := &r.Readings[i]
		m := &rd.Measured
		name := m.File
		if rd.Photo != nil {
			name = rd.Photo.Name
		}
		if m.Status == colorimg.Refused {
			reason, hint, _ := strings.Cut(m.Reason, "; ")
			s.Refused = append(s.Refused, report.Refused{File: name, Plant: rd.Plant, Reason: reason, Hint: hint})
			continue
		}
		if rd.Photo == nil {
			continue
		}
		trueness = append(trueness, m.SE.Trueness)
		s.Photos = append(s.Photos, report.Photo{Plant: rd.Plant, Reading: m, Name: name})
		if c := colors[rd.Plant]; c == nil || m.SE.Precision < c.SE.Precision {
			colors[rd.Plant] = m
		}
	}
	s.Trueness = robust.Median(trueness)
	s.Plants = make([]report.Plant, len(r.Ranking.Plants))
	genetics.SideBySide(len(s.Plants), func(i int) {
		p, q := &r.Ranking.Plants[i], &s.Plants[i]
		*q = report.Plant{
			ID: p.ID, Rank: p.Rank, Lab: p.Lab, Hex: p.Lab.Hex(), Name: cie.Name(p.Lab),
			SE:     &colorimg.Triple{math.Sqrt(p.Cov[0][0]), math.Sqrt(p.Cov[1][1]), math.Sqrt(p.Cov[2][2])},
			DeltaE: p.DeltaE, Low: p.Low, High: p.High, Direction: Compared(p.Direction),
			Photos: p.Photos, Advice: string(p.Advice), ChanceKept: p.ChanceKept, Why: p.Why,
			Note: r.Plants[p.ID].Note, Bonus: p.Bonus, Crosses: p.Crosses, SecondDeltaE: math.NaN(),
			SelfOf: r.Selfs[p.ID],
		}
		if d := p.SecondDeltaE; d != nil {
			q.SecondDeltaE = *d
		}
		if v := p.Value; v != nil && r.Ranking.ByValue {
			q.Bred = &report.Bred{Lab: v.Lab, Hex: v.Lab.Hex(), Name: cie.Name(v.Lab), DeltaE: p.ValueDeltaE, Low: p.ValueLow, High: p.ValueHigh,
				Direction: Compared(cie.Direction(v.Lab, r.Ranking.Target.Lab)), Inbreeding: v.Inbreeding}
		}
		if c := colors[p.ID]; c != nil {
			q.Colors, q.Blends = c.Colors, c.Blends()
		}
		if len(p.Disagreeing) > 0 {
			q.Warnings = append(q.Warnings, fmt.Sprintf("%s: not like its other photos, counts for less", strings.Join(p.Disagreeing, ", ")))
		}
	})
	if slices.ContainsFunc(s.Photos, func(p report.Photo) bool { return p.Reading.Profile == "sRGB (assumed)" }) {
		s.Assumed = append(s.Assumed, "photos without a colour profile are taken as sRGB")
	}
	return s
}

// Compared makes a phrase of a direction, such as "darker than the target".
func Compared(direction string) string {
	if direction == cie.OnTarget {
		return direction
	}
	return direction + " than the target"
}

// SourceWords returns the words for where a target came from.
func SourceWords(source string) string {
	switch source {
	case "--lab":
		return "given as L* a* b*"
	case "--hex":
		return "given as a screen colour"
	}
	if name, ok := strings.CutPrefix(source, "photo "); ok {
		return "measured from " + name
	}
	return source
}

// SureWords returns a sentence on how sure the choice of kept plants is as a whole.
func SureWords(r *selection.Ranking) string {
	if r.Held {
		return ""
	}
	kept, clear, close := 0, 0, 0
	for _, p := range r.Plants {
		switch {
		case p.Advice == selection.Keep:
			kept++
			if p.ChanceKept >= 0.9 {
				clear++
			}
		case p.ChanceKept >= 0.1:
			close++
		}
	}
	switch {
	case kept == 0 || kept == len(r.Plants):
		return ""
	case clear == kept && close == 0 && kept == 1:
		return "The choice is clear: the one kept belongs there with a chance of at least 90 %."
	case clear == kept && close == 0:
		return fmt.Sprintf("The choice is clear: each of the %d kept belongs there with a chance of at least 90 %%.", kept)
	}
	who, least := fmt.Sprintf("%d of the %d kept belong", clear, kept), "at least"
	switch {
	case kept == 1:
		who = "The one kept belongs"
		if clear == 0 {
			least = "less than"
		}
	case clear == 0:
		who = fmt.Sprintf("None of the %d kept belongs", kept)
	case clear == 1:
		who = fmt.Sprintf("1 of the %d kept belongs", kept)
	}
	s := who + " there with a chance of " + least + " 90 %"
	switch close {
	case 0:
		return s + "."
	case 1:
		return s + "; 1 other plant has a chance of 10 % or more. More photos of the plants in between would tell."
	}
	return s + fmt.Sprintf("; %d other plants have a chance of 10 %% or more. More photos of the plants in between would tell.", close)
}
