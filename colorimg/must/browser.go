package must

import (
	"os"
	"os/exec"
)

// Browser returns the browser for tests of pages; empty: there is none. It is chromium-headless-shell, which takes half the
// time of Chromium; with HUEWARD_FULL=1 it is Chromium, which people use.
func Browser() string {
	const shell = "chromium-headless-shell"
	names := []string{shell, "chromium", "chromium-browser", "google-chrome", "chrome"}
	if os.Getenv("HUEWARD_FULL") == "1" {
		names = append(names[1:], shell)
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}
