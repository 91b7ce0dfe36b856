package page

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"strings"
	"sync"
)

// built is one file that is built in, packed once.
type built struct {
	kind         string
	data, packed []byte
	version      string // changes with what is in it
	hash         string // as a content security policy names it
}

// builtIn are the files of assets, and the report's own style, by their names.
var builtIn = sync.OnceValue(func() map[string]built {
	out := map[string]built{}
	add := func(name string, data []byte) {
		kinds := map[string]string{"css": "text/css; charset=utf-8", "js": "text/javascript; charset=utf-8", "svg": "image/svg+xml"}
		kind := kinds[name[strings.LastIndexByte(name, '.')+1:]]
		if kind == "" {
			return
		}
		var packed bytes.Buffer
		z, _ := gzip.NewWriterLevel(&packed, gzip.BestCompression)
		z.Write(data)
		z.Close()
		sum := sha256.Sum256(data)
		out[name] = built{kind, data, packed.Bytes(), hex.EncodeToString(sum[:4]), "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"}
	}
	list, err := fs.ReadDir(files, "assets")
	if err != nil {
		panic(err) // they are built in
	}
	for _, f := range list {
		data, err := fs.ReadFile(files, "assets/"+f.Name())
		if err != nil {
			panic(err)
		}
		add(f.Name(), data)
	}
	add("report.css", []byte(reportStyle))
	return out
})

// assetPath returns the address of an embedded file. It contains the file's version,
// so that a browser can keep the file until a newer program serves another.
func assetPath(name string) string { return "/assets/" + name + "?v=" + builtIn()[name].version }

// styles returns a page's style sheets: links for a browser that has them; on a first visit their text, which saves a
// round trip before the page can be shown. Its script then fetches them for the next page.
func styles(r *http.Request, names ...string) template.HTML {
	var out strings.Builder
	for _, name := range names {
		if c, err := r.Cookie(keptCookie(name)); err == nil && c.Value == builtIn()[name].version {
			fmt.Fprintf(&out, "<link rel=\"stylesheet\" href=\"%s\">", assetPath(name))
		} else {
			fmt.Fprintf(&out, "<style data-from=\"%s\">%s</style>", assetPath(name), builtIn()[name].data)
		}
	}
	return template.HTML(out.String())
}

// keptCookie returns the name of the cookie that says which version of a style sheet a browser has.
func keptCookie(name string) string { return "keeps-" + strings.TrimSuffix(name, ".css") }

// styleSources are where styles may come from: this server's files, as files and as text of a page.
var styleSources = sync.OnceValue(func() string {
	return "'self' " + builtIn()["page.css"].hash + " " + builtIn()["report.css"].hash
})

// asset serves one of the files that are built in, by its name alone.
func (s *Server) asset(w http.ResponseWriter, r *http.Request) {
	f, ok := builtIn()[r.PathValue("name")]
	if !ok {
		http.Error(w, "not found", http.StatusNotFound)
		return
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if r.URL.Query().Get("v") == f.version {
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
		if strings.HasSuffix(r.PathValue("name"), ".css") {
			http.SetCookie(w, &http.Cookie{Name: keptCookie(r.PathValue("name")), Value: f.version, Path: "/", MaxAge: 31536000, HttpOnly: true,
				SameSite: http.SameSiteStrictMode})
		}
	}
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		w.Write(f.packed)
		return
	}
	w.Write(f.data)
}
