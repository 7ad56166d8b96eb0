package web

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"untrod/grid"
	"untrod/report"
	"untrod/site/backdrop"
	"untrod/site/book"
)

// backdropPixels is how wide and high the picture to tie is at most.
const backdropPixels = 2000

// BackdropDoc is the answer to GET /api/backdrop.
type BackdropDoc struct {
	Name    string            `json:"name"`
	Kind    string            `json:"kind"`
	Rev     int64             `json:"rev"`
	Placed  bool              `json:"placed"`
	Width   int               `json:"width"`
	Height  int               `json:"height"`
	Datum   *report.LonLatDoc `json:"datum"`
	Corners []PointDoc        `json:"corners"` // clockwise from the picture's upper left
	Ties    []TieDoc          `json:"ties"`
	Says    string            `json:"says"` // how it was placed, or why not, where that needs saying
}

// TieDoc is a tied point. Pixels are those of the whole picture, from the upper left
// corner of the upper left one.
type TieDoc struct {
	Pixel [2]float64    `json:"pixel"`
	At    PointDoc      `json:"at"`
	OffM  report.Number `json:"off_m"` // how far from it the pixel comes to lie
}

func (s *server) backdropRoutes(m *http.ServeMux) {
	m.Handle("GET /api/backdrop", asking(func(w http.ResponseWriter, _ *http.Request) error { return s.backdropNow(w) }))
	m.Handle("POST /api/backdrop", asking(s.setBackdrop))
	m.Handle("DELETE /api/backdrop", asking(s.dropBackdrop))
	m.Handle("GET /api/backdrop/picture.png", asking(s.backdropPicture))
	m.Handle("PUT /api/backdrop/ties", asking(s.tieBackdrop))
}

func (h *hung) doc() *BackdropDoc {
	d := &BackdropDoc{
		Name: h.given.Name, Kind: h.given.Kind, Rev: h.rev, Placed: h.place != nil,
		Width: h.picture.Width, Height: h.picture.Height, Corners: []PointDoc{}, Ties: []TieDoc{}, Says: h.says,
	}
	if !h.framed {
		return d
	}
	datum := datumDoc(h.frame)
	d.Datum = &datum
	if h.place != nil {
		for _, c := range h.place.Corners() {
			d.Corners = append(d.Corners, pointDoc(h.frame.ToXY(c)))
		}
	}
	for i, t := range h.given.Ties {
		tie := TieDoc{Pixel: [2]float64{t.Col, t.Row}, At: pointDoc(h.frame.ToXY(t.At))}
		if i < len(h.offM) {
			tie.OffM = millimetres(h.offM[i])
		}
		d.Ties = append(d.Ties, tie)
	}
	return d
}

func (s *server) backdropNow(w http.ResponseWriter) error {
	h, err := s.hang()
	if err != nil {
		return err
	}
	if h == nil {
		return answer(w, nil)
	}
	return answer(w, h.doc())
}

// setBackdrop takes a picture and its world file.
func (s *server) setBackdrop(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.desk.bookPath(); err != nil {
		return err
	}
	u, err := s.receive(w, r)
	defer u.discard()
	if err != nil {
		return err
	}
	path, world, err := u.picture()
	if err != nil {
		return err
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	d := book.Backdrop{Name: filepath.Base(path), Kind: "picture", World: world}
	p, err := backdrop.Read(data, []byte(world))
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, d.Name+": "+err.Error())
	}
	if p.Terrain() {
		d.Kind = "terrain"
	}
	p = nil // it is read again from the book; not two at a time
	if err := s.desk.edit("", func(b *book.Book) error { return b.SetBackdrop(d, data) }); err != nil {
		return err
	}
	return s.backdropNow(w)
}

// Endings of world files, and of other files that go with pictures and are not used.
var (
	worldEndings = []string{".wld", ".pgw", ".jgw", ".tfw", ".pngw", ".jpgw", ".jpegw", ".tifw", ".tiffw"}
	besides      = []string{".prj", ".xml", ".ovr", ".txt"}
)

