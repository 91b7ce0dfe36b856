package page

import (
	"cmp"
	"net/http"
	"slices"
)

// room is one page of the book, as the bar, the list beside and "More" show it.
type room struct {
	Name, Words, Hint string
	Thumb             bool // in the bar at the foot of a phone
}

// roomGroup is rooms that belong together.
type roomGroup struct {
	Words string
	Rooms []room
}

// rooms are all of them; the first group is the bar at the thumb.
var rooms = []roomGroup{
	{"In the garden", []room{
		{"today", "Today", "what is due, to tick off", true},
		{"photos", "Photo", "a photo and its colour", true},
		{"scan", "Scan", "open what a tag or label names", true},
		{"plants", "Plants", "the season’s plants, and what becomes of them", true},
	}},
	{"Crossing", []room{
		{"pairs", "Pairs", "which parents promise most", false},
		{"crosses", "Crosses", "what was crossed, and a new one", false},
		{"heads", "Heads", "bagged, pollinated, harvested", false},
		{"pollen", "Pollen", "stored: collected, dried, good until", false},
		{"packets", "Packets", "seed, sowings, germination", false},
	}},
	{"The line", []room{
		{"target", "Target", "the shade you want", false},
		{"drift", "Drift", "the line over its seasons", false},
		{"plan", "Plan", "what the seasons ahead may bring", false},
		{"crops", "Crops", "each flower’s usual times; your own; the last frost", false},
	}},
	{"The book", []room{
		{"print", "Print", "tags, labels, photo sheets", false},
		{"keep", "Keep and share", "backups, tables, the report", false},
		{"history", "History", "who entered what; undo", false},
		{"devices", "Devices", "phones that were let in", false},
		{"guide", "Guide", "photographing, numbers, choosing, a season’s calendar", false},
	}},
}

// roomOf is the room that a page belongs to.
func roomOf(page string) string {
	return cmp.Or(map[string]string{"plant": "plants", "photo": "photos", "topic": "guide", "crop": "crops"}[page], page)
}

// more lists all rooms, for a screen that shows only the bar, and the ways to look at them.
func (q *request) more() error {
	return q.render("more", "More", struct {
		Groups []roomGroup
		Looks  []choice
	}{rooms, looks})
}

// The ways that a page can look; the first is what the device's own settings say.
var looks = []choice{{"", "As the device"}, {"light", "Light"}, {"dark", "Dark"}, {"sun", "Full sun"}}

const lookCookie = "hueward-look"

// lookOf is how the pages look on the device that asks.
func lookOf(r *http.Request) string {
	c, err := r.Cookie(lookCookie)
	if err != nil || !slices.ContainsFunc(looks, func(l choice) bool { return l.Value == c.Value }) {
		return ""
	}
	return c.Value
}

// setLook keeps with the device how the pages look.
func (q *request) setLook() error {
	http.SetCookie(q.w, &http.Cookie{Name: lookCookie, Value: q.r.PostFormValue("look"), Path: "/", HttpOnly: true,
		SameSite: http.SameSiteLaxMode, MaxAge: 400 * 24 * 3600})
	return q.back("/more")
}
