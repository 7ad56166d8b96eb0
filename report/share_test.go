package report

import (
	"bytes"
	"encoding/json"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

// TestShareGallery writes share copies of many kinds of ground to the folder named by
// UNTROD_GALLERY, to be looked at.
func TestShareGallery(t *testing.T) {
	dir := os.Getenv("UNTROD_GALLERY")
	if dir == "" {
		t.Skip("UNTROD_GALLERY is not set")
	}
	for name, g := range gallery() {
		t.Run(name, func(t *testing.T) {
			r, p := g.make(t)
			set := ShareSettings{TurnDeg: 33, Units: Imperial, Names: true}
			s, err := newShare(newTurner(r, set.TurnDeg), p, set, pngDPI)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(dir, name+"-share.png"), s.png, 0o644))
			r, p = g.makeUnsure(t)
			set = ShareSettings{TurnDeg: 217}
			s, err = newShare(newTurner(r, set.TurnDeg), p, set, pngDPI)
			require.NoError(t, err)
			for ext, data := range shareFiles(t, s) {
				require.NoError(t, os.WriteFile(filepath.Join(dir, name+"-"+ext), data, 0o644))
			}
		})
	}
}

// shareOf draws the map small, to be quick about it.
func shareOf(r *coverage.Result, p passes, set ShareSettings) (*Share, error) {
	return newShare(newTurner(r, set.TurnDeg), p, set, 40)
}

// shareFiles are all files of a share copy.
func shareFiles(t testing.TB, s *Share) map[string][]byte {
	out := map[string][]byte{}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"share.png":  func(b *bytes.Buffer) error { return s.PNG(b) },
		"share.txt":  func(b *bytes.Buffer) error { return s.Text(b) },
		"share.json": func(b *bytes.Buffer) error { return s.JSON(b) },
		"share.html": func(b *bytes.Buffer) error { return s.HTML(b) },
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		out[name] = b.Bytes()
	}
	return out
}

// named is a field with secrets of every kind in it.
func named(t testing.TB) (*coverage.Result, fakePasses) {
	r, p := field().makeUnsure(t)
	r.Site.Name = "Kettle Bank"
	r.Site.Landmarks = nil
	for i := range r.Local.Landmarks {
		l := &r.Local.Landmarks[i]
		l.Kind = []string{"well", "Miller's boulder", "", "stone wall"}[i]
		r.Site.Landmarks = append(r.Site.Landmarks, l.Landmark)
	}
	for i := range r.Sessions {
		r.Sessions[i].Walker = "Ottoline Quarrendon"
		r.Sessions[i].SHA256 = strings.Repeat("0f1e2d3c4b5a6978", 4)
	}
	r.Sessions[1].Name, r.Sessions[1].File = "Wednesday's stroll", "phone/Kettlewalk-2.gpx"
	return r, p
}

// What an honest share copy tells passes the check, whatever is shown and however the
// ground is turned; and it is made of nothing else.
func TestHonestShareTellsNothing(t *testing.T) {
	for _, set := range []ShareSettings{{TurnDeg: 71}, {TurnDeg: 250, Dates: true, Units: Imperial}, {TurnDeg: 3, Names: true}} {
		for _, sure := range []bool{true, false} {
			r, p := named(t)
			if !sure {
				r.Certainty = nil
			}
			s, err := shareOf(r, p, set)
			require.NoError(t, err)
			secrets := SecretsOf(r, set)
			for name, data := range shareFiles(t, s) {
				require.Empty(t, secrets.Leaks(name, data))
			}
			require.Empty(t, secrets.Told("map", s.Drawn))
		}
	}
}

// Every word of a share copy is known as one: a site called by it would fail each copy.
func TestPlainWordsAreAll(t *testing.T) {
	for i, set := range []ShareSettings{{}, {Dates: true, Units: Imperial, Photos: []string{"share-photo-1.jpg"}}} {
		r, p := field().makeUnsure(t)
		r.Local.Landmarks, r.OwnOutline = nil, i == 1
		if i == 1 {
			r.Certainty = nil
		}
		s, err := shareOf(r, p, set)
		require.NoError(t, err)
		all := []string{strings.Join(s.Drawn, "\n")}
		for name, data := range shareFiles(t, s) {
			if name != "share.png" {
				all = append(all, dataForm.ReplaceAllString(string(data), " "))
			}
		}
		for _, w := range strings.Fields(folded(strings.Join(all, " "))) {
			require.False(t, strings.Trim(w, "0123456789abcdefhmnrx") != "" && telling(" "+w+" "), "%q", w)
		}
	}
}