// picture is the path of the one picture that came, and what its world file says.
func (u *uploaded) picture() (path, world string, err error) {
	for _, f := range u.files {
		switch ending := strings.ToLower(filepath.Ext(f)); {
		case slices.Contains(worldEndings, ending):
			text, err := os.ReadFile(f)
			if err != nil {
				return "", "", err
			}
			if _, err := backdrop.ReadWorld(text); err != nil {
				return "", "", refuse(http.StatusUnprocessableEntity, filepath.Base(f)+": "+err.Error())
			}
			world = strings.ToValidUTF8(string(text[:min(len(text), 4096)]), "")
		case slices.Contains(besides, ending):
		case path != "":
			return "", "", refuse(http.StatusUnprocessableEntity, "a book has one backdrop: give one picture, with its world file if it has one")
		default:
			path = f
		}
	}
	if path == "" {
		return "", "", refuse(http.StatusUnprocessableEntity, "no picture came with it", "give the picture together with its world file")
	}
	if info, err := os.Stat(path); err != nil || info.Size() > backdrop.MaxBytes {
		return "", "", cmp.Or(err, refuse(http.StatusRequestEntityTooLarge, filepath.Base(path)+": at most 100 MB can be used", "make it smaller in a picture program"))
	}
	return path, world, nil
}

// tieBackdrop places the picture by tied points; without any it lies again where its
// file says.
func (s *server) tieBackdrop(w http.ResponseWriter, r *http.Request) error {
	var doc struct {
		Datum report.LonLatDoc
		Ties  []TieDoc
	}
	if err := readDoc(w, r, &doc); err != nil {
		return err
	}
	f, err := grid.NewFrame(grid.LonLat{Lon: float64(doc.Datum.Lon), Lat: float64(doc.Datum.Lat)})
	if err != nil {
		return refuse(http.StatusBadRequest, "the datum: "+err.Error())
	}
	ties := make([]book.Tie, len(doc.Ties))
	for i, t := range doc.Ties {
		at, err := newDrawing(f, nil).points(fmt.Sprintf("tied point %d", i+1), []PointDoc{t.At})
		if err != nil {
			return err
		}
		ties[i] = book.Tie{Col: t.Pixel[0], Row: t.Pixel[1], At: at[0]}
	}
	h, err := s.hang()
	if err != nil {
		return err
	}
	if h == nil {
		return errNoBackdrop
	}
	if _, _, err := backdrop.FromTies(h.picture.Width, h.picture.Height, tiesOf(ties)); err != nil && len(ties) > 0 {
		return refuse(http.StatusUnprocessableEntity, err.Error())
	}
	if err := s.desk.edit("", func(b *book.Book) error { return b.TieBackdrop(ties) }); err != nil {
		return err
	}
	return s.backdropNow(w)
}

var errNoBackdrop = refuse(http.StatusNotFound, "the book has no backdrop", "add a picture first")

func (s *server) dropBackdrop(w http.ResponseWriter, _ *http.Request) error {
	err := s.desk.edit("", func(b *book.Book) error { return b.DropBackdrop() })
	if err != nil && !errors.Is(err, book.ErrNoBackdrop) {
		return err
	}
	return s.backdropNow(w)
}

func (s *server) backdropPicture(w http.ResponseWriter, _ *http.Request) error {
	h, err := s.hang()
	if err != nil {
		return err
	}
	if h == nil {
		return errNoBackdrop
	}
	pic, err := make1(&h.once, "picture", func() ([]byte, error) { return fastPNG(h.drawing.Whole(backdropPixels)) })
	if err != nil {
		return err
	}
	return answerPicture(w, pic)
}

func fastPNG(m image.Image) ([]byte, error) {
	var out bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: &pngBuffers}).Encode(&out, m)
	return out.Bytes(), err
}

// backdropTile answers GET /tiles/{rev}/backdrop/{z}/{x}/{y}.png, where rev is that of
// the backdrop.
func (s *server) backdropTile(w http.ResponseWriter, r *http.Request, z, x, y int) error {
	is := func(h *hung) bool {
		return h != nil && h.place != nil && strconv.FormatInt(h.rev, 10) == r.PathValue("rev")
	}
	h := s.wall.now.Load()
	if !is(h) {
		var err error
		if h, err = s.hang(); err != nil {
			return err
		}
	}
	if !is(h) {
		return refuse(http.StatusNotFound, "this picture is of another backdrop", "load the page anew")
	}
	if keeps(w, r) {
		return nil
	}
	l := tileAt{z, x, y}.lens()
	m := h.drawing.Tile(*h.place, backdrop.Tile{Frame: h.frame, West: l.NorthWest.X, North: l.NorthWest.Y, PixelM: l.PixelM})
	if m == nil {
		return answerPicture(w, nil)
	}
	pic, err := fastPNG(m)
	if err != nil {
		return err
	}
	return answerPicture(w, pic)
}
