package page

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"hueward/selection/book"
)

// What a test sets for a server that it starts as a program of its own, to kill it.
const (
	serveBook = "HUEWARD_PAGE_BOOK"
	serveAt   = "HUEWARD_PAGE_AT"
)

func serveToBeKilled(dir, at string) int {
	b, err := book.Open(context.Background(), dir, &book.Options{Now: clock, Who: "the table"})
	if err == nil {
		var ln net.Listener
		if ln, err = net.Listen("tcp", at); err == nil {
			err = New(b, &Options{Now: clock, Version: "test", Who: "the table", LAN: true,
				Hosts: []string{shedName}}).Serve(context.Background(), ln)
		}
	}
	fmt.Fprintln(os.Stderr, err)
	return 1
}

// program is a server that runs as a program of its own.
type program struct {
	t       *testing.T
	dir, at string
	cmd     *exec.Cmd
}

func startProgram(t *testing.T, b *book.Book) *program {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	check(t, err)
	ln.Close()
	p := &program{t: t, dir: b.Dir(), at: ln.Addr().String()}
	t.Cleanup(p.kill)
	p.start()
	return p
}

// start starts the server, and waits until it answers.
func (p *program) start() {
	p.t.Helper()
	exe, err := os.Executable()
	check(p.t, err)
	p.cmd = exec.Command(exe)
	p.cmd.Env = append(os.Environ(), serveBook+"="+p.dir, serveAt+"="+p.at)
	p.cmd.Stderr = os.Stderr
	check(p.t, p.cmd.Start())
	for end := time.Now().Add(60 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if r, err := http.Get("http://" + p.at + "/assets/icon.svg"); err == nil {
			r.Body.Close()
			return
		}
	}
	p.t.Fatal("the server does not answer")
}

// kill ends it at once, whatever it is at.
func (p *program) kill() {
	if p.cmd != nil {
		p.cmd.Process.Kill()
		p.cmd.Wait()
		p.cmd = nil
	}
}

// Photos are sent while, at one point after the other, the network goes away, the server is
// killed and the page is loaded anew: each photo is kept, and once.
func TestSentMeansKeptByTouch(t *testing.T) {
	t.Parallel()
	n, points := 9, 3
	if full {
		n, points = 30, 10
	}
	bk := bookOf(t)
	p := startProgram(t, bk)
	b := browser(t, "http://"+p.at)
	b.set(screens[0])
	was := photosIn(t, bk)
	files := photoFiles(t, n)
	b.open("/photos")
	b.do(chromedp.SetUploadFiles(chromedp.CSS("#add input[multiple]"), files), chromedp.Click(chromedp.CSS("#add button.main")))
	b.until("kept on the phone", fmt.Sprintf(`waits.started && document.querySelectorAll("#queue li").length + waits.done() >= %d`, n))
	for point := range points {
		// Wait until so many are in the book; the next are then under way.
		want := was + point*n/points
		for end := time.Now().Add(3 * time.Minute); photosIn(t, bk) < want; time.Sleep(20 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("point %d: %d photos after three minutes, want %d", point, photosIn(t, bk)-was, want-was)
			}
		}
		switch point % 3 {
		case 0:
			b.offline(true)
			b.until("noticed", `document.getElementById("queue").textContent.includes("no connection")`)
			b.offline(false)
		case 1:
			p.kill()
			if point%2 == 0 { // and in the garden it goes unnoticed for a while
				b.until("noticed", `document.getElementById("queue").textContent.includes("no connection")`)
			}
			p.start()
		case 2:
			b.open("/photos")
		}
	}
	b.until("all sent", fmt.Sprintf(`document.querySelector("#sending-all").textContent.includes("All sent: %d done.")`, n))
	photos, err := bk.Photos(t.Context(), "", "")
	check(t, err)
	if len(photos) != was+n {
		t.Errorf("%d photos more, want %d", len(photos)-was, n)
	}
	names := map[string]int{}
	for _, p := range photos {
		names[p.Name]++
		if p.Readings != 1 {
			t.Errorf("%s was measured %d times", p.Name, p.Readings)
		}
	}
	for i := range n {
		if name := fmt.Sprintf("IMG_%04d.jpg", i+1); names[name] != 1 {
			t.Errorf("%s is there %d times", name, names[name])
		}
	}
	b.open("/photos")
	if text := eval[string](b, `document.getElementById("sending").hidden + document.getElementById("queue").textContent`); text != "true" {
		t.Errorf("something still waits: %s", text)
	}
}
