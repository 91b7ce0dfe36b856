package safety

import (
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book/booktest"
)

// A copy that is not sound gets no name.
func TestBackupIsVerified(t *testing.T) {
	t.Parallel()
	b := booktest.Filled(t)
	must.Have(booktest.DB(t, b).Exec("UPDATE plant SET line_id = 999"))(t)
	dir := t.TempDir()
	if file, err := Backup(t.Context(), b, filepath.Join(dir, "copy.db")); err == nil {
		t.Errorf("plants without their line were backed up to %s", file)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
