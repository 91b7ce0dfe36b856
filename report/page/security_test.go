package page

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"hueward/selection/book"
)

// direct sends a request as it stands, with headers and Host, from an address.
func direct(t *testing.T, s *Server, method, target, host, from string, body io.Reader, kv ...string) *http.Response {
	t.Helper()
	r := httptest.NewRequest(method, target, body)
	r.Host, r.RemoteAddr = host, from
	for i := 0; i+1 < len(kv); i += 2 {
		r.Header.Set(kv[i], kv[i+1])
	}
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	return w.Result()
}

const (
	here  = "127.0.0.1:50000"
	phone = "192.0.2.50:50000"
	local = "127.0.0.1:8459"
	lan   = "192.0.2.7:8459"
)

func lanServer(t *testing.T, b *book.Book) *Server {
	t.Helper()
	return New(b, &Options{Now: clock, Who: "the table", LAN: true, Hosts: []string{"192.0.2.7", "shed.local"}})
}

// ownScript is a script of this server's own, by its name and version.
var ownScript = regexp.MustCompile(`<script src="/assets/[a-z]+\.js\?v=[0-9a-f]{8}" defer(="")?></script>`)

// A Host that is not this server's is not answered: a page elsewhere whose name was
// pointed here could read the book (DNS rebinding).
func TestForeignHost(t *testing.T) {
	t.Parallel()
	b := bookOf(t)
	own := New(b, &Options{Now: clock})
	for _, c := range []struct {
		s    *Server
		host string
		from string
		want int
	}{
		{own, local, here, 200}, {own, "localhost:8459", here, 200}, {own, "[::1]:8459", "[::1]:50000", 200},
		{own, "evil.example:8459", here, 421}, {own, "127.0.0.1.evil.example", here, 421}, {own, "", here, 421},
		{own, "192.0.2.7:8459", here, 421},
		{lanServer(t, b), lan, phone, 303}, {lanServer(t, b), "shed.local:8459", phone, 303}, {lanServer(t, b), "evil.example:8459", phone, 421},
		// Loopback names do not let a stranger in.
		{lanServer(t, b), local, phone, 303},
	} {
		if r := direct(t, c.s, "GET", "/today", c.host, c.from, nil); r.StatusCode != c.want {
			t.Errorf("Host %q from %s: status %d, want %d", c.host, c.from, r.StatusCode, c.want)
		}
	}
}

