package terminal

import (
	"bytes"
	"testing"
)

// The CSV of a listing has the names of its JSON, and nothing where something is not known.
func TestListing(t *testing.T) {
	type item struct {
		Plant  string   `json:"plant"`
		Seeds  *int     `json:"seeds"`
		F      *float64 `json:"inbreeding"`
		Days   []string `json:"days"`
		Undone bool     `json:"undone"`
		Photos int      `json:"photos" csv:"-"`
	}
	l := Listing{Items: []item{{Plant: "M-01", Seeds: new(0), F: new(0.25), Days: []string{"2026-07-01", "2026-07-02"}, Undone: true,
		Photos: 3}, {Plant: "a,b"}}, None: "No plants."}
	for want, o := range map[string]Output{
		"plant,seeds,inbreeding,days,undone\nM-01,0,0.25,2026-07-01 2026-07-02,true\n\"a,b\",,,,false\n": {CSV: true},
		"No plants.\n": {},
	} {
		var b bytes.Buffer
		if err := (&Stream{Writer: &b}).List(&o, l); err != nil || b.String() != want {
			t.Errorf("%+v: %q, %v; want %q", o, b.String(), err, want)
		}
	}
}
