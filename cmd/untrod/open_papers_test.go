package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/web"
)

// TestOpenMakesPapers makes every kind of paper on the page, by the commands
// themselves, and looks at what comes back.
func TestOpenMakesPapers(t *testing.T) {
	book := filepath.Join(t.TempDir(), "demo.gpkg")
	require.NoError(t, demoBook(t.Context(), book))
	var out, errs bytes.Buffer
	require.Equal(t, exitDone, run(t.Context(), []string{"set", book, "canopy", "none", "cell", "40cm"}, streams{&out, &errs}), errs.String()) // to be quick
	p := openPage(t, "--folder", t.TempDir(), book)
	t.Cleanup(func() { p.stop() })
	fetch := func(t *testing.T, path string) string {
		status, text := p.ask(http.MethodGet, path, "", "")
		require.Equal(t, http.StatusOK, status, "%s: %.200s", path, text)
		return text
	}
	for _, c := range []struct {
		kind, options string
		says          string
		begins        map[string]string // of files that must be there
	}{
		{"statement", `{"by": "Ana", "for": "--out=/etc", "paper": "letter", "finds": true}`, "Content, SHA-256",
			map[string]string{"statement.pdf": "%PDF-", "statement.html": "<!doctype html>", "statement.json": "{"}},
		{"sheet", `{"hours": 1, "paper": "a4", "place": "behind the pond"}`, "Written: sheet/sheet.pdf", map[string]string{"sheet.pdf": "%PDF-"}},
		{"report", `{"hours": "90min", "date": "2026-06-12"}`, "Written: report/report.html", map[string]string{"report.html": "<!doctype html>"}},
		{"share", `{"names": true, "dates": true}`, "Written, and read back",
			map[string]string{"share.html": "<!doctype html>", "share.png": "\x89PNG", "share.txt": "", "share.json": "{"}},
		{"map", `{}`, "Written:", map[string]string{"map.png": "\x89PNG", "gaps.gpx": "<?xml", "ground.kmz": "PK", "coverage.tif": "II*", "visits.csv": ""}},
		{"book", `{"to": "geojson"}`, "4 visits", map[string]string{"site.geojson": "{", "visit oak row, winding.geojson": "{"}},
	} {
		t.Run(c.kind, func(t *testing.T) {
			status, text := p.ask(http.MethodPost, "/api/papers", "application/json", `{"kind": "`+c.kind+`", "options": `+c.options+`}`)
			require.Equal(t, http.StatusOK, status, text)
			var doc web.PapersDoc
			require.NoError(t, json.Unmarshal([]byte(text), &doc))
			require.Contains(t, filepath.ToSlash(doc.Text), c.says)
			require.Empty(t, doc.Problem)
			got := map[string]string{}
			for _, f := range doc.Files {
				got[f.Name] = fetch(t, f.Href)
				require.Len(t, got[f.Name], int(f.Bytes))
				require.NotEmpty(t, got[f.Name])
			}
			for name, head := range c.begins {
				require.Contains(t, got, name)
				require.True(t, strings.HasPrefix(strings.ToLower(got[name]), strings.ToLower(head)), "%s: %.40q", name, got[name])
			}
			all := fetch(t, fmt.Sprintf("/papers/%d/all.zip", doc.ID))
			z, err := zip.NewReader(strings.NewReader(all), int64(len(all)))
			require.NoError(t, err)
			require.Len(t, z.File, len(doc.Files))
		})
	}
}
