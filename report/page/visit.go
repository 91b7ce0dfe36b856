package page

import (
	"sync"

	"hueward/report/page/door"
)

// device is one browser that was let in, and what it is at.
type device struct {
	*door.Device

	mu           sync.Mutex
	line, season string // what it looked at last
	said         *said  // told on its next page
	typed        *typed // what was typed into a form that was not taken
}

// said is what was just done, with its number in the book's history where it can be
// taken back.
type said struct {
	Text   string
	Wrong  bool
	Part   bool // some of it was done all the same
	Change int64
}

// visits are the devices that are at something, by their ids.
type visits struct {
	mu sync.Mutex
	by map[string]*device
}

const mostVisits = 400 // who is forgotten begins at the first line again

func (l *visits) of(v *door.Device) *device {
	l.mu.Lock()
	defer l.mu.Unlock()
	d := l.by[v.ID]
	if d == nil {
		if l.by == nil || len(l.by) >= mostVisits {
			l.by = map[string]*device{}
		}
		d = &device{Device: v}
		l.by[v.ID] = d
	}
	return d
}

// tell keeps what is to be said on the device's next page.
func (v *device) tell(s *said) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.said = s
}

func (v *device) told() *said {
	v.mu.Lock()
	defer v.mu.Unlock()
	s := v.said
	v.said = nil
	return s
}

// choose remembers line and season, where they are given, and returns those that count.
func (v *device) choose(line, season string, given bool) (string, string) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if given {
		v.line, v.season = line, season
	}
	return v.line, v.season
}
