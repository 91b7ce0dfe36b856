package report

import (
	"bytes"
	"encoding/csv"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg/cie"
)

func TestWriteRankCSV(t *testing.T) {
	s := &Season{Line: "buff apricot", Season: "2026", Plants: []Plant{
		{ID: "M07", Rank: 1, Lab: cie.Lab{L: 75.915, A: 15.904, B: -0.126}, Hex: "#e9b183", Name: "light orange yellow",
			DeltaE: 1.84, Low: 0.9, High: 2.75, Direction: "darker, and pinker, than the target", Photos: 3,
			Advice: Keep, ChanceKept: 0.9871, Why: `nearest of all; "first"`, SecondDeltaE: math.NaN()},
		{ID: "M1,\n2", Rank: 2, Lab: cie.Lab{L: 80}, Hex: "#c6c6c6", DeltaE: 12.5, Photos: 1, Advice: Pass, ChanceKept: math.NaN(),
			SecondDeltaE: math.NaN()},
	}}
	const want = `line,season,plant,rank,L,a,b,hex,name,delta_e,delta_e_low,delta_e_high,direction,photos,advice,chance_kept,why,` +
		`second_delta_e,ranked_by,sorted_by,value_delta_e,value_delta_e_low,value_delta_e_high,value_direction,bonus,crosses
buff apricot,2026,M07,1,75.92,15.90,-0.13,#e9b183,light orange yellow,1.84,0.90,2.75,"darker, and pinker, than the target",` +
		`3,keep,0.987,"nearest of all; ""first""",,own colour,1.84,,,,,0.00,
buff apricot,2026,"M1,
2",2,80.00,0.00,0.00,#c6c6c6,,12.50,,,,1,pass,,,,own colour,12.50,,,,,0.00,
`
	var b bytes.Buffer
	check(t, WriteRankCSV(&b, s))
	if d := cmp.Diff(want, b.String()); d != "" {
		t.Errorf("CSV differs (-want +got):\n%s", d)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 3 || rows[2][2] != "M1,\n2" {
		t.Errorf("read back: %q, %v", rows, err)
	}
}
