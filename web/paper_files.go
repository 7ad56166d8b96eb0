package web

import (
	"archive/zip"
	"io"
	"mime"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
)

// file answers GET /papers/{id}/{name}. Papers are saved, never shown in the page's
// own right: what is in a book may be anybody's.
func (p *papers) file(w http.ResponseWriter, r *http.Request) error {
	set, err := p.find(r.PathValue("id"))
	if err != nil {
		return err
	}
	name := r.PathValue("name")
	if name == allPapers {
		return set.zip(w)
	}
	if !slices.ContainsFunc(set.doc.Files, func(f PaperFileDoc) bool { return f.Name == name }) {
		return refuse(http.StatusNotFound, "there is no such paper")
	}
	f, err := os.Open(filepath.Join(set.folder, name))
	if err != nil {
		return refuse(http.StatusNotFound, "this paper is no longer kept", "make it anew")
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	sandbox(w)
	attachment(w, name, paperType(name))
	w.Header().Set("Content-Length", strconv.FormatInt(info.Size(), 10))
	_, _ = io.Copy(w, f) // an error is that of a browser that left
	return nil
}

// sandbox has the browser run nothing of an answer, should it show it.
func sandbox(w http.ResponseWriter) {
	w.Header().Set("Content-Security-Policy", "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:")
}

// paperTypes are told here, not asked of the system, which may know others.
var paperTypes = map[string]string{
	".html": "text/html; charset=utf-8", ".pdf": "application/pdf", ".json": "application/json", ".txt": "text/plain; charset=utf-8",
	".png": "image/png", ".jpg": "image/jpeg", ".svg": "image/svg+xml", ".gpx": "application/gpx+xml", ".kml": "application/vnd.google-earth.kml+xml",
	".kmz": "application/vnd.google-earth.kmz", ".geojson": "application/geo+json", ".csv": "text/csv; charset=utf-8", ".tif": "image/tiff",
}

func paperType(name string) string {
	if t, known := paperTypes[filepath.Ext(name)]; known {
		return t
	}
	return "application/octet-stream"
}

// find is the set of an id, as long as it is kept.
func (p *papers) find(id string) (*paperSet, error) {
	n, err := strconv.Atoi(id)
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, s := range p.kept {
		if err == nil && s.doc.ID == n {
			return s, nil
		}
	}
	return nil, refuse(http.StatusNotFound, "these papers are no longer kept", "make them anew")
}

const allPapers = "all.zip"

// zip answers with all papers of a set.
func (s *paperSet) zip(w http.ResponseWriter) error {
	sandbox(w)
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": s.doc.Kind + ".zip"}))
	z := zip.NewWriter(w)
	for _, f := range s.doc.Files {
		if err := s.pack(z, f.Name); err != nil {
			panic(http.ErrAbortHandler) // so that half a file is not taken for a whole one
		}
	}
	return z.Close()
}

func (s *paperSet) pack(z *zip.Writer, name string) error {
	in, err := os.Open(filepath.Join(s.folder, name))
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := z.Create(name)
	if err == nil {
		_, err = io.Copy(out, in)
	}
	return err
}