// What changes the book must come from the book's own pages.
func TestForeignOrigin(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	token := c.token()
	u, _ := url.Parse(c.base)
	cookie := c.Jar.Cookies(u)[0]
	form := url.Values{"token": {token}, "set": {"M-01 kept"}}.Encode()
	send := func(kv ...string) int {
		kv = append([]string{"Content-Type", "application/x-www-form-urlencoded", "Cookie", cookie.Name + "=" + cookie.Value}, kv...)
		return direct(t, c.s, "POST", "/status", u.Host, here, strings.NewReader(form), kv...).StatusCode
	}
	for _, kv := range [][]string{
		{"Origin", "http://evil.example"}, {"Origin", "null"}, {"Origin", "https://" + u.Host}, {"Origin", "http://127.0.0.1:1"},
		{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"},
	} {
		if got := send(kv...); got != http.StatusForbidden {
			t.Errorf("%q: status %d, want 403", kv, got)
		}
	}
	if p, err := b.Plant(t.Context(), "M-01"); err != nil || p.Status != book.Growing {
		t.Fatalf("a foreign form made M-01 %v, %v", p, err)
	}
	if got := send("Origin", "http://"+u.Host, "Sec-Fetch-Site", "same-origin"); got != http.StatusSeeOther {
		t.Errorf("its own form: status %d, want 303", got)
	}
}

// Every form needs the token of its device.
func TestTokens(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	other := newDevice(t, c.s, c.base)
	foreign := other.token()
	c.token()
	for _, path := range []string{"/status", "/today", "/heads", "/packets", "/crosses", "/pairs", "/plants", "/plants/M-01/note",
		"/plants/M-01/score",
		"/photos/1/correct", "/photos/1/plant", "/photos/1/remove", "/undo", "/keep/backup", "/target", "/devices/forget"} {
		for _, token := range []string{"", "x", foreign} {
			r, err := c.PostForm(c.base+path, url.Values{"token": {token}, "set": {"M-01 kept"}})
			check(t, err)
			if status, _ := read(t, r); status != http.StatusForbidden {
				t.Errorf("%s with the token %q: status %d, want 403", path, token, status)
			}
		}
	}
	for _, path := range []string{"/photos", "/scan", "/target"} {
		for _, token := range []string{"", foreign} {
			r, err := c.tryUpload(path, "a.jpg", "image/jpeg", drawn(t, 900, petalOf(1), 300, 225), false, "token", token)
			check(t, err)
			if status, _ := read(t, r); status != http.StatusForbidden {
				t.Errorf("%s with the token %q: status %d, want 403", path, token, status)
			}
		}
	}
	if h, err := b.History(t.Context(), 1); err != nil || strings.Contains(h[0].What, "kept") {
		t.Errorf("something was entered: %+v, %v", h, err)
	}
}

// No path leads out of what is served.
func TestPathTraversal(t *testing.T) {
	t.Parallel()
	c := serve(t, bookOf(t), nil)
	for _, path := range []string{
		"/assets/../templates/base.html", "/assets/..%2ftemplates%2fbase.html", "/assets/%2e%2e%2fdoor.go", "/assets/", "/assets",
		"/assets/page.css/", "/assets/..%5cdoor.go",
		"/photos/..%2f..%2fbook.db", "/photos/1/..%2f..%2fbook.db", "/photos/../book.db", "/photos/1/large.jpg%00", "/photos/1/original.jpg",
		"/photos/-1/small.jpg", "/photos/999999999999999999999/small.jpg",
		"/keep/..%2fbook.db", "/keep/book.db", "/print/..%2f..%2fbook.pdf", "/book.db", "/photos/2026/M-01/M-01_1.jpg", "/backups/",
		"/.git/config",
	} {
		r, err := c.Get(c.base + path)
		check(t, err)
		status, body := read(t, r)
		if status == http.StatusOK && !strings.HasPrefix(r.Request.URL.Path, "/photos") || strings.Contains(body, "SQLite format") ||
			strings.Contains(body, "package page") || strings.Contains(body, "{{") {
			t.Errorf("%s: status %d, %.80q", path, status, body)
		}
		if status == http.StatusOK {
			t.Errorf("%s: answered at %s", path, r.Request.URL)
		}
	}
}

// Names, notes and file names may say anything; on a page they are only words.
func TestHostileWords(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	const evil = `<script>document.title='owned'</script><img src=x onerror=alert(1)>"'`
	if status, body := c.send("/plants", "plants", "<script>alert(1)</script>"); status == 200 && strings.Contains(body, "<script>alert") {
		t.Error("a plant is called a script, and the page runs it")
	}
	check(t, b.SetNote(t.Context(), "M-01", evil))
	check(t, b.AddLine(t.Context(), "x<b onmouseover=alert(1)>", evil))
	if _, _, err := b.AddCross(t.Context(), book.Cross{SeedParent: "M-01", PollenParent: "M-02", Season: "2026", MadeOn: now, Note: evil},
		1); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{evil + ".jpg", `..\..\x.jpg`, "../../../etc/x.jpg", "a\x00b.jpg", strings.Repeat("n", 4000) + ".jpg", ".jpg",
		""} {
		r, err := c.tryUpload("/photos", name, "image/jpeg", drawn(t, int64(2000+len(name)), petalOf(3), 480, 360), true, "token", c.token())
		check(t, err)
		status, body := read(t, r)
		if strings.Contains(body, "<script>document") || strings.Contains(body, `<img src=x`) {
			t.Errorf("a photo of the name %.40q: status %d, %s", name, status, body)
		}
	}
	if status, _ := c.send("/photos/1/plant", "plant", evil); status == http.StatusInternalServerError {
		t.Error("an odd plant's name is our own fault")
	}
	for _, path := range append([]string{"/plants/M-01", "/photos?plant=" + url.QueryEscape(evil), "/plants?has=" + url.QueryEscape(evil),
		"/crosses?seed=" + url.QueryEscape(evil),
		"/print?plants=" + url.QueryEscape(evil), "/target?name=" + url.QueryEscape(evil), "/plants/" + url.PathEscape(evil),
		"/heads?head=" + url.QueryEscape(evil),
		"/packets?head=" + url.QueryEscape(evil), "/join?code=" + url.QueryEscape(evil)}, allPages...) {
		_, body := c.read(path)
		for _, bad := range []string{"<script>document", "<script>alert", "<img src=x", "<b onmouseover"} {
			if strings.Contains(body, bad) {
				t.Errorf("%s holds %s", path, bad)
			}
		}
		if n := strings.Count(body, "<script"); n != len(ownScript.FindAllString(body, -1))+strings.Count(body,
			`<script type="application/json"`) {
			t.Errorf("%s holds a script of its own", path)
		}
	}
	// A page that gets there all the same may run no script but ours.
	r, err := c.Get(c.base + "/today")
	check(t, err)
	read(t, r)
	csp := r.Header.Get("Content-Security-Policy")
	if !strings.Contains(csp, "script-src 'self'") || strings.Contains(strings.Split(strings.SplitAfter(csp, "script-src")[1], ";")[0],
		"unsafe") || !strings.Contains(csp, "default-src 'none'") {
		t.Errorf("content security policy: %s", csp)
	}
}

// What is no photo is refused whatever it calls itself, and nothing of it is kept.
func TestLyingUploads(t *testing.T) {
	t.Parallel()
	b := bookOf(t)
	c := serve(t, b, &Options{Limits: Limits{Photos: 3, Bytes: 1 << 20, Pixels: 1_000_000}})
	was := photosIn(t, b)
	for name, content := range map[string][]byte{
		"svg.jpg":   []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"><script>alert(1)</script></svg>`),
		"html.jpg":  []byte(`<!DOCTYPE html><script>alert(1)</script>`),
		"html.svg":  []byte(`<!DOCTYPE html><script>alert(1)</script>`),
		"empty.jpg": nil,
		"zip.jpg":   []byte("PK\x03\x04................"),
		"half.jpg":  drawn(t, 40, petalOf(2), 600, 450)[:4000],
		"head.jpg":  append([]byte{0xff, 0xd8, 0xff, 0xe0}, bytes.Repeat([]byte{0}, 200)...),
		"pixels":    drawn(t, 41, petalOf(2), 1600, 1200),
	} {
		for _, kind := range []string{"image/jpeg", "image/svg+xml", "text/html"} {
			status, body := c.upload("/photos", name, kind, content, true)
			var answer []struct {
				ID     int64
				Status string
				HTML   string
			}
			if status != http.StatusOK || json.Unmarshal([]byte(body), &answer) != nil || len(answer) != 1 || answer[0].ID != 0 ||
				answer[0].Status != "refused" || !strings.Contains(answer[0].HTML, "Refused") {
				t.Errorf("%s as %s: status %d, %.300s", name, kind, status, body)
			}
		}
		if status, _ := c.upload("/scan", name, "image/jpeg", content, false); status != http.StatusBadRequest {
			t.Errorf("%s as a tag: status %d, want 400", name, status)
		}
		if status, _ := c.upload("/target", name, "image/jpeg", content, false); status != http.StatusBadRequest {
			t.Errorf("%s as a wish: status %d, want 400", name, status)
		}
	}
	if status, _ := c.upload("/photos", "big.jpg", "image/jpeg", bytes.Repeat([]byte("x"), 1<<20+1),
		true); status != http.StatusRequestEntityTooLarge {
		t.Errorf("a photo of more than the limit: status %d, want 413", status)
	}
	if status, _ := c.upload("/photos", "huge.jpg", "image/jpeg", bytes.Repeat([]byte("x"), 6<<20),
		true); status != http.StatusRequestEntityTooLarge {
		t.Errorf("a request of more than the limit: status %d, want 413", status)
	}
	// More photos than one request may bring: those before the limit are kept.
	var many bytes.Buffer
	m := multipart.NewWriter(&many)
	m.WriteField("token", c.token())
	for i := range 4 {
		w, err := m.CreateFormFile("photo", fmt.Sprintf("IMG_%d.jpg", i))
		check(t, err)
		w.Write([]byte("no photo"))
	}
	m.Close()
	r, err := c.Post(c.base+"/photos", m.FormDataContentType(), &many)
	check(t, err)
	if status, _ := read(t, r); status != http.StatusRequestEntityTooLarge {
		t.Errorf("four photos where three are taken: status %d, want 413", status)
	}
	if n := photosIn(t, b); n != was {
		t.Errorf("%d photos in the book, %d before", n, was)
	}
}

// A code lets one device in, once; guesses are few.
func TestPairing(t *testing.T) {
	t.Parallel()
	s := lanServer(t, bookOf(t))
	join := func(code string) (*http.Response, string) {
		r := direct(t, s, "POST", "/join", lan, phone, strings.NewReader(url.Values{"code": {code}, "name": {"a phone"}}.Encode()),
			"Content-Type", "application/x-www-form-urlencoded", "Origin", "http://"+lan)
		cookie := ""
		for _, c := range r.Cookies() {
			if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" {
				t.Errorf("the cookie is loose: %+v", c)
			}
			cookie = c.Name + "=" + c.Value
		}
		return r, cookie
	}
	first := s.door.Code()
	r, cookie := join(strings.ToLower(first[:4]) + "-" + first[4:])
	if r.StatusCode != http.StatusSeeOther || cookie == "" {
		t.Fatalf("the right code: status %d", r.StatusCode)
	}
	if r := direct(t, s, "GET", "/today", lan, phone, nil, "Cookie", cookie); r.StatusCode != 200 {
		t.Errorf("the paired device: status %d", r.StatusCode)
	}
	if r := direct(t, s, "GET", "/today", lan, phone, nil, "Cookie", cookie+"x"); r.StatusCode != http.StatusSeeOther {
		t.Errorf("another cookie: status %d, want it sent to /join", r.StatusCode)
	}
	for _, path := range []string{"/today", "/photos/1/large.jpg", "/keep/book.zip", "/live", "/devices"} {
		if r := direct(t, s, "GET", path, lan, phone, nil); r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/join" {
			t.Errorf("%s without a cookie: status %d", path, r.StatusCode)
		}
	}
	if r, cookie := join(first); r.StatusCode != http.StatusForbidden || cookie != "" {
		t.Errorf("a code used twice: status %d", r.StatusCode)
	}
	if s.door.Code() == first {
		t.Error("the code is the same for the next device")
	}
	// A paired phone is not shown the code for the next.
	_, page := read(t, direct(t, s, "GET", "/devices", lan, phone, nil, "Cookie", cookie))
	if strings.Contains(page, s.door.Code()) || strings.Contains(page, spaced(s.door.Code())) {
		t.Error("a phone is shown the code for the next device")
	}
	if r := direct(t, s, "POST", "/join", lan, phone, strings.NewReader("code="+s.door.Code()), "Content-Type",
		"application/x-www-form-urlencoded",
		"Origin", "http://evil.example"); r.StatusCode != http.StatusForbidden {
		t.Errorf("a code that a foreign page sends: status %d", r.StatusCode)
	}
}

