package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/site/book"
	"untrod/web"
)

// page is a page that `untrod open` serves, and a browser that was let in.
type page struct {
	t      *testing.T
	base   string
	client *http.Client
	stop   func() int // ends the program; its exit code
}

// openPage runs `untrod open` in this process.
func openPage(t *testing.T, args ...string) *page {
	ctx, cancel := context.WithCancel(context.Background())
	r, w := io.Pipe()
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, append([]string{"open", "--no-browser"}, args...), streams{w, io.Discard})
		w.Close()
	}()
	address, err := bufio.NewReader(r).ReadString('\n')
	require.NoError(t, err)
	p := enter(t, strings.TrimSpace(address))
	p.stop = func() int {
		cancel()
		return <-code
	}
	t.Cleanup(cancel)
	return p
}

// enter goes in by an address, as a browser does.
func enter(t *testing.T, address string) *page {
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	base, _, _ := strings.Cut(address, "/enter")
	p := &page{t: t, base: base, client: &http.Client{Jar: jar}}
	status, text := p.ask("GET", strings.TrimPrefix(address, base), "", "")
	require.Equal(t, http.StatusOK, status, text)
	require.Contains(t, text, "<html")
	return p
}

func (p *page) ask(method, path, kind, body string) (int, string) {
	p.t.Helper()
	r, err := http.NewRequest(method, p.base+path, strings.NewReader(body))
	require.NoError(p.t, err)
	r.Header.Set("Origin", p.base)
	r.Header.Set("Content-Type", kind)
	if method == "GET" {
		r.Header.Del("Origin")
	}
	res, err := p.client.Do(r)
	require.NoError(p.t, err)
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	require.NoError(p.t, err)
	return res.StatusCode, string(text)
}

// done puts a question that must go well.
func done[T any](p *page, method, path, body string) (doc T) {
	p.t.Helper()
	status, text := p.ask(method, path, "application/json", body)
	require.Equal(p.t, http.StatusOK, status, "%s %s: %s", method, path, text)
	require.NoError(p.t, json.Unmarshal([]byte(text), &doc), text)
	return doc
}

// give sends files.
func (p *page) give(path string, files map[string]string) (int, string) {
	p.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for name, content := range files {
		f, err := m.CreateFormFile("file", name)
		require.NoError(p.t, err)
		_, _ = f.Write([]byte(content))
	}
	require.NoError(p.t, m.Close())
	return p.ask("POST", path, m.FormDataContentType(), b.String())
}

// settled waits until all is worked out.
func (p *page) settled() (doc web.StateDoc) {
	p.t.Helper()
	require.Eventually(p.t, func() bool {
		doc = done[web.StateDoc](p, "GET", "/api/state", "")
		return !doc.Work.Running
	}, time.Minute, 20*time.Millisecond)
	return doc
}

func exampleFile(t *testing.T, parts ...string) string {
	text, err := os.ReadFile(filepath.Join(append([]string{exampleDir}, parts...)...))
	require.NoError(t, err)
	return string(text)
}

