package transfer

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"hueward/selection/book"
	"hueward/selection/book/disk"
	"hueward/selection/book/naming"
	"hueward/selection/book/remedy"
)

// checkOut says whether an earlier export lies in dir, and refuses a folder that holds
// anything else: other files, tables that were changed since, photos that are not of it.
func checkOut(dir string, replace bool) (old bool, err error) {
	if info, err := disk.Stat(dir); err == nil && !info.IsDir() {
		return false, fmt.Errorf("%s is not a folder; name a new one", dir)
	}
	entries, err := disk.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(entries) == 0 {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	fail := func(format string, args ...any) (bool, error) {
		return false, fmt.Errorf("%s: %w: it holds %s; name a new folder", dir, book.ErrNotEmpty, fmt.Sprintf(format, args...))
	}
	sums, err := manifestSums(filepath.Join(dir, ManifestName))
	for _, e := range entries {
		n := e.Name()
		table, isTable := strings.CutSuffix(n, ".csv")
		switch {
		case bySystem(n):
		case n == naming.PhotosFolder && e.IsDir() && sums["photos"] != "", n == ManifestName && err == nil:
		case !isTable || kindNamed(table) == nil || !e.Type().IsRegular():
			return fail("%q, which is not part of an export", n)
		case err != nil:
			return fail("no %s of an export", ManifestName)
		default:
			sum, err := disk.Sum(filepath.Join(dir, n))
			if err != nil {
				return false, err
			}
			if sum != sums[table] {
				return fail("%q, which is not as it was exported", n)
			}
		}
	}
	if !replace {
		return false, remedy.Step(remedy.Replace).Errorf("%s: %w: it holds an earlier export; name a new folder, or replace it", dir,
			book.ErrNotEmpty)
	}
	if other, err := notExported(dir); err != nil {
		return false, err
	} else if other != "" {
		return fail("%q, which is not as it was exported", other)
	}
	return true, nil
}

// bySystem reports whether a file is one that file managers leave in any folder. Common practice, no source.
func bySystem(name string) bool {
	return strings.HasPrefix(name, "._") || slices.Contains([]string{".DS_Store", ".directory", "Thumbs.db", "desktop.ini"}, name)
}

// movedAway ends the name of an export that is moved away for its new one.
const movedAway = ".old"

// PutBack brings an export to its place again that was moved away for a new one by a
// program which was killed just then. It reports whether there was one.
func PutBack(dir string) (bool, error) {
	if free, err := disk.Free(dir); !free || err != nil {
		return false, err
	}
	around, err := foldersAround(dir)
	for _, folder := range around {
		away := filepath.Join(folder, "export"+movedAway)
		if _, err := manifestSums(filepath.Join(away, ManifestName)); err != nil {
			continue
		}
		if err := disk.Rename(away, dir); err != nil {
			return false, err
		}
		return true, disk.RemoveAll(folder)
	}
	return false, err
}

// foldersAround are those that exports into dir were made in.
func foldersAround(dir string) (names []string, err error) {
	parent, base := filepath.Split(filepath.Clean(dir))
	entries, err := disk.ReadDir(filepath.Clean(parent + "."))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	for _, e := range entries {
		if number, ours := strings.CutPrefix(e.Name(), "."+base+"-"); ours && e.IsDir() && strings.Trim(number, "0123456789") == "" {
			names = append(names, filepath.Join(parent, e.Name()))
		}
	}
	return names, err
}

// clearOld removes what exports into dir left that were killed a day ago or more; younger
// ones may be another program's.
func clearOld(dir string, now time.Time) {
	around, _ := foldersAround(dir)
	for _, folder := range around {
		info, err := disk.Stat(folder)
		if err != nil || now.Sub(info.ModTime()) < 24*time.Hour {
			continue
		}
		in, err := disk.ReadDir(folder)
		if err == nil && !slices.ContainsFunc(in, func(e fs.DirEntry) bool { return e.Name() != "export" && e.Name() != "export"+movedAway }) {
			disk.RemoveAll(folder)
		}
	}
}

// manifestSums are the sums of an export's tables, by name.
func manifestSums(file string) (map[string]string, error) {
	if info, err := disk.Lstat(file); err != nil || !info.Mode().IsRegular() {
		return nil, errors.New("no manifest")
	}
	rows, err := readCSV(file)
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 || !slices.Equal(rows[0], manifestHead) {
		return nil, errors.New("not a manifest")
	}
	sums := map[string]string{}
	for _, r := range rows[1:] {
		sums[r[0]] = r[2]
	}
	return sums, nil
}

// notExported is a file among an export's photos that is not one of them, by its path from dir; empty: there is none.
func notExported(dir string) (string, error) {
	root := filepath.Join(dir, naming.PhotosFolder)
	if _, err := disk.Lstat(root); errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	rows, err := readCSV(filepath.Join(dir, photoKind.Name+".csv"))
	if err != nil || len(rows) == 0 {
		return naming.PhotosFolder, err
	}
	at, sum := slices.Index(rows[0], "path"), slices.Index(rows[0], "sha256")
	if at < 0 || sum < 0 {
		return naming.PhotosFolder, nil
	}
	sums := map[string]string{}
	for _, r := range rows[1:] {
		sums[r[at]] = r[sum]
	}
	other := ""
	err = filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, file)
		if err != nil {
			return err
		}
		rel = path.Clean(filepath.ToSlash(rel))
		if bySystem(d.Name()) {
			return nil
		}
		if d.Type().IsRegular() {
			if have, err := disk.Sum(file); err != nil || have == sums[rel] {
				return err
			}
		}
		other = rel
		return fs.SkipAll
	})
	return other, err
}

func readCSV(file string) ([][]string, error) {
	f, err := disk.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return csv.NewReader(f).ReadAll()
}