// A server of this machine alone lets nobody else in, and there is no code.
func TestLoopbackAlone(t *testing.T) {
	t.Parallel()
	s := New(bookOf(t), &Options{Now: clock})
	if s.door.Code() != "" {
		t.Error("there is a code, though nobody is to be let in")
	}
	if s.door.Pair(httptest.NewRecorder(), "", "x") == "" {
		t.Error("an empty code lets a device in")
	}
	if r := direct(t, s, "GET", "/today", local, phone, nil); r.StatusCode == 200 {
		t.Error("another machine is answered")
	}
}

// Where a photo was taken, and by which camera body, is nowhere: not on pages, in
// pictures, in the report, in what is taken along.
func TestNoPlaceNoSerial(t *testing.T) {
	t.Parallel()
	_, c := served(t)
	original := drawn(t, 1, petalOf(0), 600, 450)
	if !bytes.Contains(original, []byte(serialNumber)) || !bytes.Contains(original, []byte("Exif")) {
		t.Fatal("the photo holds no serial number to be hidden")
	}
	// The position that the drawn photos carry: 12° 34′ 56″ N as rationals.
	place := []byte{0, 0, 0, 12, 0, 0, 0, 1, 0, 0, 0, 34, 0, 0, 0, 1, 0, 0, 0, 56, 0, 0, 0, 1}
	if !bytes.Contains(original, place) {
		t.Fatal("the photo holds no position to be hidden")
	}
	paths := append([]string{"/photos/1/small.jpg", "/photos/1/large.jpg", "/keep/report.html", "/keep/book.zip", "/keep/book.xlsx",
		"/print/tags.pdf", "/print/packets.pdf"}, allPages...)
	for _, path := range paths {
		status, body := c.read(path)
		if status != 200 && path != "/nowhere" {
			t.Errorf("%s: status %d", path, status)
		}
		for what, bad := range map[string]string{"the serial number": serialNumber, "the position": string(place), "EXIF": "Exif\x00"} {
			if strings.Contains(body, bad) {
				t.Errorf("%s holds %s", path, what)
			}
		}
	}
}

