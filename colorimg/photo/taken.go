package photo

import "time"

// Taken is when the photo was taken, as its file says it, without decoding the picture; zero where the file does not
// say or cannot be read. A camera that writes no zone gives the garden's clock, as UTC.
func Taken(name string) (t time.Time) {
	defer func() {
		if recover() != nil { // as in openBytes: a hostile file
			t = time.Time{}
		}
	}()
	b, err := readFile(name, defaultBytes)
	if err != nil {
		return time.Time{}
	}
	format, err := formatOf(name, b)
	if err != nil {
		return time.Time{}
	}
	return readEXIF(containers[format].facts(b).exif).taken
}
