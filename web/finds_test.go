package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// bookPage is a page with a book that is open.
type bookPage struct {
	*opened
	path string // of the book
}

// served opens a page with a book of so many visits.
func served(t *testing.T, visits int, change ...func(*Config)) bookPage {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, visits)
	return bookPage{serve(t, func(c *Config) {
		c.Book = path
		for _, f := range change {
			f(c)
		}
	}), path}
}

const seaDatum = `"datum": {"lon": -31.2, "lat": 47.3}`

func (o bookPage) finds() (doc FindsDoc) {
	o.t.Helper()
	o.done(http.MethodGet, "/api/finds", "", &doc)
	return doc
}

// add adds a find of these members and returns its answer.
func (o bookPage) add(members string) (kept KeptFindDoc) {
	o.t.Helper()
	o.done(http.MethodPost, "/api/finds", "{"+seaDatum+", "+members+"}", &kept)
	return kept
}

// TestFindIsWhatItsDocumentSays holds that a find is told as it was sent: what is not
// known stays null.
func TestFindIsWhatItsDocumentSays(t *testing.T) {
	frame, err := grid.NewFrame(openSea)
	require.NoError(t, err)
	datum := datumDoc(frame)
	rapid.Check(t, func(rt *rapid.T) {
		want := drawFind(rt)
		f, err := SentFindDoc{&datum, want}.find()
		require.NoError(rt, err)
		require.Equal(rt, want, findDoc(f, frame))
	})
}

// TestFindsComeBack is the same through the page and the book, for finds that are
// added and for finds that are sent once more.
func TestFindsComeBack(t *testing.T) {
	o := served(t, 0)
	datum := o.finds().Datum
	var sent []FindDoc
	var bodies []string
	for seed := range 10 {
		sent = append(sent, rapid.Custom(drawFind).Example(seed))
		body, err := json.Marshal(SentFindDoc{datum, sent[seed]})
		require.NoError(t, err)
		bodies = append(bodies, string(body))
		var kept KeptFindDoc
		o.done(http.MethodPost, "/api/finds", bodies[seed], &kept)
		require.NotZero(t, kept.ID)
		sent[seed].ID = kept.ID
	}
	require.Equal(t, sent, o.finds().Finds)
	for i, find := range sent {
		var kept KeptFindDoc
		o.done(http.MethodPut, fmt.Sprintf("/api/finds/%d", find.ID), bodies[i], &kept)
		require.Equal(t, find.ID, kept.ID)
	}
	require.Equal(t, sent, o.finds().Finds)
}

func drawFind(t *rapid.T) FindDoc {
	number := func(name string, lo, hi float64) *report.Number {
		if rapid.Bool().Draw(t, "no "+name) {
			return nil
		}
		n := report.Number(rapid.Float64Range(lo, hi).Draw(t, name))
		return &n
	}
	text := rapid.StringOfN(rapid.RuneFrom([]rune("ab <>&\"'\n\u2028é—☃")), 0, 20, -1)
	d := FindDoc{
		Name: text.Draw(t, "name"), Reading: text.Draw(t, "reading"), Detector: text.Draw(t, "detector"),
		Material: text.Draw(t, "material"), Note: text.Draw(t, "note"), Photos: []string{},
		SdM: number("sd", 0.01, 1000), DepthM: number("depth", 0, 5),
		Verdict: rapid.SampledFrom([]string{"keeper", "scrap", "unknown"}).Draw(t, "verdict"),
	}
	if x := number("x", -500, 500); x != nil {
		d.At = &PointDoc{report.Number(math.Round(float64(*x)*1000) / 1000), 12.345}
	}
	if rapid.Bool().Draw(t, "timed") {
		at := time.UnixMilli(rapid.Int64Range(0, 4e12).Draw(t, "time")).UTC()
		d.Time = &at
	}
	years := [2]*int{}
	from := rapid.IntRange(-9000, 2900).Draw(t, "from")
	to := from + rapid.IntRange(0, 100).Draw(t, "span")
	if rapid.Bool().Draw(t, "has from") {
		years[0] = &from
	}
	if rapid.Bool().Draw(t, "has to") {
		years[1] = &to
	}
	if years != [2]*int{} {
		d.Years = &years
	}
	return d
}