// The server stops when it is told to, though a page is listening.
func TestGracefulStop(t *testing.T) {
	t.Parallel()
	s := New(bookOf(t), &Options{Now: clock})
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	check(t, err)
	done := make(chan error, 1)
	run, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() { done <- s.Serve(run, ln) }()
	c := newDevice(t, s, "http://"+ln.Addr().String())
	r, err := c.Get(c.base + "/live")
	check(t, err)
	defer r.Body.Close()
	cancel()
	select {
	case err := <-done:
		if err != nil {
			t.Errorf("stopped with %v", err)
		}
	case <-time.After(9 * time.Second):
		t.Fatal("it does not stop while a page listens")
	}
}

// A form leads back to pages of this server alone, whatever it says.
func TestBackToOwnPages(t *testing.T) {
	t.Parallel()
	c := serve(t, bookOf(t), nil)
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	token := c.token()
	for back, want := range map[string]string{
		"/plants?sort=id": "/plants?sort=id#p-M-05", "/today": "/today", "": "/plants",
		"//elsewhere.example/today": "/plants", "/\\elsewhere.example": "/plants", "http://elsewhere.example/": "/plants", "elsewhere": "/plants",
		"/today\r\nX-Header: 1": "/plants",
	} {
		for set, ok := range map[string]bool{"M-05 kept": true, "M-05 eaten": false} {
			r, err := c.PostForm(c.base+"/status", url.Values{"token": {token}, "set": {set}, "back": {back}})
			check(t, err)
			r.Body.Close()
			got := r.Header.Get("Location")
			switch {
			case ok && got != want:
				t.Errorf("back %q: sent to %q, want %q", back, got, want)
			case !ok && got != "" && (!strings.HasPrefix(got, "/") || strings.HasPrefix(got, "//") || strings.ContainsAny(got, "\\\r\n")):
				t.Errorf("back %q, after a mistake: sent to %q", back, got)
			}
		}
	}
}

