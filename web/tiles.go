package web

import (
	"bytes"
	"image/png"
	"math/rand/v2"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"untrod/grid"
	"untrod/report"
)

// Tiles are pictures of tileSide pixels on a side. Tile 0, 0 has its north-west corner
// at worldM metres west and north of the datum; a pixel of zoom z is worldPixelM / 2^z
// metres wide.
const (
	tileSide    = 256
	maxZoom     = 14
	worldM      = 32_768
	worldPixelM = 128
)

// pictureRoutes are the layers and their pictures.
func (s *server) pictureRoutes(m *http.ServeMux) {
	m.Handle("GET /api/layers", asking(s.layers))
	m.Handle("GET /tiles/{rev}/{layer}/{z}/{x}/{y}", asking(s.tile))
}

// tileAt says which tile.
type tileAt struct{ z, x, y int }

// lens is where a tile lies. All of its numbers are exact.
func (t tileAt) lens() report.Lens {
	pixel := worldPixelM / float64(int(1)<<t.z)
	return report.Lens{
		NorthWest: grid.XY{X: -worldM + float64(t.x*tileSide)*pixel, Y: worldM - float64(t.y*tileSide)*pixel},
		PixelM:    pixel, Side: tileSide,
	}
}

// tileOf reads z, x and y of a tile's address; ok is false for a tile there cannot be.
func tileOf(r *http.Request) (t tileAt, ok bool) {
	last, png := strings.CutSuffix(r.PathValue("y"), ".png")
	var errs [3]error
	t.z, errs[0] = strconv.Atoi(r.PathValue("z"))
	t.x, errs[1] = strconv.Atoi(r.PathValue("x"))
	t.y, errs[2] = strconv.Atoi(last)
	if errs != [3]error{} || !png || t.z < 0 || t.z > maxZoom {
		return t, false
	}
	most := 2*worldM/(worldPixelM*tileSide)<<t.z - 1
	return t, t.x >= 0 && t.y >= 0 && t.x <= most && t.y <= most
}

// tile answers GET /tiles/{rev}/{layer}/{z}/{x}/{y}.png. A browser may keep the picture,
// but asks whether it still holds: numbers of results begin anew when the program does.
func (s *server) tile(w http.ResponseWriter, r *http.Request) error {
	at, ok := tileOf(r)
	if !ok {
		return refuse(http.StatusNotFound, "there is no such picture")
	}
	name := r.PathValue("layer")
	if name == "backdrop" {
		return s.backdropTile(w, r, at.z, at.x, at.y)
	}
	rev, err := strconv.Atoi(r.PathValue("rev"))
	now, nothing := s.desk.current()
	switch {
	case err == nil && s.desk.past(rev): // asked for just as a newer result came, or the book was closed
		return answerPicture(w, nil)
	case nothing != nil:
		return nothing
	case err != nil || rev != now.rev:
		return refuse(http.StatusNotFound, "this picture is of another result", "load the page anew")
	}
	layer, err := now.layer(name)
	if err != nil {
		return err
	}
	if keeps(w, r) {
		return nil
	}
	pic, err := drawTile(layer, at)
	if err != nil {
		return err
	}
	return answerPicture(w, pic)
}

// thisRun tells the pictures of this run of the program from those of others.
var thisRun = strconv.FormatUint(rand.Uint64(), 36)

// keeps tells the browser how to keep the answer, and answers when it has it already.
func keeps(w http.ResponseWriter, r *http.Request) bool {
	tag := `"` + thisRun + r.URL.Path + `"`
	w.Header().Set("ETag", tag)
	w.Header().Set("Cache-Control", "private, no-cache")
	if r.Header.Get("If-None-Match") != tag {
		return false
	}
	w.WriteHeader(http.StatusNotModified)
	return true
}

func answerPicture(w http.ResponseWriter, pic []byte) error {
	if pic == nil {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	w.Header().Set("Content-Type", "image/png")
	w.Header().Set("Content-Length", strconv.Itoa(len(pic)))
	w.Write(pic)
	return nil
}

// drawTile is a tile as PNG, nil where there is nothing on it.
func drawTile(l *report.Layer, at tileAt) ([]byte, error) {
	img := l.Paint(at.lens())
	if img == nil {
		return nil, nil
	}
	var out bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: &pngBuffers}).Encode(&out, img)
	return out.Bytes(), err
}

// pngBuffers saves making a compressor, over 1 MB, for every picture.
var pngBuffers pngPool

type pngPool struct{ sync.Pool }

func (p *pngPool) Get() *png.EncoderBuffer {
	b, _ := p.Pool.Get().(*png.EncoderBuffer)
	return b
}

func (p *pngPool) Put(b *png.EncoderBuffer) { p.Pool.Put(b) }
