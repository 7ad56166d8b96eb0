package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// zeros is a file of that many bytes that is nowhere.
type zeros int64

func (z *zeros) Read(p []byte) (int, error) {
	if *z <= 0 {
		return 0, io.EOF
	}
	n := min(len(p), int(*z))
	clear(p[:n])
	*z -= zeros(n)
	return n, nil
}

// form is a body with one file, and its type.
func form(t *testing.T, name string, size int64) (body io.Reader, kind string, length int64) {
	var head bytes.Buffer
	m := multipart.NewWriter(&head)
	_, err := m.CreateFormFile("file", name)
	require.NoError(t, err)
	tail := "\r\n--" + m.Boundary() + "--\r\n"
	length = int64(head.Len()) + size + int64(len(tail))
	z := zeros(size)
	return io.MultiReader(&head, &z, strings.NewReader(tail)), m.FormDataContentType(), length
}

// withVisits opens a page with a book of some visits.
func withVisits(t *testing.T, visits int, change func(*Config)) (o *opened, path string) {
	path = filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, visits)
	return serve(t, func(c *Config) {
		c.Book = path
		if change != nil {
			change(c)
		}
	}), path
}

// 3 GB are refused at the limit: by what the head says at once, else when the limit
// is reached; neither memory nor the disk is filled.
func TestTooLargeUpload(t *testing.T) {
	const gb = 1 << 30
	for _, c := range []struct {
		name   string
		size   int64
		limit  int64
		told   bool // the head says how long it is
		atMost int64
	}{
		{"3 GB, told", 3 * gb, 0, true, 64 << 20},
		{"3 GB, not told", 3 * gb, 1 << 20, false, 64 << 20},
		{"just over, told", 1<<20 + 1, 1 << 20, true, 2 << 20},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Setenv("TMPDIR", t.TempDir())
			o, _ := withVisits(t, 0, func(cfg *Config) { cfg.Limits.UploadBytes = c.limit })
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			body, kind, length := form(t, "big.gpx", c.size)
			sent := &counted{r: body}
			r, err := http.NewRequest(http.MethodPost, o.base+"/api/logs", sent)
			require.NoError(t, err)
			r.Header.Set("Content-Type", kind)
			r.Header.Set("Origin", o.base)
			if c.told {
				r.ContentLength = length
			}
			res, err := o.client.Do(r)
			if err == nil { // else the program hung up while the rest was being sent, as it may
				defer res.Body.Close()
				text, _ := io.ReadAll(res.Body)
				require.Equal(t, http.StatusRequestEntityTooLarge, res.StatusCode, "%s", text)
				require.Contains(t, string(text), "more than the page takes at a time")
			}
			runtime.ReadMemStats(&after)
			require.Less(t, sent.n, c.atMost)
			require.Less(t, int64(after.TotalAlloc-before.TotalAlloc), int64(256<<20))
			requireNoTemp(t)
			status, _ := o.get("/api/state")
			require.Equal(t, http.StatusOK, status, "it goes on")
		})
	}
}

// counted counts what was read of it.
type counted struct {
	r io.Reader
	n int64
}

func (c *counted) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

// requireNoTemp waits until nothing is left in the folder for passing files.
func requireNoTemp(t *testing.T) {
	require.Eventually(t, func() bool {
		left, err := filepath.Glob(filepath.Join(os.TempDir(), "untrod-*"))
		return err == nil && len(left) == 0
	}, 5*time.Second, 10*time.Millisecond)
}

// What comes as files is kept under plain names, in a folder of its own, for as long
// as the command runs, and so that names from outside lead nowhere.
func TestUploadedNames(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	var given []string
	o, path := withVisits(t, 0, func(c *Config) {
		c.Lent.Run = func(_ context.Context, args []string, out, _ io.Writer) int {
			given = args
			fmt.Fprintf(out, "Added to %s: %s\n", args[len(args)-3], args[len(args)-1])
			return 0
		}
	})
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for _, name := range []string{`..\..\walk.gpx`, "../../walk.gpx"} {
		part, err := m.CreateFormFile("file", name)
		require.NoError(t, err)
		_, _ = part.Write([]byte("x"))
	}
	require.NoError(t, m.WriteField("walker", "--anywhere"))
	require.NoError(t, m.WriteField("config", "x"))
	require.NoError(t, m.Close())
	status, text := o.ask(http.MethodPost, "/api/logs", body.String(), func(r *http.Request) { r.Header.Set("Content-Type", m.FormDataContentType()) })
	require.Equal(t, http.StatusOK, status, text)
	require.Equal(t, []string{"add", "--walker=--anywhere", "--", path}, given[:4])
	require.Equal(t, []string{"walk.gpx", "walk (2).gpx"}, []string{filepath.Base(given[4]), filepath.Base(given[5])})
	require.Equal(t, filepath.Dir(given[4]), filepath.Dir(given[5]))
	require.True(t, strings.HasPrefix(given[4], os.TempDir()))
	require.Equal(t, `{"text":"Added to square.gpkg: walk (2).gpx\n","problem":""}`, text, "no folders in what is said")
	requireNoTemp(t)
}