// A form of more than 1 MiB is not taken, and says so; nothing of it is entered.
func TestFormLimit(t *testing.T) {
	t.Parallel()
	b, c := served(t)
	for _, f := range []struct {
		bytes, want int
	}{{1<<20 - 100, http.StatusOK}, {1<<20 + 1, http.StatusRequestEntityTooLarge}} {
		form := "token=" + url.QueryEscape(c.token()) + "&set=M-05+kept&more="
		r, err := c.Post(c.base+"/status", "application/x-www-form-urlencoded", strings.NewReader(form+strings.Repeat("x", f.bytes-len(form))))
		check(t, err)
		status, page := read(t, r)
		if status != f.want || (status != http.StatusOK) != strings.Contains(page, "That is more than 1 MiB at once. Send less.") {
			t.Errorf("a form of %d bytes: status %d, want %d: %.300s", f.bytes, status, f.want, page)
		}
		want := map[int]book.Status{http.StatusOK: book.Kept, http.StatusRequestEntityTooLarge: book.Growing}[f.want]
		if p, err := b.Plant(t.Context(), "M-05"); err != nil || p.Status != want {
			t.Errorf("after a form of %d bytes M-05 is %v, want %v; %v", f.bytes, p.Status, want, err)
		}
		check(t, b.SetStatus(t.Context(), book.Growing, "M-05"))
	}
}
