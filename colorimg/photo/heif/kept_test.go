package heif

import (
	"context"
	"crypto/sha256"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/tetratelabs/wazero"
)

// answer is a module of one function that answers 42.
var answer = []byte("\x00asm\x01\x00\x00\x00" + "\x01\x05\x01\x60\x00\x01\x7f" + "\x03\x02\x01\x00" + "\x07\x0a\x01\x06answer\x00\x00" +
	"\x0a\x06\x01\x04\x00\x41\x2a\x0b")

// kept gets the compiled module below dir, tells whether it was compiled for that or read, and fails when it does not answer 42.
func kept(t *testing.T, dir string) (cached bool) {
	t.Helper()
	ctx := context.Background()
	m := &module{code: answer}
	before := folders(t, dir)
	c := keptCode(dir, sha256.Sum256(answer), m.compile)
	if c == nil {
		return false
	}
	defer c.Close(ctx)
	rt := wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfig().WithCompilationCache(c))
	defer rt.Close(ctx)
	mod, err := rt.Instantiate(ctx, answer)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := mod.ExportedFunction("answer").Call(ctx); err != nil || len(got) != 1 || got[0] != 42 {
		t.Fatalf("the kept code answers %v, %v", got, err)
	}
	after := folders(t, dir)
	if len(after) != 1 {
		t.Errorf("%q lie in the cache, want one folder", after)
	}
	return len(before) == 1 && len(after) == 1
}

func folders(t *testing.T, dir string) (names []string) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "hueward", "*"))
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// codeFile is wazero's file below dir.
func codeFile(t *testing.T, dir string) string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "hueward", "*", "wazero-*", "*"))
	if err != nil || len(names) != 1 {
		t.Fatalf("files of code: %q, %v", names, err)
	}
	return names[0]
}

// TestKept: compiled code is read the next time, and made anew when anything in its folder is not as it was written.
func TestKept(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if kept(t, dir) {
		t.Error("code was read that nobody had kept")
	}
	file := codeFile(t, dir)
	sound, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	first, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	same := func() bool {
		now, err := os.Stat(codeFile(t, dir))
		return err == nil && os.SameFile(first, now)
	}
	if !kept(t, dir) || !same() {
		t.Error("the kept code was not read the second time")
	}
	for name, spoil := range map[string]func() error{
		"a changed byte": func() error { return os.WriteFile(codeFile(t, dir), append([]byte{sound[0] ^ 1}, sound[1:]...), 0o600) },
		"a changed number": func() error {
			return os.WriteFile(codeFile(t, dir), append(sound[:len(sound)-1:len(sound)-1], 1), 0o600)
		},
		"cut short":      func() error { return os.WriteFile(codeFile(t, dir), sound[:len(sound)/2], 0o600) },
		"empty":          func() error { return os.WriteFile(codeFile(t, dir), nil, 0o600) },
		"no sums":        func() error { return os.Remove(filepath.Join(filepath.Dir(filepath.Dir(codeFile(t, dir))), keptSums)) },
		"no code":        func() error { return os.Remove(codeFile(t, dir)) },
		"written by all": func() error { return os.Chmod(filepath.Dir(filepath.Dir(codeFile(t, dir))), 0o777) },
	} {
		if err := spoil(); err != nil {
			t.Fatal(err)
		}
		kept(t, dir) // answers 42
		if b, err := os.ReadFile(codeFile(t, dir)); err != nil || !strings.HasPrefix(string(b), string(sound[:8])) || len(b) != len(sound) {
			t.Errorf("%s: %d bytes are kept, %v, want %d", name, len(b), err, len(sound))
		}
		if !kept(t, dir) {
			t.Errorf("%s: the code was not kept anew", name)
		}
	}
}

// TestKeptNowhere: without a folder that can be written, the decoder works all the same.
func TestKeptNowhere(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{"", file, filepath.Join(file, "below")} {
		if keptCode(dir, sha256.Sum256(answer), (&module{code: answer}).compile) != nil {
			t.Errorf("code is kept in %q", dir)
		}
	}
}

// TestKeptAtOnce: programs that start together all get sound code, and leave one folder.
func TestKeptAtOnce(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			m := &module{code: answer}
			if c := keptCode(dir, sha256.Sum256(answer), m.compile); c == nil || m.compile(c) != nil {
				t.Error("no code")
			}
		})
	}
	wg.Wait()
	if !kept(t, dir) {
		t.Error("nothing sound was kept")
	}
}

// TestAnotherModule: another build of the decoder can be named; a wrong one says so.
func TestAnotherModule(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	name := filepath.Join(dir, "answer.wasm")
	if err := os.WriteFile(name, answer, 0o600); err != nil {
		t.Fatal(err)
	}
	m, err := loadModule(name, dir)
	if err != nil {
		t.Fatal(err)
	}
	load := func() (*module, error) { return m, nil }
	if _, err := read(t, "odd").decode(context.Background(), load); err == nil || !strings.Contains(err.Error(), "malloc") {
		t.Errorf("a module without the decoder's functions: %v", err)
	}
	for name, text := range map[string]string{"none.wasm": "", "text.wasm": "not a module"} {
		name = filepath.Join(dir, name)
		if text != "" {
			if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := loadModule(name, dir); err == nil || !strings.Contains(err.Error(), "HEIC decoder") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
