package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"
)

// rankColumns are the columns of [WriteRankCSV], named as in rank --json.
var rankColumns = []string{
	"line", "season", "plant", "rank", "L", "a", "b", "hex", "name",
	"delta_e", "delta_e_low", "delta_e_high", "direction", "photos",
	"advice", "chance_kept", "why", "second_delta_e",
	"ranked_by", "sorted_by", "value_delta_e", "value_delta_e_low", "value_delta_e_high", "value_direction", "bonus", "crosses",
}

// WriteRankCSV writes the ranking to w, one row a plant, after a row of column
// names. A number that is not known is an empty field.
func WriteRankCSV(w io.Writer, s *Season) error {
	c := csv.NewWriter(w)
	if err := c.Write(rankColumns); err != nil {
		return err
	}
	by := "own colour"
	if s.ByOffspring {
		by = "offspring"
	}
	for i := range s.Plants {
		p := &s.Plants[i]
		value := []string{"", "", "", ""}
		if v := p.Bred; v != nil {
			value = []string{csvNumber(v.DeltaE, 2), csvNumber(v.Low, 2), csvNumber(v.High, 2), v.Direction}
		}
		low, high := csvNumber(p.Low, 2), csvNumber(p.High, 2)
		if p.Low == 0 && p.High == 0 {
			low, high = "", ""
		}
		row := append([]string{
			s.Line, s.Season, p.ID, strconv.Itoa(p.Rank),
			csvNumber(p.Lab.L, 2), csvNumber(p.Lab.A, 2), csvNumber(p.Lab.B, 2), p.Hex, p.Name,
			csvNumber(p.DeltaE, 2), low, high, p.Direction, strconv.Itoa(p.Photos),
			p.Advice, csvNumber(p.ChanceKept, 3), p.Why, csvNumber(p.SecondDeltaE, 2), by, csvNumber(p.Sorts(), 2),
		}, value...)
		if err := c.Write(append(row, csvNumber(p.Bonus, 2), strings.Join(p.Crosses, "; "))); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// csvNumber writes v with the given decimals, with a point whatever the country; empty when v is not a finite number.
func csvNumber(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
