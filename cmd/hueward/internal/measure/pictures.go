package measure

import (
	"context"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/colorimg"
	"hueward/colorimg/photo"
	"hueward/report"
)

// The kinds of pictures that go with a photo: the last part but one of their names.
const maskKind, explainKind = "mask", "explain"

// pictureNames says where a picture that goes with each photo is put: the photo's file name with "." and kind and
// ".png" after it, in dir, which flag names. Photos of one name from several folders keep their folder too. Pictures
// that could not be written are refused before any work; without dir there are none.
func pictureNames(flag, kind, dir string, ins []input, k cli.Kind) ([]string, error) {
	if dir == "" {
		return nil, nil
	}
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
	for _, name := range names {
		if err := cli.CheckFile(name, k); err != nil {
			return nil, err
		}
	}
	return names, nil
}

// writePicture writes a picture of the given kind as PNG, and the folders that it goes into.
func writePicture(name string, kind cli.Kind, im image.Image) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	return cli.WritePNG(name, kind, im)
}

// explain writes the picture that shows where a reading comes from, when such are asked for, and lets go of what only
// it needs. A photo that could not be opened has none; missing says why another has none.
//
// The photo is opened a second time, for the eye, so that only one at a time is held whatever the number of photos.
func (m *measuring) explain(ctx context.Context, r colorimg.Result, opt *colorimg.Options) (missing string, err error) {
	defer func() { r.Reading.Reasons = nil }()
	if m.explained == nil || r.Reading.Size[0] == 0 {
		return "", nil
	}
	// What is measured is explained even when Ctrl-C came meanwhile.
	p, err := photo.Open(context.WithoutCancel(ctx), r.Reading.File, &photo.Options{Limits: opt.Limits, Work: report.ExplainSide})
	if err != nil {
		return strings.TrimPrefix(err.Error(), r.Reading.File+": "), nil
	}
	defer p.Done()
	return "", writePicture(m.explained[r.Index], cli.Explain, report.Explain(p.Image.Display(), r.Reading))
}
