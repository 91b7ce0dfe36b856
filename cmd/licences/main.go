// Command licences writes the licences of all that is inside a built hueward: its own, those of the modules that it is built
// of on any system it is released for, Go's, and those of the HEIC decoder. "go generate ./cmd/hueward" runs it; a test sees
// that the file it wrote is what it would write now.
package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"
)

// targets are the systems that .ci/release builds for.
var targets = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

// licenceFile is the name of a file that states a licence, or what it asks to be passed on.
var licenceFile = regexp.MustCompile(`(?i)^(un)?(licen[cs]e|copying|copyright|notice|patents)([.-].*)?$`)

// part is a module, or another thing with licences of its own.
type part struct {
	name  string // with its version
	files []string
}

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: licences FILE, from the module's root")
		os.Exit(2)
	}
	text, err := licences(".")
	if err == nil {
		err = os.WriteFile(os.Args[1], text, 0o666)
	}
	if err != nil {
		fmt.Fprintf(os.Stderr, "licences: %v\n", err)
		os.Exit(1)
	}
}

// licences returns the text for the module at root.
func licences(root string) ([]byte, error) {
	parts, err := parts(root)
	if err != nil {
		return nil, err
	}
	var order []string // texts
	names := map[string][]string{}
	for _, p := range parts {
		if len(p.files) == 0 {
			return nil, fmt.Errorf("%s has no file with its licence", p.name)
		}
		for _, f := range p.files {
			b, err := os.ReadFile(f)
			if err != nil {
				return nil, err
			}
			text := strings.Trim(strings.ReplaceAll(string(b), "\r\n", "\n"), "\n")
			if names[text] == nil {
				order = append(order, text)
			}
			names[text] = append(names[text], p.name+": "+filepath.Base(f))
		}
	}
	var out bytes.Buffer
	out.WriteString("hueward is built of the software named here, each with its version. The text of each licence follows the names it is " +
		"for.\n")
	for _, text := range order {
		out.WriteString("\n" + strings.Repeat("=", 80) + "\n")
		for _, name := range names[text] {
			out.WriteString(name + "\n")
		}
		out.WriteString("\n" + text + "\n")
	}
	return out.Bytes(), nil
}

// parts lists all that is inside, hueward itself first.
func parts(root string) ([]part, error) {
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("ask where Go lies: %w", err)
	}
	decoder := filepath.Join(root, "colorimg", "photo", "heif", "libheif")
	all := []part{
		{"hueward", []string{filepath.Join(root, "LICENSE")}},
		{"libheif 1.18.2 and libde265 1.0.15, as WebAssembly", []string{filepath.Join(decoder, "README.md")}},
		{"libheif 1.18.2", []string{filepath.Join(decoder, "LICENSE.libheif")}},
		{"libde265 1.0.15", []string{filepath.Join(decoder, "LICENSE.libde265")}},
		{"Go", []string{filepath.Join(strings.TrimSpace(string(goroot)), "LICENSE")}},
	}
	modules, err := modules(root)
	if err != nil {
		return nil, err
	}
	for _, m := range modules {
		name, dir, _ := strings.Cut(m, "\t")
		entries, err := os.ReadDir(dir)
		if err != nil {
			return nil, err
		}
		p := part{name: name}
		for _, e := range entries {
			if licenceFile.MatchString(e.Name()) {
				p.files = append(p.files, filepath.Join(dir, e.Name()))
			}
		}
		if strings.HasPrefix(name, "golang.org/x/image ") {
			p.files = append(p.files, filepath.Join(dir, "font", "gofont", "ttfs", "README")) // of the letters on labels
		}
		all = append(all, p)
	}
	return all, nil
}

// modules lists the modules that any of the targets is built of: name and version, tab, folder.
func modules(root string) ([]string, error) {
	lists := make([][]string, len(targets))
	var g errgroup.Group
	g.SetLimit(2)
	for i, target := range targets {
		g.Go(func() error {
			const each = "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}\t{{.Dir}}{{end}}{{end}}"
			cmd := exec.Command("go", "list", "-deps", "-f", each, "./cmd/hueward")
			system, machine, _ := strings.Cut(target, "/")
			cmd.Dir = root
			cmd.Env = append(os.Environ(), "GOOS="+system, "GOARCH="+machine, "CGO_ENABLED=0", "GOFLAGS=-mod=readonly")
			cmd.Stderr = os.Stderr
			out, err := cmd.Output()
			if err != nil {
				return fmt.Errorf("list the modules for %s: %w", target, err)
			}
			lists[i] = strings.FieldsFunc(string(out), func(r rune) bool { return r == '\n' })
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	all := slices.Concat(lists...)
	slices.Sort(all)
	return slices.Compact(all), nil
}
