package page

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"strings"

	"hueward/report/words"
	"hueward/selection/book"
)

// Each form that enters something carries an id, made up when it was shown or by the script that sends it. The book
// notes it together with what was entered (see [book.Book.Once]), so that a button that is touched twice, or a form
// that a phone sends again because it never heard the answer, enters it once.

// requestOf is the request that a form makes. What it says counts with the id: after a
// look back the same page may be filled in differently.
func requestOf(form url.Values) book.Request {
	id := cleanRequest(form.Get("request"))
	said := maps.Clone(form)
	for _, k := range []string{"request", "token", "back", "was", "ago"} {
		said.Del(k)
	}
	sum := sha256.Sum256([]byte(said.Encode()))
	return book.Request{ID: id, Sum: hex.EncodeToString(sum[:16])}
}

// requestID is the form of an id that can be used.
var requestID = regexp.MustCompile(`^[0-9A-Za-z-]{16,64}$`)

// cleanRequest is an id of a usable form; empty: it is none.
func cleanRequest(id string) string { return requestID.FindString(id) }

// once takes a form, unless that was done before.
func (q *request) once(f do) error {
	q.asked = requestOf(q.r.PostForm)
	if q.asked.ID == "" {
		return f(q)
	}
	if taken, c, err := q.b.Taken(q.ctx(), q.asked); err != nil || taken {
		return q.again(c, err)
	}
	plain := q.b
	q.b = plain.Once(q.asked)
	err := f(q)
	if err != nil { // it may have been taken meanwhile, which is then why this went wrong
		if taken, c, e := plain.Taken(q.ctx(), q.asked); e == nil && taken {
			return q.again(c, nil)
		}
	}
	return err
}

// byParts takes the form of a list, of which f enters each by [request.part].
func (q *request) byParts(f do) error {
	q.asked = requestOf(q.r.PostForm)
	return f(q)
}

// part is the book for one part of a list, which is entered once by itself: a list that
// broke off goes on where it was when it is sent again.
func (q *request) part(name string) *book.Book {
	return q.b.Once(book.Request{ID: q.asked.ID, Sum: q.asked.Sum + " " + name})
}

// each enters the parts of a list, each once. It returns what was entered, and which parts were not, and why.
func (q *request) each(parts []string, enter func(b *book.Book, part string) (did string, err error)) (did, left, why []string,
	err error) {
	for _, part := range parts {
		said, err := enter(q.part(part), part)
		switch {
		case err == nil || errors.Is(err, book.ErrRepeated):
			did = append(did, said)
		case statusOf(err) >= http.StatusInternalServerError:
			return nil, nil, nil, err
		default:
			left, why = append(left, part), append(why, words.Sentence(err.Error()))
		}
	}
	return did, left, why, nil
}

// again answers a form that was taken before, with what it entered then.
func (q *request) again(c *book.Change, err error) error {
	if err != nil {
		return err
	}
	s := &said{Text: "That was noted already."}
	switch {
	case c != nil && c.Undoes != 0:
		s.Text = words.Sentence("Taken back: " + strings.TrimPrefix(c.What, "undone: "))
	case c != nil && c.Undone:
		s.Text = words.Sentence("That was noted, and taken back since: " + c.What)
	case c != nil:
		s.Text, s.Change = words.Sentence("Noted: "+c.What), c.ID
	}
	q.device.said.Store(s)
	return q.back("/today")
}

// partError is a list of which some could not be entered.
type partError struct {
	text string
	done bool       // some were
	left url.Values // the form's fields with what is left to do
}

func (e *partError) Error() string { return e.text }

// partOf says of a list what was done, and of the rest why not.
func partOf(did, done string, why []string, left url.Values) error {
	e := &partError{text: strings.Join(why, " "), done: did != "", left: left}
	if e.done {
		e.text = did + " " + done + ". Not the rest: " + e.text
	}
	return e
}

// taken tells a script which of the requests that still wait with it were taken.
func (q *request) taken() error {
	var ids []string
	for _, id := range q.r.URL.Query()["id"] {
		if id = cleanRequest(id); id != "" && len(ids) < 500 {
			ids = append(ids, id)
		}
	}
	have, err := q.b.TakenIDs(q.ctx(), ids)
	if err != nil {
		return err
	}
	if have == nil {
		have = []string{}
	}
	return q.json(http.StatusOK, map[string]any{"taken": have, "token": q.door.Token(q.device.Device)})
}
