package book_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// loose is a file as coverage reads it without a book.
func loose(name string, data []byte) coverage.Source {
	return coverage.Source{Name: name, Walker: "A", Open: fileOf(name, data).Open}
}

// requireSameVisits holds that what a book gives for each file is what reading the
// file gives, bit for bit.
func requireSameVisits(t require.TestingT, want, got []coverage.Visit) {
	require.Equal(t, len(want), len(got))
	for i := range want {
		require.Equal(t, want[i].Notes.List(), got[i].Notes.List())
		require.Equal(t, exact(want[i]), exact(got[i]))
	}
}

// exact is everything in a visit but its notes, with floats as bits.
func exact(v coverage.Visit) string {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%q %s\n", v.Name, v.SHA256)
	fix := func(f track.Fix) {
		fmt.Fprintf(&b, "%x %x %d %x %x %x %x %d %d\n", math.Float64bits(f.Pos.Lon), math.Float64bits(f.Pos.Lat), f.T,
			math.Float32bits(f.EleM), math.Float32bits(f.HDOP), math.Float32bits(f.PDOP), math.Float32bits(f.AccM), f.Sats, f.Kind)
	}
	for _, s := range v.Segments {
		b.WriteString("segment\n")
		for _, f := range s {
			fix(f)
		}
	}
	for _, w := range v.Waypoints {
		fmt.Fprintf(&b, "%q %q %q %q ", w.Name, w.Desc, w.Sym, w.Type)
		fix(w.Fix)
	}
	return b.String()
}

// TestBookIsLooseFiles holds that coverage of a book is that of the files it was
// made from: the whole result, to the last bit, over generated campaigns.
func TestBookIsLooseFiles(t *testing.T) {
	frame, err := grid.NewFrame(datum)
	require.NoError(t, err)
	receivers := []check.Receiver{check.OpenSky, check.DenseCanopy}
	for i := range study(1) {
		c := check.NewCampaign(uint64(i), "mixed", receivers[i%2])
		s := site.FromWalks([]grid.Polygon{c.Boundary}, frame, "campaign")
		s.Landmarks = []site.Landmark{{Name: "m1", Mark: true, Points: ring(3, 4)}}
		var logs []coverage.Source
		path := newBook(t, s)
		writing(t, path, func(b *book.Book) {
			for k, v := range c.Visits {
				name := fmt.Sprintf("visits/%d.gpx", k)
				fixes := check.Fixes(frame, v.Log)
				var text bytes.Buffer
				require.NoError(t, check.WriteGPX(&text, "walk", fixes, track.Waypoint{Fix: fixes[len(fixes)/2], Name: "M1"}))
				logs = append(logs, loose(name, text.Bytes()))
				take(t, b, name, text.Bytes())
			}
		})
		viewing(t, path, func(b *book.Book) {
			sources, err := b.Sources()
			require.NoError(t, err)
			stored, err := b.Site()
			require.NoError(t, err)
			set := coverage.DefaultSettings()
			set.SwathM, set.Position.Draws, set.Position.Receiver = 1.5, 20, track.Receiver{WhiteM: 0.1, DriftM: 1.3, DriftS: 90, OffsetM: 0.9}
			want, err := coverage.Assess(context.Background(), coverage.Input{Site: s, Logs: logs}, set, nil)
			require.NoError(t, err)
			got, err := coverage.Assess(context.Background(), coverage.Input{Site: stored, Logs: sources}, set, nil)
			require.NoError(t, err)
			require.Equal(t, asJSON(t, want), asJSON(t, got))
			require.Equal(t, want.Certainty, got.Certainty)
			require.Equal(t, want.Tally, got.Tally)
			require.NotZero(t, want.AsLoggedPercent)
		})
	}
}

// asJSON is a result as text, maps of cells left out.
func asJSON(t testing.TB, r *coverage.Result) string {
	plain := *r
	plain.Certainty, plain.Tally = nil, nil
	b, err := json.Marshal(plain)
	require.NoError(t, err)
	return string(b)
}

// TestOddFiles holds the same of files as no sound device writes them.
func TestOddFiles(t *testing.T) {
	path := newBook(t, plainSite())
	writing(t, path, func(b *book.Book) {
		rapid.Check(t, func(rt *rapid.T) { oddFile(rt, b) })
	})
	viewing(t, path, func(b *book.Book) { requireSound(t, b) })
}

