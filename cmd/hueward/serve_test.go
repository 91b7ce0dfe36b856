package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"hueward/colorimg/must"
)

// serveUntilStopped runs a line that serves, and stops it as Ctrl-C does.
func serveUntilStopped(t *testing.T, line, dir string, env []string) {
	t.Helper()
	if hosts, err := lanHosts(); strings.Contains(line, "--lan") && (err != nil || len(hosts) == 0) {
		t.Logf("%q is left out: this machine is in no network", line)
		return
	}
	sh := exec.Command("sh", "-ec", "exec "+line)
	sh.Dir, sh.Env = dir, env
	var said bytes.Buffer
	sh.Stderr = &said
	out := must.Have(sh.StdoutPipe())(t)
	must.OK(t, sh.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() && !strings.Contains(lines.Text(), "Ctrl-C stops") {
	}
	sh.Process.Signal(os.Interrupt)
	io.Copy(io.Discard, out)
	if err := sh.Wait(); err != nil {
		t.Errorf("%q: %v\n%s", line, err, said.String())
	}
}

// told is what a program that still runs has printed.
type told struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (w *told) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.Write(p)
}

// wait returns what a pattern finds, once it is printed.
func (w *told) wait(t *testing.T, pattern string) string {
	t.Helper()
	re := regexp.MustCompile(pattern)
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		w.mu.Lock()
		m := re.FindSubmatch(w.b.Bytes())
		w.mu.Unlock()
		if m != nil {
			return string(m[len(m)-1])
		}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	t.Fatalf("%s was not printed:\n%s", pattern, w.b.String())
	return ""
}

// serving serves the book in dir until stop, which holds that it ends, and well.
func serving(t *testing.T, dir string, args ...string) (out *told, stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	out, errs, done := &told{}, &told{}, make(chan int, 1)
	args = append([]string{"serve", "--port", "0"}, args...)
	go func() {
		done <- run(ctx, args, strings.NewReader(""), out, errs, append(plainEnviron(), "HUEWARD_BOOK="+dir))
	}()
	return out, func() {
		t.Helper()
		cancel()
		select {
		case status := <-done:
			if status != statusDone {
				t.Errorf("stopped with status %d: %s", status, errs.b.String())
			}
		case <-time.After(15 * time.Second):
			t.Fatal("it does not stop")
		}
	}
}

// The book is served to this machine, and to a phone that knows the code; Ctrl-C ends it.
func TestServe(t *testing.T) {
	t.Parallel()
	hosts := must.Have(lanHosts())(t)
	var lan []string
	if len(hosts) > 0 {
		lan = []string{"--lan"}
	}
	dir := t.TempDir() + "/book"
	hueward(t, statusDone, "new", dir, "--line", "buff")
	out, stop := serving(t, dir, lan...)
	base := out.wait(t, `http://127\.0\.0\.1:\d+`)
	r := must.Have(http.Get(base + "/today"))(t)
	page, _ := io.ReadAll(r.Body)
	r.Body.Close()
	if r.StatusCode != 200 || !strings.Contains(string(page), "buff") {
		t.Errorf("today: status %d\n%.300s", r.StatusCode, page)
	}
	if len(hosts) > 0 {
		link := must.Have(url.Parse(out.wait(t, `\n(http://\S+/join\?code=\S+)`)))(t)
		jar, _ := cookiejar.New(nil)
		phone := http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		// From this machine's own address in its network: not by a loopback name.
		r = must.Have(phone.Get("http://" + link.Host + "/today"))(t)
		r.Body.Close()
		if r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/join" {
			t.Errorf("a phone that is not paired: status %d, sent to %q", r.StatusCode, r.Header.Get("Location"))
		}
		r = must.Have(phone.PostForm("http://"+link.Host+"/join", url.Values{"code": {link.Query().Get("code")}, "name": {"a phone"}}))(t)
		r.Body.Close()
		if r.StatusCode != http.StatusSeeOther {
			t.Errorf("a phone with the code: status %d", r.StatusCode)
		}
		r = must.Have(phone.Get("http://" + link.Host + "/today"))(t)
		r.Body.Close()
		if r.StatusCode != 200 {
			t.Errorf("the paired phone: status %d", r.StatusCode)
		}
	}
	stop()
}

// With --address the network reaches it at that one alone, and it says which; one that this
// machine does not have, and one without --lan, are wrong usage.
func TestServeAddress(t *testing.T) {
	t.Parallel()
	hosts := must.Have(lanHosts())(t)
	dir := t.TempDir() + "/book"
	hueward(t, statusDone, "new", dir, "--line", "buff")
	for _, args := range [][]string{{"--address", "192.0.2.1"}, {"--lan", "--address", "192.0.2.1"}} {
		if len(hosts) == 0 && len(args) > 2 {
			continue
		}
		if _, errs := hueward(t, statusUsage, append([]string{"serve", "--port", "0", "--book", dir}, args...)...); !strings.Contains(errs,
			"--address 192.0.2.1: ") {
			t.Errorf("%v: %s", args, errs)
		}
	}
	addresses := addressesOf(hosts)
	if len(addresses) == 0 {
		return // this machine is in no network
	}
	out, stop := serving(t, dir, "--lan", "--address", addresses[0])
	link := out.wait(t, `at one address only: (http://\S+/)\n`)
	for _, at := range []string{out.wait(t, `http://127\.0\.0\.1:\d+/`), link} {
		r, err := http.Get(at + "assets/icon.svg")
		if err != nil || r.StatusCode != 200 {
			t.Errorf("%s: %v", at, err)
			continue
		}
		r.Body.Close()
	}
	u, err := url.Parse(link)
	if err != nil || u.Hostname() != addresses[0] {
		t.Fatalf("it says that it answers at %s, want %s", link, addresses[0])
	}
	// Another address of this machine's own is not answered at.
	if r, err := http.Get("http://" + net.JoinHostPort("127.0.0.2", u.Port()) + "/assets/icon.svg"); err == nil {
		r.Body.Close()
		t.Error("it answers at 127.0.0.2, too")
	}
	stop()
}
