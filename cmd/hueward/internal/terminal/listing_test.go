package terminal

import (
	"bytes"
	"testing"
	"time"
)

// JSON and CSV have the names of a listing's fields, and nothing where something is not known; what is added for people
// and CSV alone stays out of JSON.
func TestListing(t *testing.T) {
	l := Listing{Fields: "plant,seeds,inbreeding,days,undone,on", None: "No plants."}
	none := l
	l.Add("M-01", new(0), new(0.25), []string{"2026-07-01", "2026-07-02"}, true, time.Date(2026, 7, 3, 0, 0, 0, 0, time.UTC)).Also("left", 3)
	l.Add("<a>,b", (*int)(nil), (*float64)(nil), []string{}, false, time.Time{})
	few := l
	few.CSV, few.Columns = "left,plant", []Column{{Head: "name", Of: "plant"}, {Head: "left"}}
	for _, c := range []struct {
		Listing
		Output
		want string
	}{
		{l, Output{CSV: true}, "plant,seeds,inbreeding,days,undone,on\nM-01,0,0.25,2026-07-01 2026-07-02,true,2026-07-03\n\"<a>,b\",,,,false,\n"},
		{few, Output{CSV: true}, "left,plant\n3,M-01\n,\"<a>,b\"\n"},
		{few, Output{}, "name   left\n───────────\nM-01   3\n<a>,b\n"},
		{l, Output{JSON: true}, `[
  {
    "plant": "M-01",
    "seeds": 0,
    "inbreeding": 0.25,
    "days": [
      "2026-07-01",
      "2026-07-02"
    ],
    "undone": true,
    "on": "2026-07-03"
  },
  {
    "plant": "<a>,b",
    "seeds": null,
    "inbreeding": null,
    "days": [],
    "undone": false,
    "on": ""
  }
]
`},
		{none, Output{}, "No plants.\n"}, {none, Output{JSON: true}, "[]\n"}, {none, Output{CSV: true}, l.Fields + "\n"},
	} {
		var b bytes.Buffer
		if err := (&Stream{Writer: &b}).List(&c.Output, c.Listing, nil); err != nil || b.String() != c.want {
			t.Errorf("%+v: %q, %v; want %q", c.Output, b.String(), err, c.want)
		}
	}
}
