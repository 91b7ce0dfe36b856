package door

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"sync"
	"time"
)

// Options say who may come in. Hosts are the names and addresses, without a port, by
// which other machines may call this one; loopback always counts.
type Options struct {
	Now   func() time.Time
	LAN   bool // other machines are let in, once they are paired
	Hosts []string
	// Paired is called with the code that the next device may be paired with, whenever
	// there is a new one; nil: nobody is told.
	Paired func(code string)
	File   string // where pairings are kept; empty: until the server stops
}

// Door holds the paired devices, and the code for the next one. It is made by [New].
type Door struct {
	opt Options

	mu      sync.Mutex
	key     []byte    // of tokens and of this machine's browsers
	cookie  string    // its name, another for each book: browsers share them among ports
	next    string    // code for the next device; empty: none is let in
	wrong   int       // guesses at it
	shut    time.Time // until then none is taken
	paired  []*Device // by the file
	read    stamp     // of the file, as it was read or written last
	trouble string    // why pairings are not kept; empty: they are
	here    map[string]*Device
}

// Device is one browser, as the file of pairings has it.
type Device struct {
	ID    string    `json:"id"`
	Name  string    `json:"name"`
	Sum   string    `json:"cookie_sha256"` // of its cookie, in hex
	Since time.Time `json:"since"`
	Seen  time.Time `json:"seen"` // when it came last, to the day
	Here  bool      `json:"-"`    // on this machine
}

const (
	codeSigns  = "23456789ABCDEFGHJKMNPQRSTUVWXYZ" // none that looks like another
	CodeLength = 8
	// MostWrong guesses at a code withdraw it, and nobody comes in for a while:
	// of 31^8 codes, five a minute are not found out in a season.
	MostWrong  = 5
	ShutFor    = time.Minute
	MostPaired = 200 // devices; the one that came longest ago is forgotten
	mostHere   = 100 // browsers of this machine that are kept in mind
	cookieDays = 400
)

// New returns a door, with the pairings that its file holds.
func New(opt Options) *Door {
	d := &Door{opt: opt, here: map[string]*Device{}}
	d.open()
	d.cookie = "hueward-" + hex.EncodeToString(d.sign("cookie")[:4])
	if opt.LAN {
		d.renew()
	}
	return d
}

// sign returns an authentication code of a word, which cannot be made without the key.
func (d *Door) sign(word string) []byte {
	m := hmac.New(sha256.New, d.key)
	m.Write([]byte(word))
	return m.Sum(nil)
}

// renew makes a new code. d.mu is held, or d is not shared yet.
func (d *Door) renew() {
	code := make([]byte, CodeLength)
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

// Code returns the code that pairs the next device; empty: none can be paired.
func (d *Door) Code() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.next
}

// Pair pairs a device that knows the code, once, and sets its cookie in the response. Where it does not, why says why.
func (d *Door) Pair(w http.ResponseWriter, code, name string) (why string) {
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
		return "No other device is let in: the page was started for this machine alone."
	case now.Before(d.shut):
		return "Too many wrong codes. Wait a minute, and take the new code from the terminal."
	case subtle.ConstantTimeCompare([]byte(code), []byte(d.next)) != 1:
		if d.wrong++; d.wrong >= MostWrong {
			d.shut = now.Add(ShutFor)
			d.renew()
			return "Too many wrong codes. Wait a minute, and take the new code from the terminal."
		}
		return "That is not the code, or it was used already. Take the one that the terminal shows now."
	}
	cookie := rand.Text()
	d.refresh()
	if len(d.paired) >= MostPaired {
		oldest := slices.MinFunc(d.paired, func(a, b *Device) int { return a.Seen.Compare(b.Seen) })
		d.paired = slices.DeleteFunc(d.paired, func(v *Device) bool { return v == oldest })
	}
	d.paired = append(d.paired, &Device{ID: rand.Text()[:12], Name: name, Since: now, Sum: sumOf(cookie), Seen: now})
	d.save()
	d.setCookie(w, cookie)
	d.renew()
	return ""
}

func sumOf(cookie string) string {
	sum := sha256.Sum256([]byte(cookie))
	return hex.EncodeToString(sum[:])
}

