package photo

import "time"

// Taken returns when the photo was taken, from the file's metadata, without decoding the picture; zero where the file does
// not say or cannot be read. Where the camera wrote no time zone, the local time is given as if it were UTC.
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