func exampleWalks(t *testing.T) map[string]string {
	paths, err := filepath.Glob(filepath.Join(exampleDir, "walks", "*.gpx"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	out := map[string]string{}
	for _, path := range paths {
		out[filepath.Base(path)] = exampleFile(t, "walks", filepath.Base(path))
	}
	return out
}

// From an empty folder to a result, and back by undo: what the page does the commands
// see, and the numbers are theirs.
func TestPageMakesABook(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "books")
	p := openPage(t, "--folder", folder)
	require.NoDirExists(t, folder, "made only when there is a book")
	doc := done[web.StateDoc](p, "POST", "/api/books", `{"name":"Ford & <b>Co</b>"}`)
	require.Equal(t, "Ford & bCob.gpkg", doc.Book.File)
	path := filepath.Join(folder, doc.Book.File)
	require.Nil(t, p.settled().Work.Problem)

	status, text := p.give("/api/site/file", map[string]string{"site.geojson": exampleFile(t, "site.geojson")})
	require.Equal(t, http.StatusOK, status, text)
	status, text = p.give("/api/logs", exampleWalks(t))
	require.Equal(t, http.StatusOK, status, text)
	require.Contains(t, text, "Added ")
	require.NotContains(t, text, folder)
	state := p.settled()
	require.Equal(t, "full", state.Stage)
	require.True(t, strings.HasPrefix(state.Claim, "At least "), state.Claim)
	require.True(t, strings.HasPrefix(state.Book.Undo, "added "), state.Book.Undo)

	code, out, errs := tryRun(t.Context(), "cover", path, "--json")
	require.Zero(t, code, errs)
	_, text = p.ask("GET", "/api/coverage", "", "")
	require.Equal(t, out, text, "the command's own numbers")
	code, out, _ = tryRun(t.Context(), "cover", path)
	require.Zero(t, code)
	notes := done[map[string]string](p, "GET", "/api/notes", "")["text"]
	require.True(t, strings.HasPrefix(out, notes), "the command's own words")

	visits := done[[]web.VisitDoc](p, "GET", "/api/visits", "")
	require.Len(t, visits, len(exampleWalks(t)))
	doc = done[web.StateDoc](p, "POST", "/api/visits/drop", fmt.Sprintf(`{"id":%d}`, visits[0].ID))
	require.Equal(t, "dropped "+visits[0].Name, doc.Book.Undo)
	require.Len(t, done[[]web.VisitDoc](p, "GET", "/api/visits", ""), len(visits)-1)
	require.Equal(t, doc.Book.Undo, done[map[string]string](p, "POST", "/api/undo", "")["undone"])
	require.Equal(t, visits[0].ID, done[[]web.VisitDoc](p, "GET", "/api/visits", "")[0].ID)
	require.Equal(t, exitDone, p.stop())
	require.NoFileExists(t, path+"-wal")
}

// A new book takes logs before it has an outline.
func TestPageTakesLogsWithoutAnOutline(t *testing.T) {
	folder := t.TempDir()
	p := openPage(t, "--folder", folder)
	done[web.StateDoc](p, "POST", "/api/books", `{"name":"Ford"}`)
	status, text := p.give("/api/logs", exampleWalks(t))
	require.Equal(t, http.StatusOK, status, text)
	require.Contains(t, text, "Added ")
	state := p.settled()
	require.Nil(t, state.Work.Problem)
	require.Contains(t, state.Claim, "inside the outline drawn round your searched ground")
	_, out, errs := tryRun(t.Context(), "list", filepath.Join(folder, "Ford.gpkg"))
	require.NotContains(t, errs, "bug")
	require.Contains(t, out, "visit")
}

func TestPageLeavesOut(t *testing.T) {
	p := openPage(t, "--folder", t.TempDir())
	done[web.StateDoc](p, "POST", "/api/books/demo", "{}")
	done[web.StateDoc](p, "PUT", "/api/settings", `{"draws":"20"}`)
	before := p.settled()
	require.Equal(t, "full", before.Stage)
	visits := done[[]web.VisitDoc](p, "GET", "/api/visits", "")
	require.Len(t, visits, 4)
	for i, v := range visits {
		require.Equal(t, i, v.N)
		require.Positive(t, v.SearchingS)
		require.False(t, v.LeftOut)
	}
	require.Positive(t, visits[1].Lanes, "the south side was walked in lanes")
	require.Positive(t, visits[0].Ties)

	set := func(what string, id int64, yes bool) {
		done[web.StateDoc](p, "POST", "/api/visits/"+what, fmt.Sprintf(`{"id":%d,"yes":%v}`, id, yes))
	}
	set("left-out", visits[2].ID, true)
	set("left-out", visits[0].ID, true)
	set("laid-out", visits[1].ID, true)
	after := p.settled()
	require.NotEqual(t, before.Claim, after.Claim)
	now := done[[]web.VisitDoc](p, "GET", "/api/visits", "")
	require.Equal(t, []bool{true, false, true, false}, []bool{now[0].LeftOut, now[1].LeftOut, now[2].LeftOut, now[3].LeftOut})
	require.Equal(t, []int{-1, 0, -1, 1}, []int{now[0].N, now[1].N, now[2].N, now[3].N})
	require.True(t, now[1].LaidOut)
	set("laid-out", visits[1].ID, false)
	set("left-out", visits[0].ID, false)
	set("left-out", visits[2].ID, false)
	require.Equal(t, before.Claim, p.settled().Claim)
	says := done[web.SettingsDoc](p, "GET", "/api/settings", "")
	require.Equal(t, map[string]string{"canopy": "open", "swath": "1.5m", "draws": "20"}, says.Says)
}

func TestPageSettings(t *testing.T) {
	p := openPage(t, "--folder", t.TempDir())
	done[web.StateDoc](p, "POST", "/api/books/demo", "{}")
	done[web.StateDoc](p, "PUT", "/api/settings", `{"swath":"","coil":"28cm","swing":"1.2m","units":"imperial","draws":"20"}`)
	doc := done[web.SettingsDoc](p, "GET", "/api/settings", "")
	require.Equal(t, map[string]string{"canopy": "open", "coil": "28cm", "swing": "1.2m", "units": "imperial", "draws": "20"}, doc.Says)
	require.Equal(t, "imperial", p.settled().Units)
	var names []string
	for _, k := range doc.Known {
		require.NotEmpty(t, k.Group, k.Name)
		require.NotContains(t, k.Usage, "`")
		names = append(names, k.Name)
	}
	require.Equal(t, settingNames(), names)
	for body, want := range map[string]string{
		`{"coil":"far"}`:          `coil \"far\"`,
		`{"nothing":"1"}`:         `no setting \"nothing\"`,
		`{"--help":"1"}`:          `no setting \"help\"`,
		`{"canopy":"x"}`:          "canopy",
		`{"swath":"1\n\u0000 m"}`: "swath",
	} {
		status, text := p.ask("PUT", "/api/settings", "application/json", body)
		require.Equal(t, http.StatusUnprocessableEntity, status, body)
		require.Contains(t, text, want, body)
	}
	require.Equal(t, doc.Says, done[web.SettingsDoc](p, "GET", "/api/settings", "").Says, "all or none")

	done[web.StateDoc](p, "PUT", "/api/settings", `{"coil":"default","swing":"default"}`)
	problem := p.settled().Work.Problem
	require.NotNil(t, problem)
	require.Equal(t, "how wide is the swath?", problem.Error)
	require.NotContains(t, strings.Join(problem.Hints, " "), "--")
}

func TestPagePlaces(t *testing.T) {
	p := openPage(t, "--folder", t.TempDir())
	done[web.StateDoc](p, "POST", "/api/books/demo", "{}")
	places := done[[]web.PlaceDoc](p, "GET", "/api/places", "")
	require.NotEmpty(t, places)
	require.Equal(t, "water trough", places[0].Name)
	for role, status := range map[string]int{"find": 200, "mark": 200, "nothing": 200, "": 400, "x": 400} {
		got, text := p.ask("POST", "/api/places/role", "", fmt.Sprintf(`{"id":%d,"role":%q}`, places[0].ID, role))
		require.Equal(t, status, got, text)
		if status == 200 {
			require.Equal(t, role, done[[]web.PlaceDoc](p, "GET", "/api/places", "")[0].Role)
		}
	}
	got, _ := p.ask("POST", "/api/places/role", "", `{"id":999,"role":"mark"}`)
	require.Equal(t, http.StatusNotFound, got)
}

// What cannot be read is told, and the rest is taken.
func TestPageTakesWhatItCan(t *testing.T) {
	p := openPage(t, "--folder", t.TempDir())
	done[web.StateDoc](p, "POST", "/api/books/demo", "{}")
	files := map[string]string{"<img src=x onerror=alert(1)>.gpx": "no log", "empty.fit": ""}
	status, text := p.give("/api/logs", files)
	require.Equal(t, http.StatusOK, status, text)
	var doc web.DoneDoc
	require.NoError(t, json.Unmarshal([]byte(text), &doc))
	require.Contains(t, doc.Text, "Added 0 visits from 0 files to quillon-green.gpkg.")
	require.Contains(t, doc.Problem, "skipped _img src=x onerror=alert(1)_.gpx")
	require.NotContains(t, text, os.TempDir())
	require.NotContains(t, text, "<img", "JSON has it escaped")
	for name, content := range map[string]string{"x.geojson": "{", "x.csv": "\x00", "walk.gpx": "no site"} {
		status, text = p.give("/api/site/file", map[string]string{name: content})
		require.Equal(t, http.StatusUnprocessableEntity, status, text)
		require.Contains(t, text, name)
	}
	require.Equal(t, "Quillon Green", done[web.StateDoc](p, "GET", "/api/state", "").Book.Name)
}

// Script in the names of visits is text in every answer.
func TestPageScriptIsText(t *testing.T) {
	p := openPage(t, "--folder", t.TempDir())
	done[web.StateDoc](p, "POST", "/api/books/demo", "{}")
	const evil = `</script><script>alert(1)</script>`
	log := strings.Replace(exampleFile(t, "walks", "1-evening.gpx"), "first evening", "<![CDATA["+evil+"]]>", 1)
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	f, err := m.CreateFormFile("file", "evil.gpx")
	require.NoError(t, err)
	_, _ = f.Write([]byte(log))
	require.NoError(t, m.WriteField("anywhere", "true"))
	require.NoError(t, m.Close())
	status, text := p.ask("POST", "/api/logs", m.FormDataContentType(), b.String())
	require.Equal(t, http.StatusOK, status, text)
	for _, path := range []string{"/api/visits", "/api/notes", "/api/state"} {
		_, text := p.ask("GET", path, "", "")
		require.NotContains(t, text, "<script", path)
	}
	found := false
	for _, v := range done[[]web.VisitDoc](p, "GET", "/api/visits", "") {
		found = found || v.Name == evil
	}
	require.True(t, found, "kept as it is")
}

// The books of the folder and one from elsewhere are listed, and only they open.
func TestPageBooks(t *testing.T) {
	folder, other := t.TempDir(), filepath.Join(t.TempDir(), "ford.gpkg")
	for _, path := range []string{filepath.Join(folder, "ford.gpkg"), other} {
		b, err := book.Create(path, nil)
		require.NoError(t, err)
		require.NoError(t, b.Close())
	}
	require.NoError(t, os.WriteFile(filepath.Join(folder, "notes.txt"), nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "bad.gpkg"), []byte("x"), 0o600))
	p := openPage(t, "--folder", folder, other)
	state := done[web.StateDoc](p, "GET", "/api/state", "")
	elsewhere := "ford.gpkg in " + filepath.Base(filepath.Dir(other))
	var files []string
	for _, b := range state.Books {
		files = append(files, b.File)
	}
	require.Equal(t, []string{"bad.gpkg", "ford.gpkg", elsewhere}, files)
	require.Equal(t, elsewhere, state.Book.File)
	for _, c := range []struct {
		file   string
		status int
	}{
		{"ford.gpkg", 200}, {elsewhere, 200}, {"bad.gpkg", 422}, {"notes.txt", 404}, {"../" + filepath.Base(folder) + "/ford.gpkg", 404},
		{other, 404}, {"", 404}, {"FORD.gpkg", 404},
	} {
		b, err := json.Marshal(map[string]string{"file": c.file})
		require.NoError(t, err)
		status, text := p.ask("POST", "/api/books/open", "", string(b))
		require.Equal(t, c.status, status, text)
		require.NotContains(t, text, folder)
	}
	require.Equal(t, elsewhere, done[web.StateDoc](p, "GET", "/api/state", "").Book.File, "what cannot be opened leaves the book before")
	require.Nil(t, done[web.StateDoc](p, "POST", "/api/books/close", "{}").Book)
	require.Equal(t, "ford-2.gpkg", done[web.StateDoc](p, "POST", "/api/books", `{"name":"ford"}`).Book.File)
	status, text := p.ask("GET", "/api/book.gpkg", "", "")
	require.Equal(t, http.StatusOK, status)
	require.True(t, book.Is([]byte(text)))
}

