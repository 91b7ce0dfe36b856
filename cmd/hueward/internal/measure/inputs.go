package measure

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"hueward/cmd/hueward/internal/cli"
	"hueward/selection/book/disk"
	"hueward/selection/book/transfer"
)

// input is one photo to be measured.
type input struct {
	file string
	root string               // the folder argument it was found under; else its own folder
	row  *transfer.Assignment // what --list says of it; nil: nothing
}

// pictureEndings are the endings of the files taken from a folder. A file that
// is named directly is tried whatever its name.
var pictureEndings = []string{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif"}

func isPicture(name string) bool {
	return slices.Contains(pictureEndings, strings.ToLower(filepath.Ext(name)))
}

// isOurs tells the pictures that measure itself writes beside the photos, with
// --masks and --explain: measuring the folder again is not to measure them.
func isOurs(name string) bool {
	name = strings.ToLower(name)
	return strings.HasSuffix(name, "."+maskKind+".png") || strings.HasSuffix(name, "."+explainKind+".png")
}

// collect turns arguments into photos, in the order given; a folder's in order of their paths, those in folders below
// it included. Each folder that cannot be read, or holds no photo, goes to refuse.
func collect(args []string, refuse func(format string, args ...any)) []input {
	var ins []input
	seen := map[string]bool{}
	add := func(in input) {
		if key := filepath.Clean(in.file); !seen[key] {
			seen[key] = true
			ins = append(ins, in)
		}
	}
	for _, arg := range args {
		fi, err := disk.Stat(arg)
		switch {
		case err == nil && fi.IsDir():
			found := 0
			walk(arg, refuse, func(file string) {
				found++
				add(input{file: file, root: arg})
			})
			if found == 0 {
				continue
			}
		case err != nil && os.IsPathSeparator(arg[max(0, len(arg)-1):][0]):
			refuse("%s: cannot be opened: %s; see that the folder is there and may be read", arg, cli.ReasonOf(err))
		default: // a file, or nothing: measuring says what is wrong with it
			add(input{file: arg, root: filepath.Dir(arg)})
		}
	}
	return ins
}

// walk hands each photo under dir to found. Hidden files and folders are left out, and so are pictures of our own and
// the copies that a book keeps, unless dir itself lies there.
func walk(dir string, refuse func(format string, args ...any), found func(file string)) {
	count, troubles, root := 0, 0, dir
	if info, err := disk.Lstat(dir); err == nil && info.Mode()&fs.ModeSymlink != 0 {
		root += string(filepath.Separator) // of a link, what it leads to
	}
	filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			troubles++
			refuse("%s: cannot be opened: %s; see that the folder is there and may be read", path, cli.ReasonOf(err))
			if d != nil && d.IsDir() {
				return fs.SkipDir
			}
		case path == root:
		case strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return fs.SkipDir
			}
		case d.IsDir():
			if d.Name() == "photos" && exists(filepath.Join(filepath.Dir(path), "book.db")) {
				return fs.SkipDir
			}
		case isPicture(path) && !isOurs(path):
			count++
			found(path)
		}
		return nil
	})
	if count == 0 && troubles == 0 {
		refuse("%s: no photo in this folder; hueward reads %s", dir, strings.Join(pictureEndings, " "))
	}
}

func exists(path string) bool {
	_, err := disk.Stat(path)
	return err == nil
}

// readList reads a table that says which plant each photo shows.
func readList(name string) ([]transfer.Assignment, error) {
	f, err := disk.Open(name)
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be opened: %s; see that the list is there", name, cli.ReasonOf(err))
	}
	defer f.Close()
	return transfer.ReadAssignments(name, f)
}

// matchList gives each photo its row of the list: by its path, seen from the list's folder or the working directory, or
// else by its file name alone when the row has no folder. Without photos the list's own files become them.
func matchList(ins []input, list string, rows []transfer.Assignment) []input {
	dir := filepath.Dir(list)
	if len(ins) == 0 {
		for i := range rows {
			file := filepath.FromSlash(rows[i].File)
			if from := filepath.Join(dir, file); !filepath.IsAbs(file) && (exists(from) || !exists(file)) {
				file = from
			}
			ins = append(ins, input{file: file, root: filepath.Dir(file), row: &rows[i]})
		}
		return ins
	}
	byPath, byName := map[string]*transfer.Assignment{}, map[string]*transfer.Assignment{}
	for i := range rows {
		r := &rows[i]
		file := filepath.FromSlash(r.File)
		if filepath.Base(file) == file {
			byName[strings.ToLower(file)] = r
		}
		if !filepath.IsAbs(file) {
			byPath[absolute(file)] = r
			file = filepath.Join(dir, file)
		}
		byPath[absolute(file)] = r
	}
	for i := range ins {
		in := &ins[i]
		if in.row = byPath[absolute(in.file)]; in.row == nil {
			in.row = byName[strings.ToLower(filepath.Base(in.file))]
		}
	}
	return ins
}

func absolute(file string) string {
	if abs, err := filepath.Abs(file); err == nil {
		return abs
	}
	return filepath.Clean(file)
}
