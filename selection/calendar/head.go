package calendar

import (
	"fmt"
	"time"
)

// openTask is what a head that is left to bees and wind needs: nothing but to be harvested. Its flowering began on the
// first day noted of it, or on the day its cross was noted; other insects may have come for as long as it was open.
func openTask(h Head, c Crop, day time.Time) (t Task, ok bool) {
	open := h.Noted
	if len(h.Pollinated) > 0 {
		open = h.Pollinated[0]
	}
	if open.IsZero() {
		return t, false
	}
	t = Task{Kind: Harvest, Subjects: []string{h.Name}, Line: h.Line, Due: days(open, c.Ripe.Low),
		Until: days(open, c.Opens.High+c.Days+c.Ripe.High), Text: "likely ripe: " + c.Look}
	if day.Before(t.Due) {
		t.Kind, t.Until = Ripen, t.Due
		t.Text = fmt.Sprintf("left to bees and wind: no bag; likely ripe from %s; its seed stays true to the line only %s",
			t.Due.Format(time.DateOnly), c.Isolation())
	}
	return t, true
}

// Isolation says what keeps seed true that is saved open.
func (c Crop) Isolation() string {
	return fmt.Sprintf("where no others of its kind flowered within %d m; save it from %d plants or more", c.Distance, c.Hold)
}

// emasculateTask is to keep a head's own pollen out of a cross; ok is false where that is
// done, needs not be, or is too late as the head was pollinated.
func emasculateTask(h Head, c Crop) (t Task, ok bool) {
	from := h.Bagged
	if from.IsZero() {
		from = h.Noted
	}
	if !h.OwnPollen || !c.OwnPollen() || h.Open || !h.Emasculated.IsZero() || len(h.Pollinated) > 0 || !h.Lost.IsZero() ||
		!h.Harvested.IsZero() || from.IsZero() {
		return t, false
	}
	t = Task{Kind: Emasculate, Subjects: []string{h.Name}, Line: h.Line, Due: from, Until: days(from, max(1, c.Opens.High)),
		Text: "keep its own pollen out" + h.of() + ": " + c.Emasculate}
	if c.Anthers == AsItOpens {
		if h.Bagged.IsZero() {
			return t, false // that comes first
		}
		t.Due, t.Until = days(from, c.Opens.Low), days(from, c.Opens.High+max(1, c.First.Low))
	}
	return t, true
}
