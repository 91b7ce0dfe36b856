package page

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
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
		out[name] = built{kind, data, packed.Bytes(), hex.EncodeToString(sum[:4])}
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

// assetPath is where a file that is built in is asked for. Its version stands in the
// address, so that a browser keeps it until a newer program serves another.
func assetPath(name string) string { return "/assets/" + name + "?v=" + builtIn()[name].version }

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
	}
	if strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		w.Write(f.packed)
		return
	}
	w.Write(f.data)
}
