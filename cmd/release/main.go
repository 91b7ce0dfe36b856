// Command release builds hueward for all systems, and packs each with its manual, completions and licences. What it writes
// depends on the commit and on the version of Go alone: two builds anywhere are the same to the byte. .ci/release runs it.
package main

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// targets are the systems and machines that it builds for.
var targets = []string{"linux/amd64", "linux/arm64", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

func main() {
	if len(os.Args) < 2 {
		fmt.Fprintln(os.Stderr, "usage: release FOLDER [SYSTEM/MACHINE...], from the module's root")
		os.Exit(2)
	}
	if len(os.Args) > 2 {
		targets = os.Args[2:]
	}
	if err := release(os.Args[1]); err != nil {
		fmt.Fprintf(os.Stderr, "release: %v\n", err)
		os.Exit(1)
	}
}

func release(dir string) error {
	changed, err := output(nil, "git", "status", "--porcelain")
	if err != nil {
		return err
	}
	if changed != "" {
		return fmt.Errorf("a release is built of a commit: commit or remove what has changed:\n%s", changed)
	}
	text, err := output(nil, "git", "log", "-1", "--format=%ct")
	if err != nil {
		return err
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return err
	}
	made := time.Unix(seconds, 0).UTC()
	source, err := os.ReadFile("cmd/hueward/version.go")
	if err != nil {
		return err
	}
	version := regexp.MustCompile(`const version = "(.*)"`).FindSubmatch(source)
	if version == nil {
		return fmt.Errorf("cmd/hueward/version.go has no version")
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	common, err := documents(text)
	if err != nil {
		return err
	}
	var sums strings.Builder
	for _, target := range targets {
		system, machine, _ := strings.Cut(target, "/")
		program, err := build(system, machine)
		if err != nil {
			return err
		}
		name := fmt.Sprintf("hueward-%s-%s-%s", version[1], system, machine)
		files := append(slices.Clone(common), program)
		write := writeTar
		ending := ".tar.gz"
		if system == "windows" {
			write, ending = writeZip, ".zip"
		}
		var b bytes.Buffer
		if err := write(&b, name, files, made); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, name+ending), b.Bytes(), 0o666); err != nil {
			return err
		}
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(b.Bytes()), name+ending)
		fmt.Printf("%s, %.1f MB\n", name+ending, float64(b.Len())/1e6)
	}
	return os.WriteFile(filepath.Join(dir, "SHA256SUMS"), []byte(sums.String()), 0o666)
}

// build builds the program for a system and machine.
func build(system, machine string) (file, error) {
	dir, err := os.MkdirTemp("", "hueward-release-")
	if err != nil {
		return file{}, err
	}
	defer os.RemoveAll(dir)
	name := "hueward"
	if system == "windows" {
		name += ".exe"
	}
	env := []string{"CGO_ENABLED=0", "GOOS=" + system, "GOARCH=" + machine, "GOAMD64=v1", "GOARM64=v8.0",
		"GOFLAGS=-mod=readonly", "GOEXPERIMENT="}
	// Without the linker's tables for debuggers; what a crash prints stays.
	args := []string{"build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w", "-o", filepath.Join(dir, name), "./cmd/hueward"}
	if _, err := output(env, "go", args...); err != nil {
		return file{}, err
	}
	b, err := os.ReadFile(filepath.Join(dir, name))
	return file{name: name, data: b, program: true}, err
}

// documents are the files that come with every program.
func documents(epoch string) (files []file, err error) {
	add := func(name string, data []byte, e error) {
		files, err = append(files, file{name: name, data: data}), cmp.Or(err, e)
	}
	for name, from := range map[string]string{
		"README.md": "README.md", "CHANGELOG.md": "CHANGELOG.md", "LICENSE": "LICENSE", "LICENCES.txt": "cmd/hueward/licences.txt",
	} {
		b, err := os.ReadFile(from)
		add(name, b, err)
	}
	for shell, name := range map[string]string{
		"bash": "hueward.bash", "zsh": "_hueward", "fish": "hueward.fish", "powershell": "hueward.ps1",
	} {
		text, err := output(nil, "go", "run", "./cmd/hueward", "completion", shell)
		add("completions/"+name, []byte(text+"\n"), err)
	}
	dir, e := os.MkdirTemp("", "hueward-release-")
	if err = cmp.Or(err, e); err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	if _, err := output([]string{"SOURCE_DATE_EPOCH=" + epoch}, "go", "run", "-tags", "manual", "./cmd/hueward", dir); err != nil {
		return nil, err
	}
	pages, err := filepath.Glob(filepath.Join(dir, "*.1"))
	if err != nil || len(pages) == 0 {
		return nil, fmt.Errorf("no manual page was written: %v", err)
	}
	for _, page := range pages {
		b, err := os.ReadFile(page)
		add("man/"+filepath.Base(page), b, err)
	}
	return files, err
}

// output runs a program with settings added to its environment, and returns what it printed.
func output(env []string, name string, args ...string) (string, error) {
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), env...)
	cmd.Stderr = os.Stderr
	b, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w", name, strings.Join(args, " "), err)
	}
	return strings.TrimRight(string(b), "\n"), nil
}
