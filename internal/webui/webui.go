// Package webui carries the built web app: the ramp for phones at /ramp/ and the office at /office/. The app is built into
// the folder dist by `make web`; without it the pages say how to build it, and everything else works.
package webui

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
	"sync"
)

//go:embed all:dist
var built embed.FS

// Apps are the first parts of the addresses that the web app answers.
var Apps = []string{"ramp", "office"}

// Pages gives the handlers of the web app, by pattern of [http.ServeMux].
func Pages() map[string]http.Handler {
	dist, err := fs.Sub(built, "dist")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	pages := map[string]http.Handler{"GET /assets/": files{dist, true}, "GET /engine/": files{dist, false}}
	for _, app := range Apps {
		pages["GET /"+app+"/"] = page{dist, app}
		pages["GET /"+app] = http.RedirectHandler("/"+app+"/", http.StatusMovedPermanently)
	}
	return pages
}

// Built reports whether the web app is in this program.
func Built() bool {
	for _, app := range Apps {
		if _, err := fs.Stat(built, "dist/"+app+"/index.html"); err != nil {
			return false
		}
	}
	return true
}

// files serves the build's files as they are. Names of assets carry a hash of what is inside, so that they never change.
type files struct {
	dist   fs.FS
	forAll bool // a file never changes under its name
}

func (f files) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
	cache := "no-cache"
	if f.forAll {
		cache = "public, max-age=31536000, immutable"
	}
	if !serve(w, r, f.dist, name, cache) {
		http.NotFound(w, r)
	}
}

// page serves one app: its own files where there are any, and its page for every other address below it, because the app
// reads the address itself.
type page struct {
	dist fs.FS
	app  string
}

func (p page) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
	if name != p.app && isFile(name) {
		if !serve(w, r, p.dist, name, "no-cache") {
			http.NotFound(w, r)
		}
		return
	}
	if !serve(w, r, p.dist, p.app+"/index.html", "no-cache") {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.WriteHeader(http.StatusNotFound)
		fmt.Fprintln(w, "This program was built without its web app. Build it with: make build (needs Node.js 20 or newer).")
	}
}

// isFile tells the name of a file from an address inside the app, which may hold a dot of its own, as the version of a
// protocol does.
func isFile(name string) bool {
	return types[path.Ext(name)] != "" || mime.TypeByExtension(path.Ext(name)) != ""
}

// types are the media types that a machine's own table may lack.
var types = map[string]string{
	".wasm": "application/wasm", ".webmanifest": "application/manifest+json", ".js": "text/javascript; charset=utf-8",
	".css": "text/css; charset=utf-8", ".woff2": "font/woff2", ".woff": "font/woff",
}

// tags remembers the entity tag of each file, so that a browser which has the file is not sent it again. The files are part
// of the program and never change while it runs.
var tags tagged

type tagged struct{ known sync.Map }

func (t *tagged) of(dist fs.FS, name string) string {
	if tag, ok := t.known.Load(name); ok {
		return tag.(string)
	}
	b, err := fs.ReadFile(dist, name)
	if err != nil {
		return "" // serving it fails next, and says so
	}
	sum := sha256.Sum256(b)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	t.known.Store(name, tag)
	return tag
}

// serve writes a file, packed where the browser takes that; false says that there is none.
func serve(w http.ResponseWriter, r *http.Request, dist fs.FS, name, cache string) bool {
	if info, err := fs.Stat(dist, name); err != nil || info.IsDir() || strings.HasPrefix(name, ".") {
		return false
	}
	kind := types[path.Ext(name)]
	if kind == "" {
		kind = mime.TypeByExtension(path.Ext(name))
	}
	h := w.Header()
	if kind != "" {
		h.Set("Content-Type", kind)
	}
	h.Set("Cache-Control", cache)
	h.Set("ETag", tags.of(dist, name))
	h.Add("Vary", "Accept-Encoding")
	if packed := name + ".br"; takesBrotli(r) {
		if _, err := fs.Stat(dist, packed); err == nil {
			h.Set("Content-Encoding", "br")
			h.Set("ETag", tags.of(dist, packed))
			name = packed
		}
	}
	http.ServeFileFS(w, r, dist, name)
	return true
}

func takesBrotli(r *http.Request) bool {
	for coding := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		if name, q, _ := strings.Cut(strings.TrimSpace(coding), ";"); name == "br" && strings.TrimSpace(q) != "q=0" {
			return true
		}
	}
	return false
}
