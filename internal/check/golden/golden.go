// Package golden helps tests: files compared as bytes or, for pictures,
// after decoding. Run a package's tests with -update to write its golden files
// anew, and look at the difference before keeping it.
package golden

import (
	"bytes"
	"flag"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "write golden files anew")

// Bytes fails t unless got equals the bytes of the file at path. On failure
// the bytes got are left in a temporary file whose path is logged.
func Bytes(t *testing.T, path string, got []byte) {
	t.Helper()
	if rewrite(t, path, got) {
		return
	}
	want := read(t, path)
	if bytes.Equal(got, want) {
		return
	}
	line, g, w := firstDifference(got, want)
	t.Errorf("%s: line %d differs\n got  %q\n want %q\n all of it: %s",
		path, line, g, w, keep(t, filepath.Base(path), got))
}

// Tolerance is how far a picture may stray from its golden file.
type Tolerance struct {
	Channel int // a pixel differs when a channel, 0 to 255, is further off than this
	Pixels  int // so many pixels may differ
}

// PNG fails t unless got, an encoded PNG, shows the picture at path: the
// same size, and no more pixels off than tol allows. On failure the picture and
// a map of the differing pixels are left in temporary files.
func PNG(t *testing.T, path string, got []byte, tol Tolerance) {
	t.Helper()
	if rewrite(t, path, got) {
		return
	}
	g, w := decode(t, "picture made", got), decode(t, path, read(t, path))
	if g.Bounds() != w.Bounds() {
		t.Errorf("%s: size %v, want %v", path, g.Bounds().Size(), w.Bounds().Size())
		return
	}
	n, worst, diff := compare(g, w, tol.Channel)
	if n <= tol.Pixels {
		return
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, diff); err != nil {
		t.Fatal(err)
	}
	base := filepath.Base(path)
	t.Errorf("%s: %d pixels differ by more than %d (at most %d may), worst by %d\n got:  %s\n diff: %s",
		path, n, tol.Channel, tol.Pixels, worst, keep(t, base, got), keep(t, "diff-"+base, buf.Bytes()))
}

// compare counts the pixels in which a channel is further off than limit, and
// shows them in black.
func compare(a, b image.Image, limit int) (n, worst int, diff *image.Gray) {
	box := a.Bounds()
	diff = image.NewGray(box)
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			d := channelDistance(a.At(x, y), b.At(x, y))
			worst = max(worst, d)
			diff.SetGray(x, y, color.Gray{Y: 255})
			if d > limit {
				n++
				diff.SetGray(x, y, color.Gray{})
			}
		}
	}
	return n, worst, diff
}

func channelDistance(a, b color.Color) int {
	p, q := color.NRGBAModel.Convert(a).(color.NRGBA), color.NRGBAModel.Convert(b).(color.NRGBA)
	d := 0
	for _, pair := range [][2]uint8{{p.R, q.R}, {p.G, q.G}, {p.B, q.B}, {p.A, q.A}} {
		d = max(d, int(pair[0])-int(pair[1]), int(pair[1])-int(pair[0]))
	}
	return d
}

func firstDifference(got, want []byte) (line int, g, w []byte) {
	gs, ws := bytes.Split(got, []byte("\n")), bytes.Split(want, []byte("\n"))
	for i := range max(len(gs), len(ws)) {
		g, w = nil, nil
		if i < len(gs) {
			g = gs[i]
		}
		if i < len(ws) {
			w = ws[i]
		}
		if !bytes.Equal(g, w) {
			return i + 1, head(g), head(w)
		}
	}
	return 0, nil, nil
}

func head(b []byte) []byte { return b[:min(len(b), 200)] }

func rewrite(t *testing.T, path string, got []byte) bool {
	t.Helper()
	if !*update {
		return false
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, got, 0o644); err != nil {
		t.Fatal(err)
	}
	return true
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run with -update to make it)", err)
	}
	return b
}

func decode(t *testing.T, name string, b []byte) image.Image {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return img
}

// keep writes what a failed comparison got to a folder that outlives the test,
// unlike t.TempDir, so that it can be looked at.
func keep(t *testing.T, name string, b []byte) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "golden-")
	if err != nil {
		t.Fatal(err)
	}
	p := filepath.Join(dir, name)
	if err := os.WriteFile(p, b, 0o644); err != nil {
		t.Fatal(err)
	}
	return p
}