// The map itself, as untrod cover draws it, does not pass.
func TestOrdinaryOutputsLeak(t *testing.T) {
	r, p := named(t)
	r.Tally = coverage.NewTally(r.Searchable)
	secrets := SecretsOf(r, ShareSettings{})
	var svg, text, js, gaps, gpx bytes.Buffer
	require.NoError(t, mapSVG(&svg, newSheet(r, p, Metric)))
	require.NoError(t, Text(&text, r, Metric))
	require.NoError(t, WriteJSON(&js, r))
	require.NoError(t, GapsGeoJSON(&gaps, r))
	require.NoError(t, GapsGPX(&gpx, r, Metric))
	for name, c := range map[string]struct {
		data  []byte
		kinds []LeakKind
	}{
		"map.svg":      {svg.Bytes(), []LeakKind{LeakName, LeakDate}},
		"text":         {text.Bytes(), []LeakKind{LeakName, LeakDate}},
		"summary.json": {js.Bytes(), []LeakKind{LeakName, LeakDate, LeakHash, LeakPosition}},
		"gaps.geojson": {gaps.Bytes(), []LeakKind{LeakPosition}},
		"gaps.gpx":     {gpx.Bytes(), []LeakKind{LeakName, LeakPosition}},
	} {
		t.Run(name, func(t *testing.T) {
			found := map[LeakKind]bool{}
			for _, l := range secrets.Leaks(name, c.data) {
				found[l.Kind] = true
			}
			for _, k := range c.kinds {
				require.True(t, found[k], "%s not found", k)
			}
		})
	}
}

// Landmarks go by what they are, where that is in plain words.
func TestShareNames(t *testing.T) {
	r, p := named(t)
	s, err := shareOf(r, p, ShareSettings{TurnDeg: 40})
	require.NoError(t, err)
	all := strings.Join(s.Drawn, "\n")
	require.Contains(t, all, "stone wall")
	require.NotContains(t, all, "bank\n")
	require.NotContains(t, all, "Miller")
	require.NotContains(t, all, "Kettle")
	s, err = shareOf(r, p, ShareSettings{TurnDeg: 40, Names: true})
	require.NoError(t, err)
	all = strings.Join(s.Drawn, "\n")
	require.Contains(t, all, "old well")
	require.NotContains(t, all, "nest", "keep-outs have no names, ever")
	for name, want := range map[string]string{"Well": "well", "Big  TREE": "big tree", "Ada's tree": "", "": ""} {
		require.Equal(t, want, kindOf(site.Landmark{Kind: name}))
	}
}

func TestShareSaysWhen(t *testing.T) {
	r, p := field().make(t) // 2, 11 and 20 April 2031
	for _, c := range []struct {
		dates bool
		want  string
	}{{false, "April 2031"}, {true, "2 April to 20 April 2031"}} {
		s, err := shareOf(r, p, ShareSettings{Dates: c.dates})
		require.NoError(t, err)
		require.Equal(t, c.want, s.when())
	}
	r.Sessions[2].Start += 40 * 86_400_000
	r.Sessions[2].End = r.Sessions[2].Start
	s, err := shareOf(r, p, ShareSettings{})
	require.NoError(t, err)
	require.Equal(t, "April to May 2031", s.when())
	d := s.doc()
	require.Equal(t, "2031-04", *d.Visits.First)
	require.Equal(t, "2031-05", *d.Visits.Last)
	r.Sessions = nil
	s, err = shareOf(r, p, ShareSettings{})
	require.NoError(t, err)
	require.Empty(t, s.when())
	require.Nil(t, s.doc().Visits.First)
}

// Figures are those of the result, rounded; at least is rounded down.
func TestShareFigures(t *testing.T) {
	r, p := field().makeUnsure(t)
	r.Certainty.AtLeastPercent, r.SearchableM2 = 71.96, 12_437.6
	s, err := shareOf(r, p, ShareSettings{})
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, s.JSON(&b))
	var d ShareCopyDoc
	require.NoError(t, json.Unmarshal(b.Bytes(), &d))
	require.Equal(t, ShareSchema, d.Schema)
	require.Equal(t, Number(71.9), d.Coverage.AtLeastPercent)
	require.Equal(t, Number(12_400), d.SearchableM2)
	require.Len(t, d.Gaps, len(r.Untrodden()))
	require.Equal(t, 3, d.Visits.Count)
	require.InDelta(t, 3.5, float64(d.Visits.SearchingH), 1e-9)
}

// Odd ground is shared too: none swept, no gaps, no landmarks, an outline of our own.
func TestShareOfOddGround(t *testing.T) {
	for name, change := range map[string]func(*coverage.Result){
		"no gaps":     func(r *coverage.Result) { r.Gaps = nil },
		"no visits":   func(r *coverage.Result) { r.Sessions = nil },
		"own outline": func(r *coverage.Result) { r.OwnOutline = true },
		"no ground":   func(r *coverage.Result) { r.Searchable = grid.NewMask(r.Spec); r.SearchableM2 = 0; r.Gaps = nil },
		"a tiny gap":  func(r *coverage.Result) { r.Gaps[0].Cells = r.Gaps[0].Cells[:1] },
	} {
		t.Run(name, func(t *testing.T) {
			r, p := field().makeUnsure(t)
			change(r)
			s, err := shareOf(r, p, ShareSettings{TurnDeg: 12})
			require.NoError(t, err)
			_, err = png.Decode(bytes.NewReader(s.png))
			require.NoError(t, err)
			shareFiles(t, s)
		})
	}
}
