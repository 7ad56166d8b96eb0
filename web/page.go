package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"mime"
	"net/http"
	"path"
)

// pageFiles are the page itself, bundled from web/ui.
//
//go:embed page
var pageFiles embed.FS

// pageTypes are told here, not asked of the system: some registries call scripts
// plain text, and a browser that must not guess would not run them.
var pageTypes = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
	".txt": "text/plain; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png",
}

func (s *server) pageRoutes(m *http.ServeMux) {
	entries, err := pageFiles.ReadDir("page")
	if err != nil {
		panic(err) // it is part of the program
	}
	for _, e := range entries {
		body, err := pageFiles.ReadFile("page/" + e.Name())
		if err != nil {
			panic(err)
		}
		at := "/" + e.Name()
		if at == "/index.html" {
			at = "/{$}"
		}
		m.Handle("GET "+at, pageFile(e.Name(), body))
	}
}

func pageFile(name string, body []byte) http.HandlerFunc {
	sum := sha256.Sum256(body)
	tag := `"` + hex.EncodeToString(sum[:8]) + `"`
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", pageTypes[path.Ext(name)])
		w.Header().Set("Cache-Control", "no-cache") // asked for again, and answered by the tag
		w.Header().Set("ETag", tag)
		if r.Header.Get("If-None-Match") == tag {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		_, _ = w.Write(body)
	}
}

// attachment has the browser save an answer under a name.
func attachment(w http.ResponseWriter, name, contentType string) {
	w.Header().Set("Content-Type", contentType)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
}
