package book_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/must"
	. "hueward/selection/book"
	"hueward/selection/book/booktest"
)

// An open file goes on being written to when its folder is removed or another file has its
// name, as after a copy is put back by hand or a cloud folder has brought another computer's:
// what was entered was gone, and was said to be kept.
func TestMovedWhileOpen(t *testing.T) {
	t.Parallel()
	other := booktest.New(t).Dir()
	for what, move := range map[string]func(dir string) error{
		"removed":          os.RemoveAll,
		"renamed":          func(dir string) error { return os.Rename(dir, dir+"-old") },
		"database removed": func(dir string) error { return os.Remove(filepath.Join(dir, DBName)) },
		"replaced": func(dir string) error {
			copied, err := os.ReadFile(filepath.Join(other, DBName))
			return errors.Join(err, os.WriteFile(filepath.Join(dir, "new"), copied, 0o600),
				os.Rename(filepath.Join(dir, "new"), filepath.Join(dir, DBName)))
		},
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			b := booktest.New(t)
			must.OK(t, b.AddLine(t.Context(), "before", ""))
			if err := b.Moved(); err != nil {
				t.Fatalf("Moved = %v before", err)
			}
			must.OK(t, move(b.Dir()))
			if err := b.Moved(); !errors.Is(err, ErrMoved) {
				t.Errorf("Moved = %v, want ErrMoved", err)
			}
			if err := b.AddLine(t.Context(), "after", ""); !errors.Is(err, ErrMoved) {
				t.Errorf("AddLine = %v, want ErrMoved", err)
			}
			lines := must.Have(b.Lines(t.Context()))(t)
			if len(lines) != 1 {
				t.Errorf("lines %v, want the one from before", lines)
			}
		})
	}
	// One that came back is the same again.
	b := booktest.New(t)
	must.OK(t, os.Rename(b.Dir(), b.Dir()+"-away"))
	must.OK(t, os.Rename(b.Dir()+"-away", b.Dir()))
	must.OK(t, b.AddLine(t.Context(), "after", ""))
}
