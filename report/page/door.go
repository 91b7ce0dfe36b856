package page

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"
)

// door knows the devices that were let in, and the code for the next.
type door struct {
	opt *Options
	key [32]byte // of the form tokens

	mu      sync.Mutex
	next    string // code for the next device; empty: none is let in
	wrong   int    // guesses at it
	shut    time.Time
	devices map[string]*device // by cookie
}

// device is one browser.
type device struct {
	id, name string
	since    time.Time
	here     bool // on this machine

	mu           sync.Mutex
	line, season string // what it looked at last
	said         *said  // told on its next page
}

// said is what was just done, with its number in the book's history where it can be
// taken back.
type said struct {
	Text   string
	Wrong  bool
	Change int64
}

const (
	cookieName = "hueward-device"
	codeSigns  = "23456789ABCDEFGHJKMNPQRSTUVWXYZ" // none that looks like another
	codeLength = 8
	// mostWrong guesses at a code withdraw it, and nobody comes in for a while:
	// of 31^8 codes, five a minute are not found out in a season.
	mostWrong = 5
	shutFor   = time.Minute
	mostKept  = 200 // devices; the oldest is forgotten
)

func newDoor(opt *Options) *door {
	d := &door{opt: opt, devices: map[string]*device{}}
	rand.Read(d.key[:])
	if opt.LAN {
		d.renew()
	}
	return d
}

// renew makes a new code. d.mu is held, or d is not shared yet.
func (d *door) renew() {
	code := make([]byte, codeLength)
	for i := range code {
		var b [1]byte
		for { // no sign more likely than another
			rand.Read(b[:])
			if int(b[0]) < 256/len(codeSigns)*len(codeSigns) {
				break
			}
		}
		code[i] = codeSigns[int(b[0])%len(codeSigns)]
	}
	d.next, d.wrong = string(code), 0
	if d.opt.Paired != nil {
		d.opt.Paired(d.next)
	}
}

func (d *door) code() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.next
}

// pair lets a device in that knows the code, once.
func (d *door) pair(code, name string) (cookie string, why string) {
	code = strings.ToUpper(strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, code))
	d.mu.Lock()
	defer d.mu.Unlock()
	now := d.opt.Now()
	switch {
	case !d.opt.LAN:
		return "", "No other device is let in: the page was started for this machine alone."
	case now.Before(d.shut):
		return "", "Too many wrong codes. Wait a minute, and take the new code from the terminal."
	case subtle.ConstantTimeCompare([]byte(code), []byte(d.next)) != 1:
		if d.wrong++; d.wrong >= mostWrong {
			d.shut = now.Add(shutFor)
			d.renew()
			return "", "Too many wrong codes. Wait a minute, and take the new code from the terminal."
		}
		return "", "That is not the code, or it was used already. Take the one that the terminal shows now."
	}
	cookie = d.add(name, false)
	d.renew()
	return cookie, ""
}

// add takes in a device. d.mu is held.
func (d *door) add(name string, here bool) (cookie string) {
	if len(d.devices) >= mostKept {
		oldest := ""
		for c, v := range d.devices {
			if oldest == "" || v.since.Before(d.devices[oldest].since) {
				oldest = c
			}
		}
		delete(d.devices, oldest)
	}
	cookie = secret()
	d.devices[cookie] = &device{id: secret()[:8], name: name, since: d.opt.Now(), here: here}
	return cookie
}

// list are the devices, the newest first.
func (d *door) list() []*device {
	d.mu.Lock()
	defer d.mu.Unlock()
	var out []*device
	for _, v := range d.devices {
		if !v.here {
			out = append(out, v)
		}
	}
	slices.SortFunc(out, func(a, b *device) int { return b.since.Compare(a.since) })
	return out
}

// forget sends a device away.
func (d *door) forget(id string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for c, v := range d.devices {
		if v.id == id {
			delete(d.devices, c)
		}
	}
}

// of returns the device that sent the request; nil: it was not let in. One on this
// machine comes in by itself, with a new cookie.
func (d *door) of(w http.ResponseWriter, r *http.Request) *device {
	d.mu.Lock()
	defer d.mu.Unlock()
	if c, err := r.Cookie(cookieName); err == nil {
		if v := d.devices[c.Value]; v != nil {
			return v
		}
	}
	if !fromHere(r) {
		return nil
	}
	cookie := d.add("this machine", true)
	setCookie(w, cookie)
	return d.devices[cookie]
}

func setCookie(w http.ResponseWriter, value string) {
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: value, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode,
		MaxAge: 200 * 24 * 3600})
}

// fromHere reports whether the request comes from this machine, by a name of it that
// no other has.
func fromHere(r *http.Request) bool {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return false
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.Unmap().IsLoopback() && loopbackName(hostOf(r.Host))
}

func loopbackName(host string) bool {
	if host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.Unmap().IsLoopback()
}

// hostOf is the host of "host:port", without the brackets of an IPv6 address.
func hostOf(hostport string) string {
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		return strings.ToLower(h)
	}
	return strings.ToLower(strings.Trim(hostport, "[]"))
}

// knows reports whether this server is called by that name: a page of somebody else's
// that has its own name point here (DNS rebinding) is not answered.
func (d *door) knows(host string) bool {
	h := hostOf(host)
	return loopbackName(h) || d.opt.LAN && slices.ContainsFunc(d.opt.Hosts, func(k string) bool { return strings.EqualFold(k, h) })
}

// token is the word that the device's forms carry.
func (d *door) token(v *device) string {
	m := hmac.New(sha256.New, d.key[:])
	m.Write([]byte(v.id))
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

func (d *door) holds(v *device, token string) bool {
	return hmac.Equal([]byte(token), []byte(d.token(v)))
}

// tell keeps what is to be said on the device's next page.
func (v *device) tell(s *said) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.said = s
}

func (v *device) told() *said {
	v.mu.Lock()
	defer v.mu.Unlock()
	s := v.said
	v.said = nil
	return s
}

// choose remembers line and season, where they are given, and returns those that count.
func (v *device) choose(line, season string, given bool) (string, string) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if given {
		v.line, v.season = line, season
	}
	return v.line, v.season
}