func oddFile(rt *rapid.T, into *book.Book) {
	var b strings.Builder
	b.WriteString(`<gpx version="1.1" creator="t">`)
	number := rapid.OneOf(rapid.Map(rapid.Float64Range(-200, 200), func(v float64) string { return fmt.Sprint(v) }),
		rapid.Map(rapid.Float64Range(46, 49), func(v float64) string { return fmt.Sprintf("%.7f", v) }), rapid.SampledFrom([]string{"", "x", "-0", "91"}))
	when := rapid.OneOf(rapid.Just(""), rapid.Map(rapid.Int64Range(0, 1<<41), func(ms int64) string {
		return "<time>" + time.UnixMilli(ms).UTC().Format(time.RFC3339Nano) + "</time>"
	}))
	point := func(tag, inner string) {
		fmt.Fprintf(&b, `<%s lat="%s" lon="%s">%s%s</%s>`, tag, number.Draw(rt, "lat"), number.Draw(rt, "lon"), when.Draw(rt, "time"), inner, tag)
	}
	for range rapid.IntRange(0, 3).Draw(rt, "waypoints") {
		point("wpt", "<name>"+rapid.SampledFrom([]string{"m1", "dig 3", "", "oak"}).Draw(rt, "name")+"</name>")
	}
	for range rapid.IntRange(1, 3).Draw(rt, "segments") {
		b.WriteString("<trk><trkseg>")
		for range rapid.IntRange(0, 5).Draw(rt, "fixes") {
			point("trkpt", rapid.SampledFrom([]string{"", "<ele>12.5</ele><sat>7</sat>", "<hdop>?</hdop>"}).Draw(rt, "extra"))
		}
		b.WriteString("</trkseg></trk>")
	}
	b.WriteString("</gpx>")
	data := []byte(b.String())
	logs, err := track.Read(bytes.NewReader(data), "odd.gpx")
	require.NoError(rt, err)
	p, err := book.Prepare(context.Background(), fileOf("odd.gpx", data))
	if err != nil {
		require.Zero(rt, logs[0].Fixes()+len(logs[0].Waypoints))
		return
	}
	want := coverage.VisitsOf(logs, "odd.gpx", p.SHA256, coverage.DefaultSettings().VisitGapS)
	_, err = into.Take(context.Background(), p)
	require.NoError(rt, err)
	sources, err := into.Sources()
	require.NoError(rt, err)
	var got []coverage.Visit
	for _, s := range slices.Backward(sources) { // the last one taken, nearly always
		vs, err := s.Visits()
		require.NoError(rt, err)
		if vs[0].SHA256 == p.SHA256 {
			got = vs
			break
		}
	}
	requireSameVisits(rt, want, got)
}

const dataFolder = "../../../shared/data"

// TestCorpus brings every file of the shared test data in and holds that the book
// gives it back, fixes and bytes; it prints how many bytes the fixes take.
func TestCorpus(t *testing.T) {
	if _, err := os.Stat(dataFolder); err != nil {
		t.Skip("no shared test data beside the project: ", err)
	}
	path := newBook(t, nil)
	files := map[string][]byte{}
	fixes := 0
	writing(t, path, func(b *book.Book) {
		require.NoError(t, filepath.WalkDir(dataFolder, func(path string, d fs.DirEntry, err error) error {
			if err != nil || !d.Type().IsRegular() {
				return err
			}
			data, err := os.ReadFile(path)
			require.NoError(t, err)
			p, err := book.Prepare(context.Background(), fileOf(path, data))
			if err != nil {
				return nil // other tests see to what is refused
			}
			taken, err := b.Take(context.Background(), p)
			require.NoError(t, err)
			if !taken.Known {
				files[path] = data
			}
			for _, s := range taken.Sessions {
				fixes += s.Fixes
			}
			return nil
		}))
	})
	require.Greater(t, len(files), 60)
	viewing(t, path, func(b *book.Book) {
		requireSound(t, b)
		sources, err := b.Sources()
		require.NoError(t, err)
		for _, s := range sources {
			logs, err := track.Read(bytes.NewReader(files[s.Name]), s.Name)
			require.NoError(t, err)
			got, err := s.Visits()
			require.NoError(t, err)
			requireSameVisits(t, coverage.VisitsOf(logs, s.Name, got[0].SHA256, coverage.DefaultSettings().VisitGapS), got)
		}
		n := 0
		require.NoError(t, b.Originals(func(name, sha string, r io.Reader) error {
			data, err := io.ReadAll(r)
			require.Equal(t, files[name], data)
			n++
			return err
		}))
		require.Equal(t, len(files), n)
	})
	t.Log(len(files), "files,", fixes, "fixes")
	logBytes(t, path, fixes)
}
