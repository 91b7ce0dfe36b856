package terminal

import (
	"bytes"
	"strings"
	"testing"

	"hueward/colorimg/tag"
)

// The code in the terminal is the one that was meant: its half blocks, read back as
// modules, are those of the code, with four light ones around.
func TestTerminalCode(t *testing.T) {
	const link = "http://192.168.178.21:8459/join?code=ABCD2345"
	var out bytes.Buffer
	(&Stream{Writer: &out}).QR(link)
	want, err := tag.Matrix(link)
	if err != nil {
		t.Fatal(err)
	}
	var got [][]bool
	for line := range strings.Lines(out.String()) {
		var up, down []bool
		for _, r := range strings.TrimRight(line, "\n") {
			up, down = append(up, r == ' ' || r == '▄'), append(down, r == ' ' || r == '▀')
		}
		got = append(got, up, down)
	}
	n := len(want)
	if len(got) < n+8 || len(got[0]) != n+8 {
		t.Fatalf("%d × %d modules, want %d with a margin of 4", len(got[0]), len(got), n)
	}
	for y := range n + 8 {
		for x := range n + 8 {
			dark := y >= 4 && y < n+4 && x >= 4 && x < n+4 && want[y-4][x-4]
			if got[y][x] != dark {
				t.Fatalf("the module at %d, %d is dark: %v, want %v", x, y, got[y][x], dark)
			}
		}
	}
}
