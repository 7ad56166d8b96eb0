package web

import (
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"strings"
	"sync"
)

// door lets in the browser that was opened by its one-time address, and no other
// page or program: not by another name for this computer (DNS rebinding), not from
// another site's page, not without the cookie the address was exchanged for.
type door struct {
	host string // the one name the page has: 127.0.0.1:port
	pass string // the cookie's value; lives as long as the program

	mu   sync.Mutex
	once string // of the address that was given out last; "" once it was used
}

func newDoor(host string) *door { return &door{host: host, pass: rand.Text()} }

// address is a new address that lets one browser in; the one before no longer does.
func (d *door) address() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.once = rand.Text()
	return "http://" + d.host + "/enter?key=" + d.once
}

// cookie has the port in its name: a browser keeps cookies by host alone, and two
// books may be open side by side.
func (d *door) cookie() string { return "untrod-" + d.host[strings.LastIndexByte(d.host, ':')+1:] }

// enter exchanges the key of the address for the cookie.
func (d *door) enter(w http.ResponseWriter, r *http.Request) {
	d.mu.Lock()
	good := d.once != "" && same(r.URL.Query().Get("key"), d.once)
	if good {
		d.once = ""
	}
	d.mu.Unlock()
	switch {
	case good:
		http.SetCookie(w, &http.Cookie{Name: d.cookie(), Value: d.pass, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
		http.Redirect(w, r, "/", http.StatusSeeOther)
	case d.knows(r):
		http.Redirect(w, r, "/", http.StatusSeeOther) // back to the address in a tab that is in already
	default:
		refusePage(w)
	}
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

// knows reports whether the browser has been let in.
func (d *door) knows(r *http.Request) bool {
	for _, c := range r.CookiesNamed(d.cookie()) {
		if same(c.Value, d.pass) {
			return true
		}
	}
	return false
}

// fromHere reports whether a question was put by our own page or typed in, not by
// another site. Browsers say so by the headers; what sends none is no browser, and
// may only ask for pictures and pages.
func (d *door) fromHere(r *http.Request) bool {
	origin, site := r.Header.Get("Origin"), r.Header.Get("Sec-Fetch-Site")
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		return (origin == "" || origin == "http://"+d.host) && (site == "" || site == "same-origin" || site == "none")
	}
	return origin == "http://"+d.host && (site == "" || site == "same-origin")
}

// guard stands before everything.
func (d *door) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		seal(w.Header())
		switch {
		case r.Host != d.host:
			answerStatus(w, http.StatusMisdirectedRequest, ProblemDoc{Error: "this page has another address"})
		case r.Method == http.MethodGet && r.URL.Path == "/enter" && r.Header.Get("Origin") == "":
			d.enter(w, r)
		case !d.fromHere(r):
			answerStatus(w, http.StatusForbidden, ProblemDoc{Error: "asked from another page"})
		case d.knows(r):
			next.ServeHTTP(w, r)
		case r.Method == http.MethodGet && r.URL.Path == "/":
			refusePage(w)
		default:
			answerStatus(w, http.StatusForbidden, ProblemDoc{Error: "this page is no longer open", Hints: []string{openAgain}})
		}
	})
}

// seal forbids the browser all that the page does not need.
func seal(h http.Header) {
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "+
		"connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), usb=(), serial=()")
	h.Set("Cache-Control", "no-store")
}

const openAgain = "open it again from the program: start untrod open, or press Enter in its window"

// refusePage tells a person how to get in.
func refusePage(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(http.StatusForbidden)
	_, _ = w.Write([]byte(`<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>untrod</title>
<h1>This address has been used</h1>
<p>It lets one browser in, once, so that nobody else can look at your book. ` +
		`To get in from here, ` + openAgain + `.</p></html>
`))
}
