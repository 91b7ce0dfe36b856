package door

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"
)

// take pairs a device, and returns its cookie.
func take(t *testing.T, d *Door, name string) *http.Cookie {
	t.Helper()
	w := httptest.NewRecorder()
	if why := d.Pair(w, d.Code(), name); why != "" {
		t.Fatal(why)
	}
	return w.Result().Cookies()[0]
}

// come sends a request from another machine, or this one, with a cookie.
func come(d *Door, from string, cookie *http.Cookie, kv ...string) (*Device, Answer, *httptest.ResponseRecorder) {
	r := httptest.NewRequest("GET", "/today", nil)
	r.Host, r.RemoteAddr = "192.0.2.7:8459", from+":50000"
	if from == "127.0.0.1" {
		r.Host = "127.0.0.1:8459"
	}
	if cookie != nil {
		r.AddCookie(cookie)
	}
	for i := 0; i+1 < len(kv); i += 2 {
		r.Header.Set(kv[i], kv[i+1])
	}
	w := httptest.NewRecorder()
	v, answer := d.Of(w, r)
	return v, answer, w
}

func options(file string) Options {
	return Options{Now: time.Now, LAN: true, Hosts: []string{"192.0.2.7"}, File: file}
}

const phone, here = "192.0.2.50", "127.0.0.1"

// Codes are not found out by guessing.
func TestGuessed(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		d := New(options(""))
		code := d.Code()
		for i := range MostWrong {
			if d.Pair(httptest.NewRecorder(), fmt.Sprintf("WRONG%03d", i), "x") == "" {
				t.Fatal("a wrong code was taken")
			}
		}
		if d.Code() == code {
			t.Error("after the guesses the code still stands")
		}
		if d.Pair(httptest.NewRecorder(), d.Code(), "x") == "" {
			t.Error("right after the guesses a device is let in")
		}
		time.Sleep(ShutFor + time.Second)
		if why := d.Pair(httptest.NewRecorder(), d.Code(), "x"); why != "" {
			t.Errorf("a minute later the right code is not taken: %s", why)
		}
	})
}

// Pairings outlive the server, in a file that its owner alone can read, which does not hold
// the cookies; those that were ended do not come back, whoever ended them.
func TestKept(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), FileName)
	first := New(options(file))
	ada, ben := take(t, first, "Ada's phone"), take(t, first, "Ben's phone")
	info, err := os.Stat(file)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("the file is %v, %v; want 0600", info.Mode(), err)
	}
	text, _ := os.ReadFile(file)
	if len(text) == 0 || bytes.Contains(text, []byte(ada.Value)) || bytes.Contains(text, []byte(ben.Value)) {
		t.Errorf("the file holds a cookie: %s", text)
	}
	browser, _, w := come(first, here, nil)
	own := w.Result().Cookies()[0]
	token := first.Token(browser)

	os.Chmod(file, 0o644)
	second := New(options(file))
	if info, _ := os.Stat(file); info.Mode().Perm() != 0o600 {
		t.Errorf("a file that others may read stays %v", info.Mode())
	}
	v, _, _ := come(second, phone, ada)
	if v == nil || v.Name != "Ada's phone" || v.Here {
		t.Fatalf("after a new start Ada's phone is %+v", v)
	}
	if v, _, w := come(second, here, own); v == nil || !second.Holds(v, token) || len(w.Result().Cookies()) != 0 {
		t.Errorf("this machine's browser is another after a new start: %+v", v)
	}
	// Another server of the same book ends it, and this one hears of it.
	third := New(options(file))
	for _, v := range third.List() {
		if v.Name == "Ben's phone" {
			third.End(v.ID)
		}
	}
	for i, d := range []*Door{first, second, third, New(options(file))} {
		if v, answer, _ := come(d, phone, ben); v != nil || answer != Stranger {
			t.Errorf("server %d still lets Ben's phone in", i)
		}
		if v, _, _ := come(d, phone, ada); v == nil {
			t.Errorf("server %d does not let Ada's phone in", i)
		}
	}
	os.Remove(file)
	if v, _, _ := come(first, phone, ada); v != nil {
		t.Error("the file is removed, and the phone still comes in")
	}
}

