package web

import (
	"bufio"
	"fmt"
	"net"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDoor(t *testing.T) {
	o := serve(t, nil)
	head := func(name, value string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set(name, value) }
	}
	host := func(name string) func(*http.Request) { return func(r *http.Request) { r.Host = name } }
	port := o.base[strings.LastIndexByte(o.base, ':'):]
	for _, c := range []struct {
		name, method string
		change       func(*http.Request)
		want         int
	}{
		{"the page itself", "GET", head("Sec-Fetch-Site", "same-origin"), 200},
		{"typed in", "GET", head("Sec-Fetch-Site", "none"), 200},
		{"a picture of another site's page", "GET", head("Sec-Fetch-Site", "cross-site"), 403},
		{"a page of another port of this computer", "GET", head("Sec-Fetch-Site", "same-site"), 403},
		{"another origin reads", "GET", head("Origin", "http://example.org"), 403},
		{"no origin known", "GET", head("Origin", "null"), 403},
		{"another name of this computer", "GET", host("localhost" + port), 421},
		{"a name bound to this computer", "GET", host("example.org" + port), 421},
		{"another port", "GET", host("127.0.0.1:1"), 421},
		{"the page changes something", "POST", head("Sec-Fetch-Site", "same-origin"), 200},
		{"an old browser", "POST", func(*http.Request) {}, 200},
		{"another origin changes", "POST", head("Origin", "http://example.org"), 403},
		{"another port's page changes", "POST", head("Origin", "http://127.0.0.1:1"), 403},
		{"another scheme", "POST", head("Origin", "https"+strings.TrimPrefix(o.base, "http")), 403},
		{"a form of another site", "POST", head("Sec-Fetch-Site", "cross-site"), 403},
		{"nobody says from where", "POST", func(r *http.Request) { r.Header.Del("Origin") }, 403},
		{"typed in, but no reading", "POST", head("Sec-Fetch-Site", "none"), 403},
		{"a wrong cookie beside", "GET", head("Cookie", "untrod"+strings.Replace(port, ":", "-", 1)+"=x"), 200}, // the right one is added
	} {
		t.Run(c.name, func(t *testing.T) {
			path := map[string]string{"GET": "/api/state", "POST": "/api/stop"}[c.method]
			status, text := o.ask(c.method, path, "", c.change)
			require.Equal(t, c.want, status, text)
			require.Equal(t, c.want == 200, strings.Contains(text, `"version"`))
		})
	}
}

// The address lets one browser in, once; a new one puts it out of use.
func TestAddressIsForOnce(t *testing.T) {
	o := serve(t, nil)
	enter := func(client *http.Client, address string) (int, string) {
		other := *o
		other.client = client
		return other.get(strings.TrimPrefix(address, o.base))
	}
	second := o.again()
	third := o.again()
	status, text := enter(newBrowser(t), second)
	require.Equal(t, http.StatusForbidden, status, "put out of use by the third")
	require.Contains(t, text, "open it again from the program")
	require.NotContains(t, text, `"version"`)

	browser := newBrowser(t)
	status, _ = enter(browser, third)
	require.Equal(t, http.StatusOK, status)
	status, _ = enter(browser, third)
	require.Equal(t, http.StatusOK, status, "the same browser comes back")
	status, _ = enter(newBrowser(t), third)
	require.Equal(t, http.StatusForbidden, status, "used already")
	for _, key := range []string{"", "?key=", "?key=x", "?key=" + o.base} {
		status, _ = enter(newBrowser(t), o.base+"/enter"+key)
		require.Equal(t, http.StatusForbidden, status, key)
	}
	status, _ = o.get("/api/state")
	require.Equal(t, http.StatusOK, status, "the first browser stays in")
}

// The cookie is for this page alone and no script can read it.
func TestCookie(t *testing.T) {
	o := serve(t, nil)
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Get(o.again())
	require.NoError(t, err)
	res.Body.Close()
	require.Len(t, res.Cookies(), 1)
	c := res.Cookies()[0]
	require.True(t, c.HttpOnly)
	require.Equal(t, http.SameSiteStrictMode, c.SameSite)
	require.Equal(t, "/", res.Header.Get("Location"))
	require.GreaterOrEqual(t, len(c.Value), 26, "128 bits")
}

var documented = regexp.MustCompile("(GET|POST|PUT|DELETE) (/[^`? ,]+)")

