package page

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"
)

// pair lets a phone in, and returns its cookie as a header.
func pair(t *testing.T, s *Server) string {
	t.Helper()
	r := direct(t, s, "POST", "/join", lan, phone, strings.NewReader(url.Values{"code": {s.door.Code()}, "name": {"a phone"}}.Encode()),
		"Content-Type", "application/x-www-form-urlencoded", "Origin", "http://"+lan)
	if r.StatusCode != http.StatusSeeOther || len(r.Cookies()) != 1 {
		t.Fatalf("not paired: status %d", r.StatusCode)
	}
	return r.Cookies()[0].Name + "=" + r.Cookies()[0].Value
}

// A script that is not let in any more hears so: the page that asks for the code cannot be
// taken for an answer, and a photo for sent.
func TestScriptsHear(t *testing.T) {
	t.Parallel()
	s := lanServer(t, bookOf(t))
	for _, c := range []struct{ method, path, accept, script string }{
		{"POST", "/photos", "application/json", ""}, {"POST", "/status", "application/json", ""}, {"GET", "/live", "text/event-stream", ""},
		{"GET", "/today", "text/html", "1"},
	} {
		r := direct(t, s, c.method, c.path, lan, phone, nil, "Accept", c.accept, "Hueward-Script", c.script)
		_, body := read(t, r)
		if r.StatusCode != http.StatusUnauthorized || !strings.Contains(body, "let it in again") {
			t.Errorf("%s %s by a script: status %d, %q", c.method, c.path, r.StatusCode, body)
		}
	}
	// A person is asked for the code.
	if r := direct(t, s, "GET", "/today", lan, phone, nil, "Accept", "text/html"); r.StatusCode != http.StatusSeeOther {
		t.Errorf("a person: status %d", r.StatusCode)
	}
}

// A phone that was let in stays so when the server is started anew, and its open page's
// forms are good; it may leave by itself, and end no other's pairing.
func TestPairedAfterRestart(t *testing.T) {
	t.Parallel()
	b := bookOf(t)
	first := lanServer(t, b)
	cookie, other := pair(t, first), pair(t, first)
	_, page := read(t, direct(t, first, "GET", "/print", lan, phone, nil, "Cookie", cookie))
	_, page2 := read(t, direct(t, first, "GET", "/devices", lan, phone, nil, "Cookie", cookie))
	if strings.Count(page2, "Send away") != 1 {
		t.Errorf("a phone may send away more than itself: %s", page2)
	}
	token := tokenForm.FindStringSubmatch(page)[1]
	s := lanServer(t, b)
	post := func(path, cookie string, kv ...string) int {
		v := url.Values{"token": {token}}
		for i := 0; i+1 < len(kv); i += 2 {
			v.Set(kv[i], kv[i+1])
		}
		return direct(t, s, "POST", path, lan, phone, strings.NewReader(v.Encode()), "Content-Type", "application/x-www-form-urlencoded",
			"Origin", "http://"+lan, "Cookie", cookie).StatusCode
	}
	if got := post("/status", cookie, "set", "M-01 kept"); got != http.StatusSeeOther {
		t.Errorf("a form of before: status %d", got)
	}
	own := regexp.MustCompile(`name="id" value="([^"]+)"`).FindStringSubmatch(page2)[1]
	for _, v := range s.door.List() {
		if v.ID != own {
			if got := post("/devices/forget", cookie, "id", v.ID); got != http.StatusForbidden {
				t.Errorf("a phone ends another's pairing: status %d", got)
			}
		}
	}
	if got := post("/devices/forget", cookie, "id", own); got != http.StatusSeeOther || len(s.door.List()) != 1 {
		t.Errorf("a phone leaves: status %d, %d are left", got, len(s.door.List()))
	}
	if r := direct(t, s, "GET", "/today", lan, phone, nil, "Cookie", cookie); r.StatusCode != http.StatusSeeOther {
		t.Errorf("it left, and is still in: status %d", r.StatusCode)
	}
	if r := direct(t, s, "GET", "/today", lan, phone, nil, "Cookie", other); r.StatusCode != 200 {
		t.Errorf("the other is out: status %d", r.StatusCode)
	}
}

