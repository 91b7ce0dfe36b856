package heif

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	_ "embed"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/experimental"
	"github.com/tetratelabs/wazero/imports/wasi_snapshot_preview1"
)

// libheif is libheif with libde265 as one WebAssembly module; where it comes from and its licence: libheif/README.md. It
// runs in a sandbox of its own memory, gives the same bytes on every machine, and needs no library there.
//
//go:embed libheif/heif.wasm.gz
var libheif []byte

// ModuleVariable names another build of the decoder, a WebAssembly file, as it is or packed by gzip. It must export the
// functions malloc, free and decode as libheif/README.md describes them.
const ModuleVariable = "HUEWARD_HEIF_WASM"

// module is the decoder's code, unpacked and compiled at the first picture: about a second, or a few hundredths where it
// was compiled before. All sandboxes are made of it.
type module struct {
	code     []byte
	rt       wazero.Runtime
	compiled wazero.CompiledModule
}

var decoder = sync.OnceValues(func() (*module, error) {
	dir, _ := os.UserCacheDir() // without one nothing is kept
	if !filepath.IsAbs(dir) {
		dir = ""
	}
	return loadModule(os.Getenv(ModuleVariable), dir)
})

// loadModule reads the named module, or the one inside this program, and compiles it; compiled code is kept below dir.
func loadModule(name, dir string) (*module, error) {
	packed := libheif
	if name != "" {
		b, err := os.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("HEIC decoder of %s: %w", ModuleVariable, err)
		}
		packed = b
	}
	code, err := unpack(packed)
	if err != nil {
		return nil, fmt.Errorf("unpack the HEIC decoder: %w", err)
	}
	m := &module{code: code}
	sum := sha256.Sum256(packed)
	if keptCode(dir, sum, m.compile) != nil {
		return m, nil
	}
	if err := m.compile(wazero.NewCompilationCache()); err != nil {
		return nil, fmt.Errorf("compile the HEIC decoder: %w", err)
	}
	return m, nil
}

// compile compiles the module into the cache, or reads it from there.
func (m *module) compile(cache wazero.CompilationCache) (err error) {
	ctx := experimental.WithCompilationWorkers(context.Background(), runtime.GOMAXPROCS(0))
	m.rt = wazero.NewRuntimeWithConfig(ctx, wazero.NewRuntimeConfig().WithCompilationCache(cache))
	if _, err = wasi_snapshot_preview1.Instantiate(ctx, m.rt); err == nil {
		m.compiled, err = m.rt.CompileModule(ctx, m.code)
	}
	if err != nil {
		m.rt.Close(ctx)
	}
	return err
}

func unpack(b []byte) ([]byte, error) {
	if !bytes.HasPrefix(b, []byte{0x1f, 0x8b}) {
		return b, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}