// A question that does not arrive is given up, and those let in do not wait for it.
func TestSlowQuestion(t *testing.T) {
	o := serve(t, func(c *Config) { c.Limits.Body, c.Limits.Working = 300*time.Millisecond, 1 })
	for _, who := range []string{"let in", "a stranger"} {
		cookie := ""
		if who == "let in" {
			cookie = "Cookie: " + o.cookieHeader() + "\r\n"
		}
		c, err := net.Dial("tcp", strings.TrimPrefix(o.base, "http://"))
		require.NoError(t, err)
		defer c.Close()
		start := time.Now()
		_, err = fmt.Fprintf(c, "POST /api/books/open HTTP/1.1\r\nHost: %s\r\nOrigin: %s\r\n%sContent-Length: 1000\r\n\r\n{",
			strings.TrimPrefix(o.base, "http://"), o.base, cookie)
		require.NoError(t, err)
		require.NoError(t, c.SetReadDeadline(time.Now().Add(5*time.Second)))
		answer, err := io.ReadAll(c) // to the end of the connection
		require.NoError(t, err, "%s: the program did not hang up", who)
		require.Less(t, time.Since(start), 3*time.Second)
		if who == "let in" {
			require.Contains(t, string(answer), "took too long to arrive")
		}
		status, _ := o.get("/api/state")
		require.Equal(t, http.StatusOK, status)
	}
}

// The time limit of a question's body ends with its arrival: the answer may take
// longer.
func TestSlowAnswer(t *testing.T) {
	o, _ := withVisits(t, 0, func(c *Config) {
		c.Limits.Body = 100 * time.Millisecond
		c.Lent.Run = func(ctx context.Context, _ []string, _, _ io.Writer) int {
			select {
			case <-time.After(400 * time.Millisecond):
				return 0
			case <-ctx.Done():
				return 130
			}
		}
	})
	status, text := o.ask(http.MethodPut, "/api/settings", `{"coil":"28cm"}`)
	require.Equal(t, http.StatusOK, status, text)
}

func TestManyAtOnce(t *testing.T) {
	o, _ := withVisits(t, 1, nil)
	o.client.Transport = &http.Transport{MaxIdleConnsPerHost: 200}
	var all sync.WaitGroup
	bad := make(chan string, 400)
	for i := range 200 {
		all.Go(func() {
			res, err := o.client.Get(o.base + "/api/events")
			if err != nil {
				bad <- err.Error()
				return
			}
			defer res.Body.Close()
			head := make([]byte, 12)
			if _, err := io.ReadFull(res.Body, head); err != nil || string(head) != "event: state" {
				bad <- fmt.Sprintf("events: %v %q", err, head)
			}
			path := []string{"/api/state", "/api/state", "/api/state", "/api/visits"}[i%4]
			if status, text := o.get(path); status != http.StatusOK {
				bad <- fmt.Sprint(path, ": ", status, text)
			}
		})
	}
	all.Wait()
	close(bad)
	for b := range bad {
		t.Error(b)
	}
}

func TestLargeDocument(t *testing.T) {
	o, _ := withVisits(t, 0, nil)
	status, text := o.ask(http.MethodPut, "/api/settings", `{"coil":"`+strings.Repeat("x", docBytes)+`"}`)
	require.Equal(t, http.StatusRequestEntityTooLarge, status, text)
	for _, doc := range []string{"", "{", `{"a":"b"} {"c":"d"}`, "[]", `{"a":1}`, "\x00"} {
		status, text = o.ask(http.MethodPut, "/api/settings", doc)
		require.Equal(t, http.StatusBadRequest, status, "%q", doc)
		require.Contains(t, text, "not understood")
	}
}

// A bug in a command or a handler is answered as one, and the page goes on.
func TestPanicIsAnswered(t *testing.T) {
	o, _ := withVisits(t, 0, nil) // noCommand panics
	status, text := o.ask(http.MethodPut, "/api/settings", `{"coil":"28cm"}`)
	require.Equal(t, http.StatusInternalServerError, status)
	require.Contains(t, text, "bug: no command is lent")
	require.Contains(t, o.errors.text(), "please report it")
	status, _ = o.ask(http.MethodPost, "/api/again", "")
	require.Equal(t, http.StatusOK, status, "the book was let go of")
}

// A command that found a bug itself tells the person no more than that.
func TestBugOfACommand(t *testing.T) {
	o, _ := withVisits(t, 0, func(c *Config) {
		c.Lent.Run = func(_ context.Context, _ []string, _, errs io.Writer) int {
			fmt.Fprint(errs, "untrod: bug: nil map, please report it with the lines below\ngoroutine 1 [running]:\n")
			return 1
		}
	})
	status, text := o.ask(http.MethodPut, "/api/settings", `{"coil":"28cm"}`)
	require.Equal(t, http.StatusInternalServerError, status)
	require.Contains(t, text, `"bug: nil map"`)
	require.NotContains(t, text, "goroutine")
	require.Contains(t, o.errors.text(), "goroutine 1 [running]")
}
