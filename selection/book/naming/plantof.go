package naming

import (
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"hueward/selection/written"
)

// PlantOf says which plant the photo at path shows, by where it lies: the
// name of its own folder when it lies in a subfolder of root, else its file
// name up to the first underscore. ok is false when neither says.
//
// A name that a camera, phone or messenger gave says nothing of the plant: folders
// such as DCIM and 100APPLE, years and dates; file names that begin IMG_, DSC_,
// PXL_, P_ and the like, or with a date; Foto 1, Bild 3, WhatsApp Image and the like in
// many languages. Spaces in a name become "-"; a name
// that is not a usable id (see CleanID) says nothing. root may be empty: then
// only the file name counts. Both may be relative.
func PlantOf(path, root string) (plant string, ok bool) {
	if root != "" {
		if dir, inside := folderBelow(path, root); inside {
			if plant, ok := asPlant(dir, cameraFolder); ok {
				return plant, true
			}
		}
	}
	name := filepath.Base(path)
	if head, _, found := strings.Cut(name, "_"); found {
		return asPlant(head, cameraPrefix)
	}
	return "", false
}

// folderBelow is the name of the folder that path lies in, when that is a
// folder below root and not root itself.
func folderBelow(path, root string) (name string, inside bool) {
	if filepath.IsAbs(path) != filepath.IsAbs(root) {
		var err error
		if path, err = filepath.Abs(path); err != nil {
			return "", false
		}
		if root, err = filepath.Abs(root); err != nil {
			return "", false
		}
	}
	dir := filepath.Dir(path)
	rel, err := filepath.Rel(root, dir)
	if err != nil || rel == "." || rel == ".." || strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
		return "", false
	}
	return filepath.Base(dir), true
}

// asPlant turns a name into an id, unless it is one that a camera gave.
func asPlant(name string, camera func(string) bool) (string, bool) {
	name = strings.Join(strings.FieldsFunc(name, unicode.IsSpace), "-")
	id, err := CleanID(name)
	if err != nil || camera(id) || isDate(id) || givenByMachine(id) {
		return "", false
	}
	return id, true
}

// The names that cameras, phones and programs give. Common practice, no one
// source; folders by the rule of JEITA CP-3461 (DCF): three digits and five
// characters.
var (
	prefixes = written.Pattern(`(?i)^(IMG|IMAGE|DSC|DSCF|DSCN|DSCS|PXL|P|MVIMG|DCIM|VID|MOV|BURST|PANO|SAM|GOPR|GX|GH|CIMG|IMGP|` +
		`PICT|HPIM|KIMG|FILE|PHOTO|PICTURE|SCAN|WIN|SCREENSHOT|SNAPSEED|SIGNAL|WHATSAPP|WA|FB|RECEIVED)$`)
	// With the picture's number run on: DSC0012, P1010001; a lone P only with
	// as many digits as its cameras write, for P12 is a plant.
	numbered = written.Pattern(`(?i)^((IMG|DSC|DSCF|DSCN|DSCS|PXL|MVIMG|SAM|GOPR|GX|GH|CIMG|IMGP|PICT|HPIM)-?[0-9]+|P[0-9A-C]?[0-9]{6,7})$`)
	folders  = written.Pattern(`(?i)^(DCIM|CAMERA|PHOTOS|PICTURES|IMAGES|[1-9][0-9]{2}([A-Z]{5}|_{2,5}|_?[A-Z0-9_]{4,5}))$`)
	year     = written.Pattern(`^(19|20)[0-9]{2}$`)
)

func cameraPrefix(id string) bool { return prefixes().MatchString(id) || numbered().MatchString(id) }

func cameraFolder(id string) bool { return folders().MatchString(id) || year().MatchString(id) }

// isDate reports whether s is a date as cameras and people write them.
func isDate(s string) bool {
	for _, layout := range [...]string{"20060102", "2006-01-02", "2006.01.02", "2006-01", "060102", "2006-1-2", "2.1.2006", "02-01-2006"} {
		if len(s) < 6 {
			break
		}
		t, err := time.Parse(layout, s)
		if err == nil && t.Year() >= 1990 && t.Year() < 2100 {
			return true
		}
	}
	return false
}