// questions are all that docs/interface.md lists.
func questions(t *testing.T) (all [][2]string) {
	text, err := os.ReadFile("../docs/interface.md")
	require.NoError(t, err)
	for _, m := range documented.FindAllStringSubmatch(string(text), -1) {
		all = append(all, [2]string{m[1], strings.NewReplacer("{layer}", "states", "{name}", "map", "{sha256}", "0", "{", "", "}", "",
			"rev", "1", "/id", "/1", "/z/x/y", "/1/1/1").Replace(m[2])})
	}
	require.Greater(t, len(all), 40)
	return all
}

// Nothing is answered to whoever was not let in, and nothing is changed for a page
// from elsewhere.
func TestEveryQuestionIsGuarded(t *testing.T) {
	o := serve(t, nil)
	stranger := *o
	stranger.client = newBrowser(t)
	elsewhere := func(r *http.Request) { r.Header.Set("Origin", "http://example.org") }
	unsaid := func(r *http.Request) { r.Header.Del("Origin") }
	for _, q := range questions(t) {
		status, text := stranger.ask(q[0], q[1], "{}")
		require.Equal(t, http.StatusForbidden, status, "%s", q)
		require.Contains(t, text, "no longer open")
		status, _ = o.ask(q[0], q[1], "{}", elsewhere)
		require.Equal(t, http.StatusForbidden, status, "%s from elsewhere", q)
		if q[0] != http.MethodGet {
			status, _ = o.ask(q[0], q[1], "{}", unsaid)
			require.Equal(t, http.StatusForbidden, status, "%s from nowhere", q)
		}
	}
	for _, path := range []string{"/page.js", "/page.css", "/nothing", "/api/events"} {
		status, _ := stranger.get(path)
		require.Equal(t, http.StatusForbidden, status, path)
	}
}

// Every answer forbids the browser what the page does not need.
func TestSealed(t *testing.T) {
	o := serve(t, nil)
	for _, path := range []string{"/", "/api/state", "/nothing"} {
		res, err := o.client.Get(o.base + path)
		require.NoError(t, err)
		res.Body.Close()
		csp := res.Header.Get("Content-Security-Policy")
		require.True(t, strings.HasPrefix(csp, "default-src 'none';"), csp)
		require.NotContains(t, csp, "unsafe")
		require.NotContains(t, csp, "http")
		require.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
		require.Equal(t, "no-referrer", res.Header.Get("Referrer-Policy"))
		require.Equal(t, "same-origin", res.Header.Get("Cross-Origin-Resource-Policy"))
		require.NotEmpty(t, res.Header.Get("Content-Type"))
	}
}

// No way of writing a path leads out of the page's own files.
func TestPathsLeadNowhere(t *testing.T) {
	o := serve(t, nil)
	cookie := o.cookieHeader()
	for _, path := range []string{
		"/../../../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%2f..%2f..%2fetc%2fpasswd", "/page.js/../../web.go",
		"//etc/passwd", "/page/../web.go", "/web.go", "/%00", `/..\..\web.go`, "/photos/..%2f..%2fx.jpg", "/api/book.gpkg/..%2f..",
		"/tiles/1/..%2f..%2fx/0/0/0.png",
	} {
		status, body := raw(t, o, "GET "+path+" HTTP/1.1\r\nHost: "+strings.TrimPrefix(o.base, "http://")+"\r\nCookie: "+cookie+"\r\nConnection: close\r\n\r\n")
		require.NotEqual(t, 200, status, path)
		require.NotContains(t, body, "root:")
		require.NotContains(t, body, "package web")
	}
}

func (o *opened) cookieHeader() string {
	r, err := http.NewRequest(http.MethodGet, o.base, nil)
	require.NoError(o.t, err)
	c := o.client.Jar.Cookies(r.URL)
	require.Len(o.t, c, 1)
	return c[0].Name + "=" + c[0].Value
}

// raw sends bytes as they are, which a client would put right.
func raw(t *testing.T, o *opened, question string) (status int, body string) {
	c, err := net.Dial("tcp", strings.TrimPrefix(o.base, "http://"))
	require.NoError(t, err)
	defer c.Close()
	_, err = fmt.Fprint(c, question)
	require.NoError(t, err)
	res, err := http.ReadResponse(bufio.NewReader(c), nil)
	require.NoError(t, err)
	defer res.Body.Close()
	var b strings.Builder
	_, _ = bufio.NewReader(res.Body).WriteTo(&b)
	return res.StatusCode, b.String()
}