// A file that is damaged lets nobody in, and is said; the next pairing makes it anew.
func TestDamaged(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "{", `{"key":"AAAA"}`, `{"devices":[{"id":"x","cookie_sha256":""}]}`} {
		file := filepath.Join(t.TempDir(), FileName)
		os.WriteFile(file, []byte(text), 0o600)
		d := New(options(file))
		if d.Trouble() == "" || len(d.List()) != 0 {
			t.Errorf("%q: trouble %q, %d devices", text, d.Trouble(), len(d.List()))
		}
		take(t, d, "a phone")
		var p pairings
		if b, err := os.ReadFile(file); err != nil || json.Unmarshal(b, &p) != nil || len(p.Devices) != 1 || d.Trouble() != "" {
			t.Errorf("%q: after a pairing the file holds %+v, %v; %s", text, p, err, d.Trouble())
		}
	}
	d := New(options(filepath.Join(t.TempDir(), "nowhere", FileName)))
	c := take(t, d, "a phone")
	if v, _, _ := come(d, phone, c); v == nil || d.Trouble() == "" {
		t.Errorf("in a folder that is not there: %+v, trouble %q", v, d.Trouble())
	}
}

// Pictures on a foreign page that point here make no entries, get no cookie and push no
// phone out; neither does whoever comes without a cookie, however often.
func TestForeignPictures(t *testing.T) {
	t.Parallel()
	d := New(options(filepath.Join(t.TempDir(), FileName)))
	c := take(t, d, "a phone")
	for i := range MostPaired + 5 {
		if v, answer, w := come(d, here, nil, "Sec-Fetch-Site", "cross-site"); v != nil || answer != Elsewhere || len(w.Result().Cookies()) > 0 {
			t.Fatalf("picture %d: %+v, answer %d, cookies %v", i, v, answer, w.Result().Cookies())
		}
		if v, _, _ := come(d, here, nil); v == nil { // a program that keeps no cookies
			t.Fatal("this machine is not let in")
		}
	}
	if v, _, _ := come(d, phone, c); v == nil {
		t.Error("the phone is pushed out")
	}
	for _, kv := range [][]string{{"Sec-Fetch-Site", "same-site"}, {"Referer", "http://elsewhere.example/"}, {"Origin", "null"},
		{"Referer", "http://127.0.0.1:84590/"}} {
		if v, answer, w := come(d, here, nil, kv...); v != nil || answer != Elsewhere || len(w.Result().Cookies()) > 0 {
			t.Errorf("%v: %+v, answer %d", kv, v, answer)
		}
	}
	for _, kv := range [][]string{{"Sec-Fetch-Site", "same-origin"}, {"Sec-Fetch-Site", "none"}, {"Referer", "http://127.0.0.1:8459/today"}} {
		if v, _, _ := come(d, here, nil, kv...); v == nil {
			t.Errorf("%v: this machine is not let in", kv)
		}
	}
}

// Of too many devices the one that came longest ago is forgotten.
func TestManyDevices(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		d := New(options(""))
		first := take(t, d, "first")
		var second *http.Cookie
		for i := range MostPaired - 1 {
			if c := take(t, d, fmt.Sprint(i)); i == 0 {
				second = c
			}
		}
		time.Sleep(48 * time.Hour)
		if v, _, w := come(d, phone, first); v == nil || len(w.Result().Cookies()) != 1 {
			t.Errorf("the first device: %+v, its cookie made to last: %v", v, w.Result().Cookies())
		}
		take(t, d, "one more")
		if v, _, _ := come(d, phone, first); v == nil {
			t.Error("the device that came today is forgotten")
		}
		if v, _, _ := come(d, phone, second); v != nil || len(d.List()) != MostPaired {
			t.Errorf("the device that came longest ago is still let in, of %d", len(d.List()))
		}
	})
}
