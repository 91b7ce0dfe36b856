package measure

import (
	"fmt"
	"path/filepath"
	"strings"

	"hueward/cmd/hueward/internal/hints"
	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg"
	"hueward/report/words"
)

// reading shows one photo's reading in full.
func tellReading(s *terminal.Stream, oc outcome) {
	r := oc.reading
	fmt.Fprintf(s, "%s  %s\n\n", s.Strong(r.File), r.Status)
	head := fmt.Sprintf("%s  %s", s.Strong(r.Name), r.Hex)
	if b := s.Swatch(r.Hex, 12); b != "" {
		fmt.Fprintf(s, "  %s\n  %s  %s\n  %s\n\n", b, b, head, b)
	} else {
		fmt.Fprintf(s, "  %s\n\n", head)
	}
	item := func(name, format string, args ...any) {
		fmt.Fprintf(s, "  %-10s %s\n", name, fmt.Sprintf(format, args...))
	}
	item("L* a* b*", "%6s %6s %6s   D65, 2 degree observer", words.Fixed(r.Lab[0], 1), words.Fixed(r.Lab[1], 1), words.Fixed(r.Lab[2], 1))
	item("L* C* h", "%6s %6s %5s°", words.Fixed(r.LCh[0], 1), words.Fixed(r.LCh[1], 1), words.Fixed(r.LCh[2], 0))
	item("precision", "± %s Delta E 2000 (standard error) when plants are compared", words.Fixed(r.SE.Precision, 1))
	item("trueness", "± %s Delta E 2000 against an instrument", words.Fixed(r.SE.Trueness, 1))
	part := func(name string, lab colorimg.Triple, share float64) string {
		hex := lab.Lab().Hex()
		return words.Joined(" ", s.Swatch(hex, 2), name, hex, words.Fixed(100*share, 0)+" %")
	}
	if len(r.Colors) > 1 {
		parts := words.Each(r.Colors, func(c colorimg.Share) string { return part("", c.Lab, c.Share) })
		blend := ""
		if r.Blends() {
			blend = ", one shading into the other"
		}
		item("colours", "%s%s", strings.Join(parts, ", "), blend)
	}
	if len(r.Zones) > 0 {
		parts := words.Each(r.Zones, func(z colorimg.Zone) string { return part(z.Name, z.Lab, z.Share) })
		item("zones", "%s", strings.Join(parts, ", "))
	}
	if r.Card.Found {
		light := fmt.Sprintf("exposure %+.1f stops", r.Card.EV)
		if r.Card.CCT > 0 {
			light = fmt.Sprintf("%s K, %s", words.Fixed(r.Card.CCT, 0), light)
		}
		item("light", "%s, by the %s%s", light, cardWords(r.Card.Kind), at(r.Card.Corners))
	} else {
		item("light", "by the camera's own white balance, no grey card")
	}
	petals := words.Fixed(100*r.Petal.Share, 1) + " % of the photo"
	if b := r.Petal.Bloom; b != nil {
		petals += fmt.Sprintf(", bloom at %.0f,%.0f", b[0], b[1])
	}
	item("petals", "%s", petals)
	switch p := r.Petal; {
	case p.DiameterMM > 0:
		item("across", "%s mm, %s pixels", words.Fixed(p.DiameterMM, 0), words.Fixed(p.DiameterPixels, 0))
	case p.DiameterPixels > 0:
		item("across", "%s pixels", words.Fixed(p.DiameterPixels, 0))
	}
	taken := ""
	if r.TakenAt != nil {
		taken = r.TakenAt.Format("2006-01-02 15:04")
	}
	item("photo", "%s", words.Joined(", ", taken, r.Camera, fmt.Sprintf("%d × %d", r.Size[0], r.Size[1]), r.Profile))
	if r.Model != "" {
		item("camera", "colours corrected by %s", r.Model)
	}
	if t := r.Tag; t.Found {
		on := ""
		if t.Sheet != "" {
			on = ", photo sheet " + t.Sheet + ","
		}
		item("tag", "%q%s%s", t.Text, on, at(t.Corners))
	}
	if r.Plant != nil {
		item("plant", "%s", terminal.Printable(*r.Plant))
	}
	if k := oc.kept; k != nil {
		where := filepath.FromSlash(k.Photo.Path)
		switch {
		case k.SameAgain:
			where += ", as before"
		case k.Duplicate:
			where += ", measured again"
		}
		item("kept", "%s", where)
		if k.Photo.Plant == "" {
			item("plant", "not known; name it: hueward photos assign PLANT %s", k.Photo.Name)
		}
	}
	if len(r.Flags) > 0 {
		fmt.Fprintln(s)
		for _, f := range r.Flags {
			what, todo := hints.Photo.OfFlag(f)
			s.Say("    ", fmt.Sprintf("  %s: %s; %s", f, what, todo))
		}
	}
}

// cardWords names what told the light.
func cardWords(kind string) string {
	switch kind {
	case "strip":
		return "white-grey-black strip"
	case "patches":
		return "set of patches"
	}
	return "grey card"
}

// at says where the middle of the card is.
func at(c *[4]colorimg.Point) string {
	if c == nil {
		return ""
	}
	var x, y float64
	for _, p := range c {
		x, y = x+p[0]/4, y+p[1]/4
	}
	return fmt.Sprintf(" at %.0f,%.0f", x, y)
}
