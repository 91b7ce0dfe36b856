//go:build unix

package photo

import (
	"context"
	"path/filepath"
	"syscall"
	"testing"

	"hueward/colorimg/must"
)

// TestPipe: a pipe is refused at once, where opening it would wait.
func TestPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe.jpg")
	must.OK(t, syscall.Mkfifo(pipe, 0o600))
	if _, err := Open(context.Background(), pipe, nil); kind(err) != "unsupported" {
		t.Errorf("a pipe: %v, want unsupported", err)
	}
}
