package measure

import (
	"slices"
	"strings"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/photo"
	"hueward/report/words"
)

// session gives photos the plant whose tag was photographed before them. A nil session gives none.
type session struct {
	guesses []string // by job: what folder or file name say
	tag     string   // the plant of the last tag; empty: none yet, or one that cannot be read
	alone   int      // photos of a tag and nothing else
	unread  []string // photos whose tag cannot be read
}

// byCapture puts the photos into the order in which they were taken; those that
// do not say when come first, in the order given.
func byCapture(ins []input) {
	at := map[string]time.Time{}
	for _, in := range ins {
		at[in.file] = photo.Taken(in.file)
	}
	slices.SortStableFunc(ins, func(x, y input) int { return at[x.file].Compare(at[y.file]) })
}

// carry says which plant the photo shows, as measured in its turn, and whether it is a picture of a tag alone.
func (s *session) carry(r *colorimg.Result) (alone bool) {
	if s == nil || r.Job.Plant != "" { // the user said which
		return false
	}
	switch tag := r.Reading.Tag; {
	case r.Reading.Plant != nil:
		s.tag = *r.Reading.Plant
		if r.Refused != nil {
			s.alone++
			return true
		}
	case tag.Found || slices.Contains(r.Reading.Flags, colorimg.FlagTagUnreadable):
		s.tag = ""
		s.unread = append(s.unread, r.Reading.File)
	case s.tag != "":
		plant := s.tag
		r.Reading.Plant = &plant
	case s.guesses[r.Index] != "":
		r.Reading.Plant = &s.guesses[r.Index]
	}
	return false
}

// say is what a grower should know of the session, a sentence; empty: nothing.
func (s *session) say() string {
	if s == nil {
		return ""
	}
	var out []string
	if s.alone > 0 {
		out = append(out, words.Count(s.alone, "photo")+" of a tag alone.")
	}
	if len(s.unread) > 0 {
		out = append(out, "A tag could not be read in "+strings.Join(s.unread,
			", ")+": the photos after it, until the next tag, are kept without a plant.")
	}
	return strings.Join(out, " ")
}
