package main

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/report"
)

// Without a seed each copy is turned by another angle, whatever the seed of the draws;
// angles go all the way round.
func TestShareTurnsByChance(t *testing.T) {
	f := &shareFlags{}
	seen, low, high := map[float64]bool{}, 360.0, 0.0
	for range 200 {
		deg, err := f.turn()
		require.NoError(t, err)
		require.True(t, deg >= 0 && deg < 360)
		seen[deg], low, high = true, min(low, deg), max(high, deg)
	}
	require.Len(t, seen, 200)
	require.Less(t, low, 30.0)
	require.Greater(t, high, 330.0)
	f.turnSeed = 7
	a, err := f.turn()
	require.NoError(t, err)
	b, err := f.turn()
	require.NoError(t, err)
	require.Equal(t, a, b)
}

// A copy that would leak is not written, and the folder made for it is gone: a name that
// the settings let through by mistake is found in the files as written.
func TestLeakIsNotWritten(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "public")
	f, err := openOutFolder("--out", dir)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))))
	j := &shareJob{job: job{ground: &ground{}, out: f}, photos: []sharePhoto{{"share-photo-1.png", append(b.Bytes(), "secret glade"...)}}}
	r, s := shareOfExample(t)
	j.hidden.names = []string{"Secret Glade"}
	err = j.save(t.Context(), r, s)
	require.ErrorContains(t, err, "the copy would tell what it should not, and was not written")
	var hints *hintedError
	require.ErrorAs(t, err, &hints)
	require.Contains(t, hints.hints, `share-photo-1.png, after its end: name "secret glade"`)
	f.discard()
	require.NoDirExists(t, dir)
	j.photos = nil
	f, err = openOutFolder("--out", dir)
	require.NoError(t, err)
	j.out = f
	require.NoError(t, j.save(t.Context(), r, s))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 4)
}

// Photos of finds go along as new pictures; what cannot be decoded stays out, and is
// named.
func TestSharePhotos(t *testing.T) {
	dir := t.TempDir()
	book, out := filepath.Join(dir, "ford.gpkg"), filepath.Join(dir, "public")
	var pic bytes.Buffer
	require.NoError(t, jpeg.Encode(&pic, image.NewGray(image.Rect(0, 0, 8, 8)), nil))
	note := "\xff\xfe\x00\x17by the capped well, S." // a comment of 21 letters
	photo := "\xff\xd8" + note + pic.String()[2:]
	require.NoError(t, os.WriteFile(filepath.Join(dir, "glade.jpg"), []byte(photo), 0o600))
	heif := "\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "coin.heic"), []byte(heif), 0o600))
	for _, args := range [][]string{
		{"new", book, "--site", filepath.Join(exampleDir, siteFile), "swath", "1.28m", "canopy", "none"},
		{"add", book, filepath.Join(exampleDir, "walks")},
		{"find", book, "import", filepath.Join(dir, "glade.jpg"), filepath.Join(dir, "coin.heic")},
	} {
		code, _, errs := tryRun(t.Context(), args...)
		require.Zero(t, code, errs)
	}
	code, _, errs := tryRun(t.Context(), "share", book, "--photos", "--out", out)
	require.Zero(t, code, errs)
	require.Contains(t, errs, `left out the photo "coin.heic": neither JPEG nor PNG`)
	require.NoFileExists(t, filepath.Join(out, "share-photo-2.jpg"))
	bare, err := os.ReadFile(filepath.Join(out, "share-photo-1.jpg"))
	require.NoError(t, err)
	require.NotContains(t, string(bare), "capped")
	_, err = jpeg.Decode(bytes.NewReader(bare))
	require.NoError(t, err)
	page, err := os.ReadFile(filepath.Join(out, "share.html"))
	require.NoError(t, err)
	require.Contains(t, string(page), `<img src="share-photo-1.jpg" alt="Photo 1 of a find">`)
}

func shareOfExample(t *testing.T) (*coverage.Result, *report.Share) {
	o := newCoverOptions(usualCanopy)
	o.site = filepath.Join(exampleDir, siteFile)
	require.NoError(t, o.swath.Set("1.28m"))
	o.position.canopy = "none"
	r, err := cover(t.Context(), o, []string{filepath.Join(exampleDir, "walks")}, streams{io.Discard, io.Discard})
	require.NoError(t, err)
	s, err := report.NewShare(r, report.ShareSettings{TurnDeg: 50})
	require.NoError(t, err)
	return r, s
}
