package measure

import (
	"fmt"
	"image"
	"os"
	"path/filepath"
	"strings"

	"hueward/cmd/hueward/internal/cli"
)

// The kinds of pictures that go with a photo: the last part but one of their names.
const maskKind, explainKind = "mask", "explain"

// pictureNames says where a picture that goes with each photo is put: the
// photo's file name with "." and kind and ".png" after it, in dir, which flag
// names. Photos of one name from several folders keep their folder too.
func pictureNames(flag, kind, dir string, ins []input) ([]string, error) {
	count := map[string]int{}
	key := func(s string) string { return strings.ToLower(s) } // not every disk tells cases apart
	for _, in := range ins {
		count[key(filepath.Base(in.file))]++
	}
	names := make([]string, len(ins))
	taken := map[string]string{}
	for i, in := range ins {
		name := filepath.Base(in.file)
		if count[key(name)] > 1 {
			if rel, err := filepath.Rel(in.root, in.file); err == nil && rel != name && !strings.HasPrefix(rel, "..") {
				name = rel
			} else {
				name = filepath.Join(filepath.Base(filepath.Dir(absolute(in.file))), name)
			}
		}
		if other, ok := taken[key(name)]; ok {
			return nil, cli.Usagef("--%s %s: %s and %s would get the same picture; measure them one after the other", flag, dir, other, in.file)
		}
		taken[key(name)] = in.file
		names[i] = filepath.Join(dir, name+"."+kind+".png")
	}
	return names, nil
}

// checkPictures refuses before any work the pictures that could not be written.
func checkPictures(names []string, k cli.Kind) error {
	for _, name := range names {
		if err := cli.CheckFile(name, k); err != nil {
			return err
		}
	}
	return nil
}

// writePicture writes a picture of the given kind as PNG, and the folders that
// it goes into.
func writePicture(name string, kind cli.Kind, im image.Image) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return cli.WritePNG(name, kind, im)
}
