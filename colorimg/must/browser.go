package must

import (
	"os"
	"os/exec"
)

// Browser is the program that tests look at pages with; empty: there is none. The Chromium that comes without windows of its own
// takes half the time of the one that people use, which is taken with HUEWARD_FULL=1.
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
