package colorimg

import (
	"hueward/colorimg/card"
	"hueward/colorimg/tag"
)

// findTag reads the plant's tag and, where it is printed on a photo sheet, finds how
// the sheet lies.
func (m *measuring) findTag() {
	m.tag = tag.Choose(tag.Read(m.photo))
	m.flagIf(m.tag.Unreadable, FlagTagUnreadable)
	m.flagIf(m.tag.Rival, FlagTagTwo)
	t := &m.Tag
	if m.tag.Tag.Modules == 0 {
		return
	}
	var corners [4]Point
	var around card.Quad
	for i, p := range m.tag.Tag.Corners {
		corners[i] = Point{round(p[0], 1), round(p[1], 1)}
		around[i] = m.toWork(p)
	}
	t.Corners = &corners
	m.skip = append(m.skip, around.Shrunk(1.5)) // with its white margin
	if !m.tag.Found {
		return
	}
	p := m.tag.Payload
	t.Found, t.Text, t.MM, t.Sheet = true, m.tag.Tag.Text, p.MM, p.Sheet
	if p.Plant != "" {
		m.Plant = &p.Plant
	}
	if p.Sheet == "" {
		return
	}
	if s, ok := tag.SheetNamed(p.Sheet); ok {
		luma := m.photo.Lightness()
		if l, ok := s.Refine(tag.PhotoLuma(&luma), m.tag.Tag.Corners); ok && (l.Marks >= 3 || l.ErrorMM <= surelySheet) {
			m.sheet = &l
			t.MM = s.Code.W
		}
	}
}

// surelySheet is the largest error of places on a photo sheet, in millimetres, at which
// a sheet with few marks is used. Our own choice: well within a card's border.
const surelySheet = 2.0

// pixelsPerMM returns the scale at the paper; 0 where
// nothing of known size is in the picture.
func (m *measuring) pixelsPerMM() float64 {
	if m.sheet != nil {
		return m.sheet.PixelsPerMM()
	}
	if !m.tag.Found {
		return 0
	}
	// The bloom seldom lies in exactly the tag's plane; the scale at the tag is the
	// more reliable figure.
	return m.tag.Tag.PixelsPerMM(m.tag.Payload.MM)
}
