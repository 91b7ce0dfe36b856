package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
)

// rankColumns are the columns of [WriteRankCSV], named as in rank --json.
var rankColumns = []string{
	"line", "season", "plant", "rank", "L", "a", "b", "hex", "name",
	"delta_e", "delta_e_low", "delta_e_high", "direction", "photos",
	"advice", "chance_kept", "why", "second_delta_e",
}

// WriteRankCSV writes the ranking to w, one row a plant, after a row of column
// names. A number that is not known is an empty field.
func WriteRankCSV(w io.Writer, s *Season) error {
	c := csv.NewWriter(w)
	if err := c.Write(rankColumns); err != nil {
		return err
	}
	for _, p := range s.Plants {
		low, high := csvNumber(p.Low, 2), csvNumber(p.High, 2)
		if p.Low == 0 && p.High == 0 {
			low, high = "", ""
		}
		err := c.Write([]string{
			s.Line, s.Season, p.ID, strconv.Itoa(p.Rank),
			csvNumber(p.Lab.L, 2), csvNumber(p.Lab.A, 2), csvNumber(p.Lab.B, 2), p.Hex, p.Name,
			csvNumber(p.DeltaE, 2), low, high, p.Direction, strconv.Itoa(p.Photos),
			p.Advice, csvNumber(p.ChanceKept, 3), p.Why, csvNumber(p.SecondDeltaE, 2),
		})
		if err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// csvNumber writes v with the given decimals, with a point whatever the
// country; empty when v is not a finite number.
func csvNumber(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
