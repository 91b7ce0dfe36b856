package calendar

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"

	ics "github.com/arran4/golang-ical"
)

// File is what a calendar file says beside its tasks.
type File struct {
	Book string    // tells one book's entries from another's: the same for ever
	Made time.Time // when it is written
	// Do says how a task is noted as done, empty where there is nothing to note; may be nil.
	Do func(Task) string
}

// ProductID is what a calendar file says of who made it, by which an earlier one is known.
const ProductID = "-//hueward//garden//EN"

// WriteICS writes the tasks as a calendar file, an all-day entry for each subject of each task. What is overdue stands
// on the day it is written. An entry's identity is its kind and subject, so that reading a later file into the same
// calendar moves the entry instead of adding another; the later one wins by its sequence number.
//
// Source: RFC 5545: all-day DTSTART and DTEND in 3.6.1 (the end is the day after), UID in 3.8.4.7, SEQUENCE in 3.8.7.4.
func WriteICS(w io.Writer, f File, tasks []Task) error {
	cal := ics.NewCalendarFor("hueward")
	cal.SetProductId(ProductID)
	cal.SetMethod(ics.MethodPublish)
	cal.SetName("Garden")
	today := time.Date(f.Made.Year(), f.Made.Month(), f.Made.Day(), 0, 0, 0, 0, time.UTC)
	for _, t := range tasks {
		from, until := t.Due, t.Until
		if from.Before(today) {
			from = today
		}
		if until.Before(from) || t.Urgency == Overdue {
			until = from
		}
		for i, s := range t.Subjects {
			e := cal.AddEvent(uid(f.Book, t.Kind, s))
			e.SetDtStampTime(f.Made.UTC())
			e.SetSequence(int(f.Made.Unix() / 60)) // rises with every file for some thousand years
			e.SetAllDayStartAt(from)
			e.SetAllDayEndAt(days(until, 1))
			e.SetSummary(clean(s + ": " + t.Text))
			e.SetTimeTransparency(ics.TransparencyTransparent)
			if t.Places != nil && t.Places[i] != "" {
				e.SetLocation(clean(t.Places[i]))
			}
			lines := []string{"Line: " + t.Line}
			if f.Do != nil && len(t.Subjects) == 1 {
				if do := f.Do(t); do != "" {
					lines = append(lines, "Then: "+do)
				}
			}
			for i := range lines {
				lines[i] = clean(lines[i])
			}
			e.SetDescription(strings.Join(lines, "\n"))
			e.AddCategory(string(t.Kind))
		}
	}
	_, err := io.WriteString(w, cal.Serialize(ics.WithNewLineWindows)) // its own writing passes over some errors
	return err
}

// uid is the same for the same subject and kind of task for ever.
func uid(book string, k Kind, subject string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\x00%s\x00%s", book, k, subject))
	return hex.EncodeToString(sum[:16]) + "@hueward"
}

// clean is s without what a calendar's text may not hold: RFC 5545, 3.3.11, allows no control characters.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == unicode.ReplacementChar {
			return ' '
		}
		return r
	}, s)
}
