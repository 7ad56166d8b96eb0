package web

import (
	"bytes"
	"container/list"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // what BarePhoto writes of a PNG
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"golang.org/x/image/draw"

	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

const (
	photoSide   = 1600     // pixels of a photo's longer side at most
	albumBytes  = 32 << 20 // of photos kept ready
	photoFactor = 85       // JPEG quality
)

// importFinds answers POST /api/finds/file: tables, waypoints and photos, as
// `untrod find BOOK import`.
func (s *server) importFinds(w http.ResponseWriter, r *http.Request) error {
	u, err := s.receive(w, r)
	defer u.discard()
	if err != nil {
		return err
	}
	var doc DoneDoc
	err = s.desk.change(func(path string) (err error) {
		doc, err = doneDoc(s.run(r.Context(), append([]string{"find", path, "import"}, u.files...)...))
		return err
	})
	if err != nil {
		return err
	}
	return answer(w, doc)
}

// addPhoto answers POST /api/finds/{id}/photo; the photo goes into the folder beside
// the book, as it is.
func (s *server) addPhoto(w http.ResponseWriter, r *http.Request) error {
	id, err := findID(r)
	if err != nil {
		return err
	}
	u, err := s.receive(w, r)
	defer u.discard()
	if err != nil {
		return err
	}
	for _, path := range u.files {
		if err := isPhoto(path); err != nil {
			return err
		}
	}
	if err := s.desk.edit("", func(b *book.Book) error {
		f, err := findOf(b, id)
		if err != nil {
			return err
		}
		if err := b.Begin("added a photo of the find " + shortName(f)); err != nil {
			return err
		}
		return keepPhotos(b, f, u.files)
	}); err != nil {
		return err
	}
	return s.state(w)
}

func isPhoto(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	head := make([]byte, 12)
	n, err := io.ReadFull(f, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return err
	}
	if site.PhotoFormat(head[:n]) == "" && !bytes.HasPrefix(head, []byte("\x89PNG\r\n\x1a\n")) {
		return refuse(http.StatusUnprocessableEntity, filepath.Base(path)+" is no photo: neither JPEG, PNG nor HEIF")
	}
	return nil
}

func keepPhotos(b *book.Book, f site.Find, paths []string) error {
	for _, path := range paths {
		in, err := os.Open(path)
		if err != nil {
			return err
		}
		p, err := b.KeepPhoto(in, filepath.Base(path), false)
		in.Close()
		if err != nil {
			return err
		}
		if !slices.Contains(f.Photos, p.SHA256) {
			f.Photos = append(f.Photos, p.SHA256)
		}
	}
	return b.SetFind(f)
}

// album shows photos, small and without what they tell beside the picture. The last
// ones shown are kept ready.
type album struct {
	s       *server
	drawing sync.Mutex // one at a time: a large photo takes a gigabyte

	mu    sync.Mutex
	ready list.List // of readyPhoto, the one shown last in front
	bytes int
}

type readyPhoto struct {
	sha  string
	jpeg []byte
}

// photo answers GET /photos/{sha256}.jpg, of a photo that the open book has.
func (a *album) photo(w http.ResponseWriter, r *http.Request) error {
	sha, is := strings.CutSuffix(r.PathValue("name"), ".jpg")
	if !is {
		return refuse(http.StatusNotFound, "there is no such photo")
	}
	var p book.Photo
	var data, pic []byte
	err := a.s.desk.look(func(b *book.Book) (err error) {
		if p, err = photoOf(b, sha); err != nil {
			return err
		}
		if pic = a.find(sha); pic == nil {
			data, err = readPhoto(b, p)
		}
		return err
	})
	if err != nil || keeps(w, r) {
		return err
	}
	if pic == nil {
		if pic, err = a.small(p, data); err != nil {
			return err
		}
	}
	w.Header().Set("Content-Type", "image/jpeg")
	w.Header().Set("Content-Length", strconv.Itoa(len(pic)))
	_, _ = w.Write(pic)
	return nil
}

func photoOf(b *book.Book, sha string) (book.Photo, error) {
	all, err := b.Photos()
	if err != nil {
		return book.Photo{}, err
	}
	i := slices.IndexFunc(all, func(p book.Photo) bool { return p.SHA256 == sha })
	if i < 0 {
		return book.Photo{}, refuse(http.StatusNotFound, "the book has no such photo")
	}
	return all[i], nil
}

func readPhoto(b *book.Book, p book.Photo) ([]byte, error) {
	in, err := b.OpenPhoto(p)
	if errors.Is(err, os.ErrNotExist) {
		return nil, refuse(http.StatusNotFound, fmt.Sprintf("the photo %q is not beside the book any more", p.Name), "put the folder with its photos back beside it")
	}
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(in)
}

// small is a photo as it is shown.
func (a *album) small(p book.Photo, data []byte) ([]byte, error) {
	a.drawing.Lock()
	defer a.drawing.Unlock()
	if pic := a.find(p.SHA256); pic != nil {
		return pic, nil
	}
	pic, err := smallPhoto(data)
	if err != nil {
		return nil, photoProblem(p, err)
	}
	a.keep(readyPhoto{p.SHA256, pic})
	return pic, nil
}

func photoProblem(p book.Photo, err error) error {
	if errors.Is(err, report.ErrNoPicture) {
		return refuse(http.StatusUnsupportedMediaType, fmt.Sprintf("the photo %q cannot be shown here: it is neither JPEG nor PNG", p.Name),
			"it is kept as it is, in the folder beside the book")
	}
	return refuse(http.StatusUnprocessableEntity, fmt.Sprintf("the photo %q cannot be shown: %v", p.Name, err))
}

// smallPhoto makes a JPEG of at most photoSide pixels either way that holds nothing but
// its pixels. What is clear in a picture becomes white.
func smallPhoto(data []byte) ([]byte, error) {
	var bare bytes.Buffer
	if _, err := report.BarePhoto(&bare, bytes.NewReader(data)); err != nil {
		return nil, err
	}
	src, _, err := image.Decode(&bare)
	if err != nil {
		return nil, err
	}
	size := src.Bounds().Size()
	if most := max(size.X, size.Y); most > photoSide {
		size = image.Pt(max(1, size.X*photoSide/most), max(1, size.Y*photoSide/most))
	}
	dst := image.NewRGBA(image.Rectangle{Max: size})
	draw.Draw(dst, dst.Rect, image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(dst, dst.Rect, src, src.Bounds(), draw.Over, nil)
	var out bytes.Buffer
	err = jpeg.Encode(&out, dst, &jpeg.Options{Quality: photoFactor})
	return out.Bytes(), err
}

// find is a photo that is ready, nil when it is not.
func (a *album) find(sha string) []byte {
	a.mu.Lock()
	defer a.mu.Unlock()
	for e := a.ready.Front(); e != nil; e = e.Next() {
		if p := e.Value.(readyPhoto); p.sha == sha {
			a.ready.MoveToFront(e)
			return p.jpeg
		}
	}
	return nil
}

// keep keeps a photo ready, and drops the ones shown longest ago that are too much.
func (a *album) keep(p readyPhoto) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.ready.PushFront(p)
	a.bytes += len(p.jpeg)
	for a.bytes > albumBytes && a.ready.Len() > 1 {
		a.bytes -= len(a.ready.Remove(a.ready.Back()).(readyPhoto).jpeg)
	}
}