// List returns the paired devices, the newest first.
func (d *Door) List() []Device {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.refresh()
	var out []Device
	for _, v := range d.paired {
		out = append(out, *v)
	}
	slices.SortStableFunc(out, func(a, b Device) int { return b.Since.Compare(a.Since) })
	return out
}

// Trouble returns why pairings are not stored, so that they end with the server; empty: they are stored.
func (d *Door) Trouble() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.trouble
}

// End ends a pairing.
func (d *Door) End(id string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.refresh()
	d.paired = slices.DeleteFunc(d.paired, func(v *Device) bool { return v.ID == id })
	d.save()
}

// Answer says why no device is known for a request.
type Answer int

const (
	In        Answer = iota // the device is known
	Stranger                // it has to be paired
	Elsewhere               // another site caused the request: the browser shows no cookie on it
)

// Of returns the device that sent the request; nil: see the answer. A new one on this machine
// is let in by itself, with a new cookie.
func (d *Door) Of(w http.ResponseWriter, r *http.Request) (*Device, Answer) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.refresh()
	cookie := ""
	if c, err := r.Cookie(d.cookie); err == nil {
		cookie = c.Value
	}
	if cookie != "" {
		sum := sumOf(cookie)
		for _, v := range d.paired {
			if subtle.ConstantTimeCompare([]byte(v.Sum), []byte(sum)) == 1 {
				if now := d.opt.Now(); now.Sub(v.Seen) > 24*time.Hour {
					v.Seen = now
					d.save()
					d.setCookie(w, cookie) // it lasts from the day on when it was used
				}
				return v, In
			}
		}
	}
	here := fromHere(r)
	switch {
	case here && len(cookie) == len(rand.Text()):
		return d.browser(cookie), In
	case fromElsewhere(r):
		return nil, Elsewhere
	case !here:
		return nil, Stranger
	}
	cookie = rand.Text()
	d.setCookie(w, cookie)
	return d.browser(cookie), In
}

// browser returns the browser on this machine that has the cookie. d.mu is held.
func (d *Door) browser(cookie string) *Device {
	id := hex.EncodeToString(d.sign("here " + cookie)[:8])
	v := d.here[id]
	if v == nil {
		if len(d.here) >= mostHere {
			d.here = map[string]*Device{} // nothing is lost with them
		}
		v = &Device{ID: id, Name: "this machine", Here: true, Since: d.opt.Now()}
		d.here[id] = v
	}
	return v
}

func (d *Door) setCookie(w http.ResponseWriter, value string) {
	http.SetCookie(w, &http.Cookie{Name: d.cookie, Value: value, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode,
		MaxAge: cookieDays * 24 * 3600})
}

// Token returns the token that the device's forms carry, against forged requests.
func (d *Door) Token(v *Device) string {
	return base64.RawURLEncoding.EncodeToString(d.sign("token " + v.ID))
}

// Holds reports whether the token is the device's.
func (d *Door) Holds(v *Device, token string) bool {
	return hmac.Equal([]byte(token), []byte(d.Token(v)))
}

// Book returns an id that distinguishes this book from another one served at the same address on another day.
func (d *Door) Book() string { return strings.TrimPrefix(d.cookie, "hueward-") }

// Knows reports whether host is a name of this server. Other names are refused: another site's
// page may let its own name point here (DNS rebinding).
func (d *Door) Knows(host string) bool {
	h := hostOf(host)
	return loopbackName(h) || d.opt.LAN && slices.ContainsFunc(d.opt.Hosts, func(k string) bool { return strings.EqualFold(k, h) })
}

// fromHere reports whether the request comes from this machine, by a name of it that no other has.
func fromHere(r *http.Request) bool {
	return loopbackName(hostOf(r.RemoteAddr)) && loopbackName(hostOf(r.Host))
}

// fromElsewhere reports whether another site's page caused the request: by the browser's
// Sec-Fetch-Site header or, without one, by the Referer (RFC 9110 section 10.1.3).
//
// Source: Fetch Metadata Request Headers, section 2.4: "none" is what was typed.
func fromElsewhere(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "cross-site", "same-site":
		return true
	case "same-origin", "none":
		return false
	}
	for _, from := range []string{r.Header.Get("Origin"), r.Header.Get("Referer")} {
		if from != "" && from != "http://"+r.Host && !strings.HasPrefix(from, "http://"+r.Host+"/") {
			return true
		}
	}
	return false
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
