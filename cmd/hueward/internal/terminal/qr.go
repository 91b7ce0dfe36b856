package terminal

import (
	"fmt"
	"strings"

	"hueward/colorimg/tag"
)

// QR draws text as a QR code of half blocks, dark on light whatever the terminal's
// colours, with the margin of four modules that readers want.
//
// Source: ISO/IEC 18004, section 5.3.8, quiet zone.
func (s *Stream) QR(text string) {
	rows, err := tag.Matrix(text)
	if err != nil {
		return // the link stands below it
	}
	const margin = 4
	n := len(rows) + 2*margin
	dark := func(x, y int) bool {
		x, y = x-margin, y-margin
		return y >= 0 && y < len(rows) && x >= 0 && x < len(rows[y]) && rows[y][x]
	}
	for y := 0; y < n; y += 2 {
		var line strings.Builder
		for x := range n {
			// A light module is drawn, a dark one left as the ground: most terminals are dark.
			switch up, down := dark(x, y), dark(x, y+1) || y+1 >= n; {
			case !up && !down:
				line.WriteRune('█')
			case !up:
				line.WriteRune('▀')
			case !down:
				line.WriteRune('▄')
			default:
				line.WriteRune(' ')
			}
		}
		text := line.String()
		if s.Swatches {
			text = "\x1b[97;40m" + text + "\x1b[0m"
		}
		fmt.Fprintln(s, text)
	}
}
