package page

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/selection/book"
	worked "hueward/selection/kept"
)

// now is the clock of the tests: a morning in a season with photos.
var now = time.Date(2026, 7, 20, 9, 0, 0, 0, time.UTC)

// serialNumber is the made-up camera's: it and the position must not be seen anywhere.
const serialNumber = "SN-4711-0815"

func clock() time.Time { return now }

// drawn is a made-up photo of a marigold, with position and serial number in.
func drawn(t testing.TB, seed int64, petal cie.Lab, w, h int) []byte {
	t.Helper()
	pic, err := picture(seed, petal, w, h)
	check(t, err)
	return pic
}

func picture(seed int64, petal cie.Lab, w, h int) ([]byte, error) {
	s := render.Scene{Width: w, Height: h, Petal: petal, Form: render.SemiDouble, Petals: 17, Ground: render.Board,
		Diameter: 0.5, At: [2]float64{0.6, 0.5}, EV: -0.8, Card: render.CardSpec{Width: 0.13, Angle: 8}, Seed: seed}
	im, _ := render.Draw(s)
	var b bytes.Buffer
	info := photo.Info{Taken: now.Add(time.Duration(seed) * time.Minute), Make: "Garden", Model: "Pocket 1", Serial: serialNumber, GPS: true}
	err := photo.WriteJPEG(&b, im, 92, info)
	return b.Bytes(), err
}

// petalOf is the colour of plant i of the made garden: from orange to cream.
func petalOf(i int) cie.Lab {
	u := float64(i%8) / 7
	return cie.Lab{L: 68 + 18*u, A: 30 - 26*u, B: 66 - 40*u}
}

var (
	madeOnce sync.Once
	madeDir  string
	madeErr  error
)

// TestMain serves a book where it is started as a server that is to be killed.
func TestMain(m *testing.M) {
	if dir := os.Getenv(serveBook); dir != "" {
		os.Exit(serveToBeKilled(dir, os.Getenv(serveAt)))
	}
	os.Exit(must.Main(func() int {
		defer func() { stopBrowser() }()
		worked.In(filepath.Join(os.TempDir(), "kept")) // a plan is reckoned once for all tests that show it
		return m.Run()
	}))
}

// bookOf is the book of a made-up garden: two lines, two seasons, eight measured
// marigolds, a cross with heads, a packet; each test gets its own copy.
func bookOf(t testing.TB) *book.Book {
	t.Helper()
	madeOnce.Do(func() {
		if madeDir, madeErr = os.MkdirTemp("", "hueward-page-"); madeErr == nil {
			madeErr = makeGarden(filepath.Join(madeDir, "book"))
		}
	})
	if madeErr != nil {
		t.Fatal(madeErr)
	}
	dir := filepath.Join(t.TempDir(), "book")
	check(t, os.CopyFS(dir, os.DirFS(filepath.Join(madeDir, "book"))))
	b, err := book.Open(t.Context(), dir, &book.Options{Now: clock, Who: "the table"})
	check(t, err)
	t.Cleanup(func() { b.Close() })
	return b
}

func makeGarden(dir string) error {
	ctx := context.Background()
	b, err := book.Create(ctx, dir, &book.Options{Now: clock, Who: "the table"})
	if err != nil {
		return err
	}
	defer b.Close()
	do := func(f func() error) {
		if err == nil {
			err = f()
		}
	}
	do(func() error {
		return b.SetTarget(ctx, "buff apricot", book.Target{Aim: book.Move, Lab: cie.Lab{L: 76, A: 14, B: 38}, Within: 4, Source: "--lab"})
	})
	do(func() error {
		return b.SetTarget(ctx, "old cosmos", book.Target{Aim: book.Hold, Lab: cie.Lab{L: 72, A: 24, B: -7}, Within: 3, Source: "--lab"})
	})
	for _, p := range []book.Plant{{ID: "M-91"}, {ID: "M-92"}} {
		p.Line, p.Season = "buff apricot", "2025"
		do(func() error { return b.AddPlant(ctx, p) })
		do(func() error {
			l := petalOf(0)
			if p.ID == "M-92" {
				l = petalOf(7)
			}
			return b.AddInstrumentReading(ctx, book.InstrumentReading{Plant: p.ID, Season: "2025", Source: "spectrophotometer", Lab: l, SE: 0.3,
				At: now.AddDate(-1, 0, 0)})
		})
	}
	tmp := filepath.Join(filepath.Dir(dir), "photos")
	do(func() error { return os.MkdirAll(tmp, 0o777) })
	for i := range 8 {
		id := fmt.Sprintf("M-%02d", i+1)
		do(func() error {
			return b.AddPlant(ctx, book.Plant{ID: id, Line: "buff apricot", Season: "2026", SeedParent: "M-91", PollenParent: "M-92"})
		})
		do(func() error {
			file := filepath.Join(tmp, id+"_1.jpg")
			pic, err := picture(int64(i+1), petalOf(i), 600, 450)
			if err != nil {
				return err
			}
			if err := os.WriteFile(file, pic, 0o666); err != nil {
				return err
			}
			r, err := colorimg.Measure(ctx, file, nil)
			if err != nil {
				return err
			}
			_, err = b.Record(ctx, book.Entry{File: file, Season: "2026", Plant: id, Reading: r})
			return err
		})
	}
	do(func() error {
		return b.AddPlant(ctx, book.Plant{ID: "M-09", Line: "buff apricot", Season: "2026", SeedParent: "M-91", PollenParent: "M-92"})
	})
	do(func() error {
		_, _, err := b.AddCross(ctx, book.Cross{SeedParent: "M-03", PollenParent: "M-05", Season: "2026", MadeOn: now.AddDate(0, 0, -4)}, 2)
		return err
	})
	do(func() error {
		_, _, err := b.DoHeads(ctx, book.HeadDone{Heads: []string{"M-03-1"}, Step: book.HeadBag, On: now.AddDate(0, 0, -3), Season: "2026"})
		return err
	})
	do(func() error {
		_, err := b.AddPacket(ctx, book.Packet{FounderGroup: "old orange", Line: "buff apricot", Season: "2026", Seeds: new(40),
			Made: now.AddDate(0, 0, -30)})
		return err
	})
	return err
}

