package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestPaperLines holds which command line stands for what the page asks.
func TestPaperLines(t *testing.T) {
	for _, c := range []struct{ name, kind, options, line string }{
		{"plain", "statement", `{}`, "prove|--out=/o|--|/b"},
		{"options", "statement", `{"for": "the owner", "by": "Ana", "finds": true}`, "prove|--by=Ana|--for=the owner|--finds=true|--out=/o|--|/b"},
		{"finds are not told unasked", "statement", `{"finds": false}`, "prove|--finds=false|--out=/o|--|/b"},
		{"null and empty are nothing", "statement", `{"by": null, "note": ""}`, "prove|--out=/o|--|/b"},
		{"a flag in a value", "statement", `{"by": "--out=/etc"}`, "prove|--by=--out=/etc|--out=/o|--|/b"},
		{"a number", "sheet", `{"hours": 2.5, "paper": "a4"}`, "sheet|--hours=2.5|--paper=a4|--out=/o|--|/b"},
		{"report", "report", `{"hours": "3", "date": "2026-06-12"}`, "report|--hours=3|--date=2026-06-12|--out=/o|--|/b"},
		{"share", "share", `{"names": true}`, "share|--names=true|--out=/o|--|/b"},
		{"map", "map", `{}`, "cover|--gis=true|--out=/o|--|/b"},
		{"book", "book", `{"to": "kml"}`, "export|--to=kml|--|/b|/o"},
		{"book as it comes", "book", `{}`, "export|--to=gpx|--|/b|/o"},
	} {
		t.Run(c.name, func(t *testing.T) {
			line, err := paperKinds[c.kind].line("/b", "/o", options(t, c.options))
			require.NoError(t, err)
			require.Equal(t, c.line, strings.Join(line, "|"))
		})
	}
}

