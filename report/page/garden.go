package page

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"hueward/report/page/enter"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/written"
)

// filled is the form that was sent, as package enter takes it.
func (q *request) filled() *enter.Form {
	language, _, _ := strings.Cut(q.r.Header.Get("Accept-Language"), ",")
	language, _, _ = strings.Cut(language, ";")
	return &enter.Form{Values: q.r.PostForm, Now: q.now(),
		Days: written.Days{Today: q.dayNow(), Order: written.OrderOfLocale(strings.TrimSpace(language))}}
}

// entered takes a form by f, and goes back to where it stood, or to path.
func entered(f func(context.Context, *book.Book, *enter.Form) (said string, err error), path string) do {
	return func(q *request) error {
		form := q.filled()
		line, _ := q.lineNow()
		if q.err != nil {
			return q.err
		}
		if line != nil {
			form.Line = line.Name
		}
		said, err := f(q.ctx(), q.b, form)
		if err != nil {
			return err
		}
		q.done("%s", said)
		return q.back(path)
	}
}

// ageWords say until when a packet's seed is worth sowing and how much of it is likely to
// come now; empty: its crop or its day is not known.
func (q *request) ageWords(ctx context.Context, p *book.Packet) (string, error) {
	age, ok, err := garden.AgeOf(ctx, q.b, p, q.dayNow())
	if err != nil || !ok || age.SowBy.IsZero() {
		return "", err
	}
	return fmt.Sprintf("sow by %d; about %.0f %% likely to sprout", age.SowBy.Year(), 100*age.Expected), nil
}

// pollenRow is one lot of stored pollen, and how far it is.
type pollenRow struct {
	book.Pollen
	State string
}

// pollen lists stored pollen, that which can be used first.
func (q *request) pollen() error {
	d := struct {
		Open, Used []pollenRow
		Plant      string
	}{Plant: q.r.FormValue("plant")}
	for _, p := range slices.Backward(queryOf(q, q.b.Pollen, "")) {
		r := pollenRow{p, query(q, func(ctx context.Context) (string, error) { return garden.PollenWords(ctx, q.b, p) })}
		if r.UsedUp.IsZero() {
			d.Open = append(d.Open, r)
		} else {
			d.Used = append(d.Used, r)
		}
	}
	return q.render("pollen", "Pollen", d)
}

// crops lists what is usual of each kind of flower.
func (q *request) crops() error {
	d, err := enter.CropsPageOf(q.ctx(), q.b, q.dayNow())
	if err != nil {
		return err
	}
	d.Like = q.r.FormValue("like")
	return q.render("crops", "Crops", d)
}

// crop shows the values of one.
func (q *request) crop() error {
	d, err := enter.CropPageOf(q.ctx(), q.b, q.r.PathValue("name"))
	if errors.Is(err, book.ErrNotFound) {
		return notFound("There is no crop %s in the book.", q.r.PathValue("name"))
	}
	if err != nil {
		return err
	}
	return q.render("crop", d.Title, d)
}