// client is one device at a served book.
type client struct {
	t    testing.TB
	s    *Server
	base string
	http.Client
}

// serve serves the book to a device on this machine.
func serve(t testing.TB, b *book.Book, opt *Options) *client {
	t.Helper()
	if opt == nil {
		opt = &Options{}
	}
	opt.Now, opt.Version, opt.Who = clock, "test", "the table"
	s := New(b, opt)
	h := httptest.NewServer(s.handler)
	t.Cleanup(func() { s.live.close(); h.Close() })
	return newDevice(t, s, h.URL)
}

// served is the made-up garden's book, served to a device on this machine.
func served(t testing.TB) (*book.Book, *client) {
	t.Helper()
	b := bookOf(t)
	return b, serve(t, b, nil)
}

// newDevice is a further device, without a cookie yet.
func newDevice(t testing.TB, s *Server, base string) *client {
	jar, err := cookiejar.New(nil)
	check(t, err)
	return &client{t: t, s: s, base: base, Client: http.Client{Jar: jar}}
}

// read returns status and body of a page.
func (c *client) read(path string) (int, string) {
	c.t.Helper()
	r, err := c.Get(c.base + path)
	check(c.t, err)
	return read(c.t, r)
}

func read(t testing.TB, r *http.Response) (int, string) {
	t.Helper()
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	check(t, err)
	return r.StatusCode, string(b)
}

var tokenForm = regexp.MustCompile(`name="token" value="([^"]+)"`)

// token is the device's form token, as a page has it.
func (c *client) token() string {
	c.t.Helper()
	_, page := c.read("/print")
	if m := tokenForm.FindStringSubmatch(page); m != nil {
		return m[1]
	}
	_, page = c.read("/today")
	m := tokenForm.FindStringSubmatch(page)
	if m == nil {
		c.t.Fatalf("no token in the page:\n%.400s", page)
	}
	return m[1]
}

// send posts a form with the token, and returns the page that it leads to.
func (c *client) send(path string, kv ...string) (int, string) {
	c.t.Helper()
	v := url.Values{"token": {c.token()}}
	for i := 0; i+1 < len(kv); i += 2 {
		v.Add(kv[i], kv[i+1])
	}
	r, err := c.PostForm(c.base+path, v)
	check(c.t, err)
	return read(c.t, r)
}

// form posts a form of the kind that files come in, without a file.
func (c *client) form(path string, kv ...string) (int, string) {
	c.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	m.WriteField("token", c.token())
	for i := 0; i+1 < len(kv); i += 2 {
		m.WriteField(kv[i], kv[i+1])
	}
	m.Close()
	r, err := c.Post(c.base+path, m.FormDataContentType(), &body)
	check(c.t, err)
	return read(c.t, r)
}

// upload sends one file in a form, and returns what is answered.
func (c *client) upload(path, name, kind string, content []byte, asJSON bool, kv ...string) (int, string) {
	c.t.Helper()
	r, err := c.tryUpload(path, name, kind, content, asJSON, append([]string{"token", c.token()}, kv...)...)
	check(c.t, err)
	return read(c.t, r)
}

func (c *client) tryUpload(path, name, kind string, content []byte, asJSON bool, kv ...string) (*http.Response, error) {
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for i := 0; i+1 < len(kv); i += 2 {
		m.WriteField(kv[i], kv[i+1])
	}
	h := map[string][]string{
		"Content-Disposition": {fmt.Sprintf(`form-data; name="photo"; filename="%s"`, strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(name))},
		"Content-Type":        {kind},
	}
	w, err := m.CreatePart(h)
	if err != nil {
		return nil, err
	}
	w.Write(content)
	m.Close()
	req, err := http.NewRequest(http.MethodPost, c.base+path, &body)
	if err != nil {
		return nil, err
	}
	req.Header.Set("Content-Type", m.FormDataContentType())
	if asJSON {
		req.Header.Set("Accept", "application/json")
	}
	return c.Do(req)
}

// rows counts the rows of a table of the book.
func photosIn(t testing.TB, b *book.Book) int {
	t.Helper()
	list, err := b.Photos(t.Context(), "", "")
	check(t, err)
	return len(list)
}

// writeFiles writes files into a folder, and returns their names.
func writeFiles(t testing.TB, dir string, content map[string]string) (names []string) {
	t.Helper()
	for name, text := range content {
		name = filepath.Join(dir, name)
		check(t, os.WriteFile(name, []byte(text), 0o666))
		names = append(names, name)
	}
	return names
}

// check ends the test where what it rests on went wrong.
func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// only is the error of a call whose answer does not matter.
func only(_ any, err error) error { return err }
