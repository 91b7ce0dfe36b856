package page

import (
	"bytes"
	"cmp"
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"hueward/colorimg/tag"
	"hueward/report/page/door"
	"hueward/report/words"
)

// devices lists the paired devices, and shows the code for the next one.
func (q *request) devices() error {
	d := struct {
		List    []deviceRow
		Code    string
		Links   []link
		Trouble string
	}{Code: spaced(q.door.Code()), Trouble: words.Sentence(q.door.Trouble())}
	for _, v := range q.door.List() {
		d.List = append(d.List, deviceRow{v.ID, v.Name, v.Since.Format("2 January, 15:04"), v.Seen.Format("2 January"), v.ID == q.device.ID})
	}
	if q.opt.LAN && q.device.Here {
		for _, h := range q.opt.Hosts {
			u := JoinURL(q.address(h), q.door.Code())
			code, err := qrCode(u)
			if err != nil {
				return err
			}
			d.Links = append(d.Links, link{u, code})
		}
	} else {
		d.Code = ""
	}
	return q.render("devices", "Devices", d)
}

type deviceRow struct {
	ID, Name, Since, Seen string
	Me                    bool
}

type link struct {
	URL  string
	Code template.HTML
}

// address is this server's address under another name of its machine.
func (q *request) address(host string) string {
	if strings.Contains(host, ":") {
		host = "[" + host + "]"
	}
	if i := strings.LastIndexByte(q.r.Host, ':'); i >= 0 && !strings.HasSuffix(q.r.Host, "]") {
		return host + q.r.Host[i:]
	}
	return host
}

// JoinURL returns the link by which a device is paired at that address, with the code in it.
func JoinURL(address, code string) string { return "http://" + address + "/join?code=" + code }

// spaced is a code in two groups.
func spaced(code string) string {
	if len(code) != door.CodeLength {
		return code
	}
	return code[:door.CodeLength/2] + "-" + code[door.CodeLength/2:]
}

// qrCode draws text as a QR code.
func qrCode(text string) (template.HTML, error) {
	rows, err := tag.Matrix(text)
	if err != nil {
		return "", err
	}
	var path bytes.Buffer
	for y, row := range rows {
		for x, dark := range row {
			if dark {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x+4, y+4)
			}
		}
	}
	n := len(rows) + 8
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" role="img" aria-label="The link as a QR code">`+
		`<rect width="%d" height="%d" fill="#fff"/><path d="%s" fill="#000"/></svg>`, n, n, n, n, path.String())), nil
}

// forget ends a pairing: any at this machine, its own on a phone.
func (q *request) forget() error {
	id := q.r.PostFormValue("id")
	if !q.device.Here && id != q.device.ID {
		return &wrongError{http.StatusForbidden, "Devices are sent away at the machine that serves the book."}
	}
	q.door.End(id)
	q.mention("The device is sent away.")
	return q.to("/devices")
}

// join asks a new device for the code.
func (s *Server) join(w http.ResponseWriter, r *http.Request) {
	s.joinPage(w, http.StatusOK, r.FormValue("code"), "", "")
}

func (s *Server) joinPage(w http.ResponseWriter, status int, code, name, why string) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	pages().ExecuteTemplate(w, "join.html", struct {
		Code, Name, Why, Book string
		LAN                   bool
	}{code, name, why, s.door.Book(), s.opt.LAN})
}

// joined pairs a device that knows the code.
func (s *Server) joined(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 8192) // from anyone: within the time that the guard gives
	if err := r.ParseForm(); err != nil {
		s.joinPage(w, http.StatusBadRequest, "", "", "What was sent is not a form of this page. Fill it in again.")
		return
	}
	name := strings.TrimSpace(r.PostFormValue("name"))
	if n := []rune(name); len(n) > 40 {
		name = string(n[:40])
	}
	if why := s.door.Pair(w, r.PostFormValue("code"), cmp.Or(name, "a phone")); why != "" {
		s.joinPage(w, http.StatusForbidden, "", name, why)
		return
	}
	http.Redirect(w, r, "/today", http.StatusSeeOther)
}
