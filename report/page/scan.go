package page

import (
	"errors"
	"net/url"
	"strings"

	"hueward/colorimg/photo"
	"hueward/colorimg/tag"
	"hueward/selection/book"
)

// scan asks for a picture of a tag.
func (q *request) scan() error { return q.render("scan", "Scan a tag", nil) }

// scanned opens the page of what the tag in the picture names. The picture is not kept.
func (q *request) scanned() error {
	path := ""
	fields, err := q.parts(1, func(file string, _ map[string]string) (more bool, err error) {
		path, err = q.readTag(file)
		return false, err
	})
	switch {
	case err != nil:
		return err
	case path != "":
		return q.to(then(fields, path))
	case fields["id"] == "":
		return wrongf("Take a picture of the tag, or type what is printed on it.")
	}
	return q.openNamed(fields["id"])
}

// then is where a scan leads: to the page of what the tag names, or on with what the scan
// was for, a photo of the plant or a cross with its pollen.
func then(fields map[string]string, path string) string {
	plant, ok := strings.CutPrefix(path, "/plants/")
	switch {
	case !ok:
		return path
	case fields["for"] == "photo":
		return "/photos?plant=" + plant // escaped as a part of a path, and so of a query
	case fields["for"] == "cross" && fields["seed"] == "":
		return "/crosses?seed=" + plant + "#cross"
	case fields["for"] == "cross":
		return "/crosses?seed=" + url.QueryEscape(fields["seed"]) + "&pollen=" + plant + "#cross"
	}
	return path
}

func (q *request) openNamed(typed string) error {
	if names, err := q.b.Which(q.ctx(), []string{typed}); err == nil && len(names) == 1 {
		return q.to(plantPath(names[0]))
	}
	if names, err := q.b.HeadNames(q.ctx(), []string{typed}); err == nil && len(names) > 0 {
		return q.to("/heads?head=" + names[0] + "#" + names[0])
	}
	if names, err := q.b.PacketNames(q.ctx(), []string{typed}); err == nil && len(names) > 0 {
		return q.to("/packets#" + names[0])
	}
	return notFound("%q is neither a plant nor a head nor a packet of this book.", typed)
}

// readTag returns the page of what a tag names.
func (q *request) readTag(file string) (string, error) {
	select {
	case q.drawing <- struct{}{}:
		defer func() { <-q.drawing }()
	case <-q.ctx().Done():
		return "", q.ctx().Err()
	}
	p, err := photo.Open(q.ctx(), file, &photo.Options{Limits: q.limits()})
	if err != nil {
		return "", wrongf("The picture could not be read. Take it as JPEG, or type what is printed on the tag.")
	}
	defer p.Done()
	tags := tag.Read(p)
	for _, t := range tags {
		if l, ok := tag.ParseLabel(t.Text); ok {
			if l.On == tag.OnHead {
				return "/heads?head=" + l.Name + "#" + l.Name, nil
			}
			return "/packets#" + l.Name, nil
		}
	}
	if c := tag.Choose(tags); c.Payload.Plant != "" {
		if found, err := q.b.Plant(q.ctx(), c.Payload.Plant); err == nil {
			return plantPath(found.ID), nil
		} else if !errors.Is(err, book.ErrNotFound) {
			return "", err
		}
		return "", notFound("The tag names plant %s, which is not in this book.", c.Payload.Plant)
	}
	return "", wrongf("No tag was found in the picture. Go nearer, hold it flat and in good light, or type what is printed on it.")
}