func TestPaperLinesRefused(t *testing.T) {
	for _, c := range []struct{ name, kind, options string }{
		{"another folder", "statement", `{"out": "/etc"}`},
		{"a flag of the command", "statement", `{"site": "/etc/passwd"}`},
		{"a key for a report", "report", `{"key": "text"}`},
		{"a key to be made", "statement", `{"new-key": "/tmp/x"}`},
		{"a flag for a name", "statement", `{"by=x --out": "/etc"}`},
		{"dashes", "statement", `{"--by": "x"}`},
		{"no name", "statement", `{"": "x"}`},
		{"an option of another paper", "share", `{"by": "x"}`},
		{"text for yes", "share", `{"names": "--out=/etc"}`},
		{"yes for text", "statement", `{"by": true}`},
		{"a list", "statement", `{"by": ["a", "b"]}`},
		{"an object", "statement", `{"by": {}}`},
		{"a nought", "statement", `{"by": "a\u0000b"}`},
		{"an escape", "statement", `{"by": "a\u001b[2J"}`},
		{"long", "statement", `{"note": "` + strings.Repeat("x", optionRunes+1) + `"}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := paperKinds[c.kind].line("/b", "/o", options(t, c.options))
			var p *problem
			require.ErrorAs(t, err, &p)
			require.Equal(t, http.StatusBadRequest, p.status)
			require.Less(t, len(p.text), 200)
		})
	}
}

// TestKeyIsText holds that a key is the text of one, never the name of a file, and that
// it lies beside the papers.
func TestKeyIsText(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "statement")
	line, err := paperKinds["statement"].line("/b", folder, options(t, `{"key": "/etc/passwd"}`))
	require.NoError(t, err)
	path := filepath.Join(filepath.Dir(folder), keyFile)
	require.Equal(t, []string{"prove", "--key=" + path, "--out=" + folder, "--", "/b"}, line)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "/etc/passwd", string(text))

	line, err = paperKinds["key"].line("/b", "/o", nil)
	require.NoError(t, err)
	require.Equal(t, []string{"prove", "--new-key=/o/" + keyFile}, line)
}

func options(t *testing.T, text string) (out map[string]json.RawMessage) {
	require.NoError(t, json.Unmarshal([]byte(text), &out))
	return out
}

// office is a stand-in for the commands, that writes files of its own into --out.
type office struct {
	files map[string]string
	code  int
	errs  string
	dirs  []string // it was asked to write to
	lines [][]string
}

func (o *office) run(_ context.Context, args []string, out, errs io.Writer) int {
	o.lines = append(o.lines, args)
	i := slices.IndexFunc(args, func(a string) bool { return strings.HasPrefix(a, "--out=") })
	dir := strings.TrimPrefix(args[i], "--out=")
	o.dirs = append(o.dirs, dir)
	fmt.Fprintf(out, "All is well.\n\nWritten:\n")
	for name, text := range o.files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			panic(err)
		}
		fmt.Fprintf(out, "  %s   about %s\n", filepath.Join(dir, name), name)
	}
	fmt.Fprint(errs, o.errs)
	return o.code
}

func (o *office) page(t *testing.T) bookPage {
	return served(t, 0, func(c *Config) { c.Lent.Run = o.run })
}

func TestPapers(t *testing.T) {
	desk := &office{files: map[string]string{"statement.html": "<script>1</script>", "a b&.pdf": "%PDF-"}, errs: "untrod: a note\n"}
	o := desk.page(t)
	var doc PapersDoc
	o.done(http.MethodPost, "/api/papers", `{"kind": "statement", "options": {"by": "--out=/etc"}}`, &doc)
	require.Equal(t, "All is well.\n\nWritten:\n", doc.Text[:strings.Index(doc.Text, "  ")])
	require.NotContains(t, doc.Text, os.TempDir(), "no paths of this computer")
	require.Empty(t, doc.Problem)
	require.Equal(t, []PaperFileDoc{
		{"a b&.pdf", "about a b&.pdf", 5, "/papers/1/a%20b&.pdf"},
		{"statement.html", "about statement.html", 18, "/papers/1/statement.html"},
	}, doc.Files)
	require.Equal(t, []string{"prove", "--by=--out=/etc", "--out=" + desk.dirs[0], "--", o.path}, desk.lines[0])

	for _, f := range doc.Files {
		res, err := o.client.Get(o.base + f.Href)
		require.NoError(t, err)
		text, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		require.NoError(t, res.Body.Close())
		require.Equal(t, desk.files[f.Name], string(text))
		require.Contains(t, res.Header.Get("Content-Disposition"), "attachment")
		require.True(t, strings.HasPrefix(res.Header.Get("Content-Security-Policy"), "sandbox; default-src 'none'"))
	}
	_, body := o.get("/papers/1/all.zip")
	z, err := zip.NewReader(strings.NewReader(body), int64(len(body)))
	require.NoError(t, err)
	for _, f := range z.File {
		in, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(in)
		require.NoError(t, err)
		require.Equal(t, desk.files[f.Name], string(text))
	}
	require.Len(t, z.File, 2)
	for _, path := range []string{"/papers/1/..", "/papers/1/..%2f..%2fpasswd", "/papers/1/%2fetc%2fpasswd", "/papers/1/.", "/papers/2/statement.html", "/papers/x/y", "/papers/1/"} {
		status, text := o.get(path)
		require.Equal(t, http.StatusNotFound, status, "%s: %s", path, text)
	}
}

func TestPapersFailed(t *testing.T) {
	desk := &office{files: map[string]string{"half.pdf": "%PDF-"}, code: 1, errs: "untrod: no room for it\n  make room\n"}
	o := desk.page(t)
	status, text := o.ask(http.MethodPost, "/api/papers", `{"kind": "sheet"}`)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.JSONEq(t, `{"error": "no room for it", "hints": ["make room"]}`, text)
	require.NoDirExists(t, filepath.Dir(desk.dirs[0]))
	for _, body := range []string{`{"kind": "deed"}`, `{"kind": "verify", "options": {}}`, `{}`, `{"kind": "statement", "options": {"json": true}}`} {
		status, text := o.ask(http.MethodPost, "/api/papers", body)
		require.Equal(t, http.StatusBadRequest, status, text)
	}
	require.Len(t, desk.lines, 1, "no command was run for those")

	desk.code, desk.errs = exitSkipped, "untrod: skipped walk.gpx: torn\n"
	var doc PapersDoc
	o.done(http.MethodPost, "/api/papers", `{"kind": "sheet"}`, &doc)
	require.Equal(t, "skipped walk.gpx: torn", doc.Problem)
	require.Len(t, doc.Files, 1, "made all the same")
}

// TestPapersGo holds that old papers go, and all of them with the program.
func TestPapersGo(t *testing.T) {
	desk := &office{files: map[string]string{"sheet.pdf": "%PDF-"}}
	o := desk.page(t)
	for range papersKept + 1 {
		var doc PapersDoc
		o.done(http.MethodPost, "/api/papers", `{"kind": "sheet"}`, &doc)
	}
	require.NoFileExists(t, filepath.Join(desk.dirs[0], "sheet.pdf"))
	require.NoDirExists(t, filepath.Dir(desk.dirs[0]))
	require.FileExists(t, filepath.Join(desk.dirs[1], "sheet.pdf"))
	status, _ := o.get("/papers/1/sheet.pdf")
	require.Equal(t, http.StatusNotFound, status)
	require.NoError(t, os.Remove(filepath.Join(desk.dirs[2], "sheet.pdf")))
	status, text := o.get("/papers/3/sheet.pdf")
	require.Equal(t, http.StatusNotFound, status)
	require.Contains(t, text, "make it anew")
	require.NoError(t, o.end())
	require.NoDirExists(t, filepath.Dir(filepath.Dir(desk.dirs[1])))
}

// TestPapersLeft holds that a browser that leaves ends what is made for it.
func TestPapersLeft(t *testing.T) {
	begun, ended := make(chan string, 1), make(chan error, 1)
	o := served(t, 0, func(c *Config) {
		c.Lent.Run = func(ctx context.Context, args []string, _, _ io.Writer) int {
			begun <- args[1]
			<-ctx.Done()
			ended <- ctx.Err()
			return 130
		}
	})
	ctx, leave := context.WithCancel(t.Context())
	go func() {
		r, _ := http.NewRequestWithContext(ctx, http.MethodPost, o.base+"/api/papers", bytes.NewReader([]byte(`{"kind": "sheet"}`)))
		r.Header.Set("Origin", o.base)
		if res, err := o.client.Do(r); err == nil {
			res.Body.Close()
		}
	}()
	dir := strings.TrimPrefix(<-begun, "--out=")
	require.DirExists(t, dir)
	leave()
	require.ErrorIs(t, <-ended, context.Canceled)
	require.Eventually(t, func() bool {
		_, err := os.Stat(dir)
		return os.IsNotExist(err)
	}, 5*time.Second, 5*time.Millisecond)
}