// A link on another site leads to a page of the book, and does not end the session of the
// browser that follows it: on that request the browser shows no cookie.
func TestLinkFromElsewhere(t *testing.T) {
	t.Parallel()
	s := New(bookOf(t), &Options{Now: clock})
	nav := []string{"Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "document", "Accept", "text/html"}
	r := direct(t, s, "GET", "/plants?sort=id", local, here, nil, append(nav, "Sec-Fetch-Site", "cross-site")...)
	_, page := read(t, r)
	if r.StatusCode != 200 || len(r.Cookies()) != 0 || !strings.Contains(page, `content="0;url=/plants?sort=id"`) ||
		strings.Contains(page, "M-01") {
		t.Errorf("a link from elsewhere: status %d, cookies %v, %s", r.StatusCode, r.Cookies(), page)
	}
	for _, path := range []string{"//evil.example/x", `/\evil.example`} {
		req := httptest.NewRequest("GET", "/", nil)
		req.URL.Path, req.URL.RawPath, req.Host, req.RemoteAddr = path, "", local, here
		for i, kv := 0, append(nav, "Sec-Fetch-Site", "cross-site"); i < len(kv); i += 2 {
			req.Header.Set(kv[i], kv[i+1])
		}
		w := httptest.NewRecorder()
		s.handler.ServeHTTP(w, req)
		if body := w.Body.String(); strings.Contains(body, "url=//") || strings.Contains(body, `url=/\`) ||
			strings.HasPrefix(w.Header().Get("Location"), "//") {
			t.Errorf("%s leads away: %s %s", path, w.Header().Get("Location"), body)
		}
	}
	for _, kv := range [][]string{{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors", "Sec-Fetch-Dest", "image"},
		{"Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate", "Sec-Fetch-Dest", "iframe"}, {"Sec-Fetch-Site", "same-site"}} {
		r := direct(t, s, "GET", "/photos/1/large.jpg", local, here, nil, kv...)
		if r.StatusCode != http.StatusForbidden || len(r.Cookies()) != 0 {
			t.Errorf("%v: status %d, cookies %v", kv, r.StatusCode, r.Cookies())
		}
	}
}

// A body that stands still or drips is cut off, a slow one that comes on is not.
func TestSlowBodies(t *testing.T) {
	t.Parallel()
	b := bookOf(t)
	const stall = 700 * time.Millisecond
	s := New(b, &Options{Now: clock, Limits: Limits{Stall: stall}})
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	check(t, err)
	run, stop := context.WithCancel(t.Context())
	defer stop()
	go s.Serve(run, ln)
	c := newDevice(t, s, "http://"+ln.Addr().String())
	token := c.token()
	u, _ := url.Parse(c.base)
	cookie := c.Jar.Cookies(u)[0]
	// send writes a form piece by piece, and returns what is answered, and when.
	send := func(pieces []string, wait time.Duration, length int) (answer string, took time.Duration) {
		conn, err := net.Dial("tcp", ln.Addr().String())
		check(t, err)
		defer conn.Close()
		begun := time.Now()
		fmt.Fprintf(conn, "POST /status HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\nCookie: %s=%s\r\n"+
			"Content-Type: application/x-www-form-urlencoded\r\n"+
			"Content-Length: %d\r\nConnection: close\r\n\r\n", u.Host, c.base, cookie.Name, cookie.Value, length)
		done := make(chan string)
		go func() { b, _ := io.ReadAll(conn); done <- string(b) }()
		for _, p := range pieces {
			if _, err := io.WriteString(conn, p); err != nil {
				break
			}
			time.Sleep(wait)
		}
		return <-done, time.Since(begun)
	}
	form := url.Values{"token": {token}, "set": {"M-05 kept"}}.Encode()
	var slow []string
	for i := 0; i < len(form); i += 12 {
		slow = append(slow, form[i:min(i+12, len(form))])
	}
	if answer, _ := send([]string{form[:20]}, 0, len(form)); !strings.HasPrefix(answer, "HTTP/1.1 408") {
		t.Errorf("a form that stands still: %.60q", answer)
	}
	if answer, took := send(strings.Split(strings.Repeat("x", 200), ""), stall/5, 1000); !strings.HasPrefix(answer, "HTTP/1.1 408") &&
		answer != "" || took > 100*stall {
		t.Errorf("a form that drips: %.60q after %v", answer, took)
	}
	if answer, _ := send(slow, stall/20, len(form)); !strings.HasPrefix(answer, "HTTP/1.1 303") {
		t.Errorf("a slow form: %.60q", answer)
	}
}
