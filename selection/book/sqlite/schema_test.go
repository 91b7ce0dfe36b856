package sqlite

import (
	"path/filepath"
	"testing"
)

// The digest by which the newest schema is known is that of a new book.
func TestNewestSchema(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "new.db")
	if err := Create(t.Context(), file); err != nil {
		t.Fatal(err)
	}
	db, err := readOnly(file)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	all, digest, err := schemaOf(t.Context(), db)
	if err != nil || digest != newestSchema {
		t.Errorf("digest %s of %d objects, %v; write it into newestSchema", digest, len(all), err)
	}
	// The slow way comes to the same.
	if err := compareSchema(t.Context(), db, all, Versions()); err != nil {
		t.Error(err)
	}
}
