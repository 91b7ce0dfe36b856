package must

import "os/exec"

// Browser returns the browser for tests of pages; empty: there is none. It is chromium-headless-shell, which takes half the
// time of Chromium; people's, with windows, if there is one and it is asked for.
func Browser(windows bool) string {
	const shell = "chromium-headless-shell"
	names := []string{shell, "chromium", "chromium-browser", "google-chrome", "chrome"}
	if windows {
		names = append(names[1:], shell)
	}
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}
