package cli

import (
	"math"
	"os"
	"runtime/debug"
	"strings"

	"hueward/cmd/hueward/internal/terminal"
	"hueward/colorimg/photo"
	"hueward/selection/written"
)

// memoryVariable says how much memory the photos that are open at one time may take.
const memoryVariable = "HUEWARD_MEMORY"

// leastMemory is that of a photo of 12 megapixels and the program around it.
const leastMemory = 64 << 20

// setMemory takes the limit from the environment. The whole program keeps to about as
// much, unless the variable of Go's own is set.
func (a *App) setMemory() error {
	limit := int64(photo.DefaultMemory)
	if s := terminal.Getenv(a.Env, memoryVariable); s != "" {
		n, ok := bytesOf(s)
		if !ok {
			return Usagef("%s=%s: want %d MiB or more, such as 800MiB or 2GiB", memoryVariable, s, leastMemory>>20)
		}
		photo.SetMemory(n)
		limit = n
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(limit + 256<<20)
	}
	return nil
}

// bytesOf reads a size: a number of MiB, or with its unit.
func bytesOf(s string) (int64, bool) {
	unit := float64(1 << 20)
	t := strings.ToLower(strings.TrimSpace(s))
	for _, u := range []struct {
		name  string
		bytes float64
	}{{"gib", 1 << 30}, {"gb", 1e9}, {"g", 1 << 30}, {"mib", 1 << 20}, {"mb", 1e6}, {"m", 1 << 20}} {
		if rest, ok := strings.CutSuffix(t, u.name); ok {
			t, unit = rest, u.bytes
			break
		}
	}
	v, err := written.Number(t)
	if err != nil || v*unit < leastMemory || v*unit > math.MaxInt64/2 {
		return 0, false
	}
	return int64(v * unit), true
}
