package calendar_test

import (
	"fmt"
	"time"

	"hueward/selection/calendar"
)

// What one head needs three days after it was bagged.
func ExampleDue() {
	day := func(d int) time.Time { return time.Date(2026, 7, d, 0, 0, 0, 0, time.UTC) }
	crop, _ := calendar.Named("calendula")
	garden := &calendar.Garden{
		Heads: []calendar.Head{{Name: "M-1-1", Line: "buff", Noted: day(1), Bagged: day(2)}},
		Crops: map[string]calendar.Crop{"buff": crop},
	}
	for _, t := range calendar.Due(garden, day(5), 0) {
		fmt.Println(t.Urgency, t.Subjects[0], t.Text)
	}
	// Output: today M-1-1 pollinate when its stigmas show: day 1 of 4
}