func TestFindPutBack(t *testing.T) {
	o := served(t, 0)
	id := o.add(`"name": "coin", "at": [1.5, -3]`).ID
	pos := func() (at site.Find) {
		b, err := book.View(o.path)
		require.NoError(t, err)
		all, err := b.Finds()
		require.NoError(t, err)
		require.NoError(t, b.Close())
		return all[0]
	}
	at := pos().Pos
	doc := o.finds()
	doc.Finds[0].Note = "bent"
	body, err := json.Marshal(SentFindDoc{doc.Datum, doc.Finds[0]})
	require.NoError(t, err)
	var kept KeptFindDoc
	o.done(http.MethodPut, fmt.Sprintf("/api/finds/%d", id), string(body), &kept)
	require.Equal(t, at, pos().Pos, "not moved by a bit")
	require.Equal(t, "bent", pos().Note)
	require.Equal(t, "changed the find coin", o.state().Book.Undo)

	var state StateDoc
	o.done(http.MethodDelete, fmt.Sprintf("/api/finds/%d", id), "", &state)
	require.Equal(t, "dropped the find coin", state.Book.Undo)
	require.Empty(t, o.finds().Finds)
}

// TestFindIsPutWhereOneStood: as the command does, with words on how.
func TestFindIsPutWhereOneStood(t *testing.T) {
	o := served(t, 1)
	b, err := book.View(o.path)
	require.NoError(t, err)
	visits, err := b.Sessions()
	require.NoError(t, err)
	require.NoError(t, b.Close())
	middle := visits[0].Start.Time().Add(visits[0].End.Time().Sub(visits[0].Start.Time()) / 2)
	kept := o.add(fmt.Sprintf(`"name": "button", "time": %q`, middle.Format(time.RFC3339)))
	require.Contains(t, kept.Said, "put where")
	got := o.finds().Finds[0]
	require.NotNil(t, got.At)
	require.Less(t, math.Hypot(float64(got.At[0]), float64(got.At[1])), 100.0)
	require.Nil(t, got.SdM, "as sure as the receiver")
	require.Equal(t, visits[0].ID, *got.Visit)

	kept = o.add(`"name": "nail", "time": "1999-01-01T00:00:00Z"`)
	require.Equal(t, "no visit holds that time: kept without a place", kept.Said)
	require.Nil(t, o.finds().Finds[1].At)
}

func TestFindsRefused(t *testing.T) {
	o := served(t, 0)
	for _, c := range []struct{ name, body, says string }{
		{"no datum", `{"name": "x", "at": [1, 2]}`, "datum"},
		{"no such datum", `{"datum": {"lon": 0, "lat": 95}, "name": "x", "at": [1, 2]}`, "not a datum"},
		{"half a place", `{` + seaDatum + `, "name": "x", "at": [null, 2]}`, "two numbers"},
		{"verdict", `{"name": "x", "verdict": "lovely"}`, "not keeper, scrap or unknown"},
		{"deep", `{"name": "x", "depth_m": 6}`, "depth"},
		{"years", `{"name": "x", "years": [1800, 1700]}`, "after"},
		{"visit", `{"name": "x", "visit": 99}`, "find"},
		{"photo", `{"name": "x", "photos": ["00"]}`, "photo"},
		{"member", `{"name": "x", "weight_g": 2}`, "not understood"},
		{"time", `{"name": "x", "time": "yesterday"}`, "not understood"},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, text := o.ask(http.MethodPost, "/api/finds", c.body)
			require.GreaterOrEqual(t, status, 400, text)
			require.Less(t, status, 500, text)
			require.Contains(t, text, c.says)
		})
	}
	require.Empty(t, o.finds().Finds)
	for _, path := range []string{"/api/finds/7", "/api/finds/x", "/api/finds/-1"} {
		status, _ := o.ask(http.MethodPut, path, `{"name": "x"}`)
		require.Equal(t, http.StatusNotFound, status)
		status, _ = o.ask(http.MethodDelete, path, "")
		require.Equal(t, http.StatusNotFound, status)
	}
	require.Empty(t, o.state().Book.Undo, "nothing was changed")
}

// TestFindNamesAreInert holds that no name can be taken for anything but JSON.
func TestFindNamesAreInert(t *testing.T) {
	o := served(t, 0)
	name := `<script>alert(1)</script>`
	o.add(`"name": "` + name + `"`)
	res, err := o.client.Get(o.base + "/api/finds")
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, "application/json", res.Header.Get("Content-Type"))
	require.Equal(t, "nosniff", res.Header.Get("X-Content-Type-Options"))
	_, text := o.get("/api/finds")
	require.NotContains(t, text, "<")
	require.Equal(t, name, o.finds().Finds[0].Name)
}