// A program that was killed leaves the book as it was, and the next one goes on.
func TestPageAfterAKill(t *testing.T) {
	folder := t.TempDir()
	start := func() (*page, *exec.Cmd) {
		c := exec.Command("untrod", "open", "--no-browser", "--folder", folder)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		t.Cleanup(func() { _ = c.Process.Kill() })
		address, err := bufio.NewReader(out).ReadString('\n')
		require.NoError(t, err)
		return enter(t, strings.TrimSpace(address)), c
	}
	p, c := start()
	done[web.StateDoc](p, "POST", "/api/books/demo", "{}")
	done[web.StateDoc](p, "PUT", "/api/settings", `{"draws":"20"}`)
	require.NoError(t, c.Process.Kill())
	_ = c.Wait()

	again, c := start()
	again.client.Jar.SetCookies(mustURL(t, again.base), p.client.Jar.Cookies(mustURL(t, p.base)))
	doc := done[web.StateDoc](again, "POST", "/api/books/demo", "{}")
	require.Equal(t, "set draws 20", doc.Book.Undo)
	require.Equal(t, "full", again.settled().Stage)
	if runtime.GOOS == "windows" {
		return // there is no Ctrl-C from another program
	}
	require.NoError(t, c.Process.Signal(os.Interrupt))
	require.NoError(t, c.Wait(), "Ctrl-C ends it well")
}

func mustURL(t *testing.T, text string) *url.URL {
	u, err := url.Parse(text)
	require.NoError(t, err)
	return u
}

// Settings as typed, whatever they are, never break the page.
func TestPageSettingsAreSafe(t *testing.T) {
	p := openPage(t, "--folder", t.TempDir())
	done[web.StateDoc](p, "POST", "/api/books", `{"name":"x"}`)
	rapid.Check(t, func(r *rapid.T) {
		name := rapid.OneOf(rapid.SampledFrom(settingNames()), rapid.String()).Draw(r, "name")
		value := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"--site=/x", "-", "--", "default", "\n", "1m\n--out"})).Draw(r, "value")
		b, err := json.Marshal(map[string]string{name: value})
		require.NoError(r, err)
		status, text := p.ask("PUT", "/api/settings", "", string(b))
		require.Contains(r, []int{200, 422}, status, text)
		require.NotContains(r, text, "bug:")
	})
}
