package main

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"untrod/site"
	"untrod/track"
)

// importedPhoto is a photo that was read.
type importedPhoto struct {
	*site.Photo
	path, sha string
	found     bool // in a folder, not named
	t         track.Instant
}

func (imp *importing) readPhoto(in *os.File, path string, found bool) error {
	p, err := site.ReadPhoto(in, baseName(path))
	if err != nil {
		return err
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return plainFileError(err)
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, in); err != nil {
		return plainFileError(err)
	}
	if p.Shown.Known() && !p.Zoned {
		_, east := p.Shown.Time().In(imp.table.Zone).Zone()
		p.Shown -= track.Instant(east) * 1000
	}
	imp.photos = append(imp.photos, &importedPhoto{p, path, hex.EncodeToString(sum.Sum(nil)), found, track.NoTime})
	return nil
}

// photoReachS is how far in time a photo may be from the find it shows: common
// practice, no source.
const photoReachS = 120

// addPhotos gives each photo to the find it shows, or makes one of it.
func (imp *importing) addPhotos(all []site.Find) error {
	kept, err := imp.book.Photos()
	if err != nil {
		return err
	}
	known := map[string]bool{}
	for _, p := range kept {
		known[p.SHA256] = true
	}
	imp.setClocks()
	slices.SortStableFunc(imp.photos, func(a, b *importedPhoto) int { return cmp.Compare(a.t, b.t) })
	finds := &showing{imp: imp, book: slices.Clone(all)}
	for _, p := range imp.photos {
		imp.notes.Merge(p.Notes)
		switch {
		case known[p.sha]:
			imp.knownPhotos = append(imp.knownPhotos, p.Name)
		case p.found && !imp.concerns(p):
			imp.far = append(imp.far, p.Name)
		default:
			known[p.sha] = true
			finds.take(p)
		}
	}
	return nil
}

// concerns reports whether a photo was taken during a visit or near the site.
func (imp *importing) concerns(p *importedPhoto) bool {
	if imp.visitAt(p.t) != 0 {
		return true
	}
	if !p.Pos.Valid() {
		return false
	}
	s, err := imp.book.Site()
	if err != nil || s == nil {
		return false
	}
	near, err := s.Near(nearM)
	return err == nil && near.Touches(p.Pos)
}

// setClocks finds when each photo was taken, camera by camera, and says how.
func (imp *importing) setClocks() {
	cameras := map[string][]*importedPhoto{}
	for _, p := range imp.photos {
		key := fmt.Sprintf("%s\x00%v", p.Camera, p.Zoned)
		cameras[key] = append(cameras[key], p)
	}
	for _, key := range slices.Sorted(maps.Keys(cameras)) {
		imp.setClock(cameras[key])
	}
}

func (imp *importing) setClock(photos []*importedPhoto) {
	plain := make([]*site.Photo, len(photos))
	for i, p := range photos {
		plain[i] = p.Photo
	}
	ahead, why, ok := imp.walks.ClockOf(plain)
	if imp.ahead != nil {
		ahead, ok = *imp.ahead, true
	}
	timed := false
	for _, p := range photos {
		switch {
		case p.Shown.Known():
			p.t, timed = p.Shown-track.Instant(ahead*1000), true
		default:
			p.t = p.Fix
		}
	}
	name := cmp.Or(oneLine(photos[0].Camera), "camera")
	switch {
	case !timed || photos[0].Zoned && ahead == 0 && imp.ahead == nil:
	case ok:
		fmt.Fprintf(imp.std.out, "%s, %s: clock taken as %s\n", name, counted(len(photos), "photo"), aheadWords(ahead))
	default:
		fmt.Fprintf(imp.std.out, "%s, %s: clock taken as right in %s, for of its photos %s; --camera-clock or --zone says better\n",
			name, counted(len(photos), "photo"), cmp.Or(imp.zone, "UTC"), why)
	}
}

func aheadWords(s float64) string {
	switch n := int(s); {
	case n == 0:
		return "right"
	case n < 0:
		return clockWords(-n) + " behind"
	default:
		return clockWords(n) + " ahead"
	}
}

func clockWords(s int) string { return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60) }

// showing finds the find a photo shows.
type showing struct {
	imp  *importing
	book []site.Find // those of the book
}

// take gives p to the find nearest to it in time, or makes a find of it.
func (s *showing) take(p *importedPhoto) {
	rows := s.imp.rows
	best, at := float64(photoReachS), -1
	for i := range rows {
		if d := apartS(p.t, rows[i].T); d < best || d == best && at < 0 {
			best, at = d, i
		}
	}
	inBook := -1
	for i := range s.book {
		if d := apartS(p.t, s.book[i].T); d < best {
			best, inBook = d, i
		}
	}
	if inBook >= 0 {
		at = len(rows)
		s.imp.rows = append(rows, importedFind{Find: s.book[inBook]})
		s.book = slices.Delete(s.book, inBook, inBook+1) // is among the rows now
	}
	if at < 0 {
		s.add(p)
		return
	}
	r := &s.imp.rows[at]
	r.files = append(r.files, p.path)
	if !r.Placed() && p.Pos.Valid() {
		r.Pos, r.SdM = p.Pos, p.SdM()
	}
}

func (s *showing) add(p *importedPhoto) {
	r := importedFind{Find: site.NoFind, files: []string{p.path}}
	r.Name = strings.TrimSuffix(p.Name, filepath.Ext(p.Name))
	r.T = p.t
	if p.Pos.Valid() {
		r.Pos, r.SdM = p.Pos, p.SdM()
	}
	how, said := s.imp.place(&r.Find)
	s.imp.count(r.Find, how, said)
	s.imp.rows = append(s.imp.rows, r)
}

// apartS is how many seconds apart two moments are; infinite where one is not known.
func apartS(a, b track.Instant) float64 {
	if !a.Known() || !b.Known() {
		return math.Inf(1)
	}
	return max(a.Sub(b), b.Sub(a))
}
