package site

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"github.com/bep/imagemeta"

	"untrod/grid"
	"untrod/track"
)

// Photo is what a picture's EXIF block says of its place and time.
type Photo struct {
	Name   string
	Camera string      // make, model and serial number; "" where not said
	Pos    grid.LonLat // NaN for none
	ErrM   float64     // horizontal positioning error in metres, as the device has it; NaN for none
	// Shown is what the camera's clock showed: a moment in UTC where Zoned, or else
	// its digits taken as UTC. NoTime for none. To a second: fractions are cut off.
	Shown track.Instant
	Zoned bool
	// Fix is when the receiver had its position, UTC; NoTime for none.
	Fix   track.Instant
	Notes track.Notes
}

// Kinds of note on photos.
const (
	NoteDamagedEXIF track.NoteKind = "damaged-exif" // read as far as it could be
	NoteNoEXIF      track.NoteKind = "no-exif"      // none in the picture, or none that can be read
	NoteHalfPlace   track.NoteKind = "half-place"   // a position without its hemispheres, or not on the globe
)

// ErrNoPhoto is the error of a file that is neither JPEG nor HEIF.
var ErrNoPhoto = errors.New("neither JPEG nor HEIF")

// maxPhotoRead is how much of a picture is read: its EXIF block and what points to
// it. The reading goes by jumps, so that a picture of any size takes little.
const maxPhotoRead = 64 << 20

const leastRead = 4096 // what a reading counts at least

var errTooFar = fmt.Errorf("over %d MB read without end", maxPhotoRead>>20)

// PhotoFormat is what a file that begins with head, of which 12 bytes are needed, is:
// "JPEG", "HEIF" or "".
func PhotoFormat(head []byte) string {
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xd8\xff")):
		return "JPEG"
	case len(head) >= 12 && string(head[4:8]) == "ftyp" && strings.Contains("heic heix hevc hevx heim heis mif1 msf1 avif", string(head[8:12])):
		return "HEIF"
	}
	return ""
}

// ReadPhoto reads the place and time of a JPEG or HEIF picture: Exif 3.0 (CIPA
// DC-008-2023), tags DateTimeOriginal, or else DateTimeDigitized or DateTime, each
// with its OffsetTime; GPSLatitude and GPSLongitude with their hemispheres,
// without which they are not believed, nor where one is just 0; GPSDateStamp with GPSTimeStamp;
// GPSHPositioningError.
//
// It fails with [ErrNoPhoto] when the file is something else, and with the error of
// r. A damaged EXIF block is a note, and so is a missing one; what can be read of
// it counts. At most 64 MB are read, whatever the picture's size.
func ReadPhoto(r io.ReadSeeker, name string) (*Photo, error) {
	head := make([]byte, 12)
	n, err := io.ReadFull(r, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	format := PhotoFormat(head[:n])
	if format == "" {
		return nil, fmt.Errorf("%s: %w", name, ErrNoPhoto)
	}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	p := &Photo{Name: name, Pos: NoFind.Pos, ErrM: math.NaN(), Shown: track.NoTime, Fix: track.NoTime}
	tags := exif{}
	source := &cappedReader{r: r, left: maxPhotoRead}
	damage := tags.read(source, format)
	switch {
	case source.err != nil:
		return nil, fmt.Errorf("%s: %w", name, source.err)
	case damage != nil:
		p.note(NoteDamagedEXIF, "its EXIF block is damaged (%s), read as far as it can be", strings.TrimPrefix(damage.Error(), "invalid format: "))
	case len(tags) == 0:
		p.note(NoteNoEXIF, "no EXIF in it, or none that can be read")
	}
	p.take(tags)
	return p, nil
}

func (p *Photo) note(k track.NoteKind, format string, args ...any) {
	p.Notes.Add(k, func() string { return p.Name + ": " + fmt.Sprintf(format, args...) })
}

// cappedReader ends reading after so many bytes, and tells a failing source from
// a damaged picture.
type cappedReader struct {
	r    io.ReadSeeker
	left int64
	err  error // of the source
}

func (c *cappedReader) Read(b []byte) (int, error) {
	if c.left <= 0 {
		return 0, errTooFar
	}
	n, err := c.r.Read(b)
	c.left -= max(int64(n), leastRead) // a small picture may lead round in steps of some bytes
	if err != nil && err != io.EOF {
		c.err = err
	}
	return n, err
}

func (c *cappedReader) Seek(offset int64, whence int) (int64, error) { return c.r.Seek(offset, whence) }

// exif holds the values of EXIF tags of the picture itself, by name.
type exif map[string]any

func (e exif) read(r io.ReadSeeker, format string) error {
	kind := imagemeta.JPEG
	if format == "HEIF" {
		kind = imagemeta.HEIF
	}
	_, err := imagemeta.Decode(imagemeta.Options{
		R: r, ImageFormat: kind, Sources: imagemeta.EXIF,
		HandleTag: func(t imagemeta.TagInfo) error {
			if _, twice := e[t.Tag]; !twice {
				e[t.Tag] = t.Value
			}
			return nil
		},
	})
	return err
}

func (e exif) text(tag string) string {
	s, _ := e[tag].(string)
	return strings.TrimSpace(s)
}

// float is a number of whatever type it was written as; NaN for none.
func (e exif) float(tag string) float64 {
	switch v := e[tag].(type) {
	case float64:
		return v
	case interface{ Float64() float64 }:
		return v.Float64()
	}
	return math.NaN()
}

// take fills in what the tags say.
func (p *Photo) take(e exif) {
	p.Camera = strings.Join(strings.Fields(e.text("Make")+" "+e.text("Model")+" "+e.text("SerialNumber")), " ")
	for _, t := range []struct{ moment, offset string }{
		{"DateTimeOriginal", "OffsetTimeOriginal"}, {"CreateDate", "OffsetTimeDigitized"}, {"ModifyDate", "OffsetTime"},
	} {
		if shown, err := time.Parse("2006:01:02 15:04:05", e.text(t.moment)); err == nil {
			p.Shown = track.At(shown)
			if zone, err := time.Parse("-07:00", e.text(t.offset)); err == nil {
				_, east := zone.Zone()
				p.Shown, p.Zoned = p.Shown-track.Instant(east)*1000, true
			}
			break
		}
	}
	if fix, err := time.Parse("2006:01:02 15:04:05", e.text("GPSDateStamp")+" "+e.text("GPSTimeStamp")); err == nil {
		p.Fix = track.At(fix)
	}
	p.place(e)
}

func (p *Photo) place(e exif) {
	_, lat := e["GPSLatitude"]
	_, lon := e["GPSLongitude"]
	if !lat && !lon {
		return
	}
	at := grid.LonLat{Lat: signedBy(e, "GPSLatitude", "N", "S"), Lon: signedBy(e, "GPSLongitude", "E", "W")}
	switch {
	case !at.Valid():
		p.note(NoteHalfPlace, "its position has no hemisphere, or is not on the globe: left out")
	case at.Lat == 0 || at.Lon == 0: // also what is made of fractions over 0
		p.note(track.NoteZeroZero, "its latitude or longitude is 0: left out")
	default:
		p.Pos = at
		if m := e.float("GPSHPositioningError"); m > 0 && m <= maxSdM {
			p.ErrM = m
		}
	}
}

// signedBy is an angle with the sign of its hemisphere; NaN without one.
func signedBy(e exif, tag, plus, minus string) float64 {
	switch v := e.float(tag); strings.ToUpper(e.text(tag + "Ref")) {
	case plus:
		return v
	case minus:
		return -v
	}
	return math.NaN()
}

// photoErrShare is the share of fixes that phones mean to lie within the error they
// state: common practice, no source.
const photoErrShare = "68"

// SdM is the standard deviation per axis of the photo's position in metres, NaN
// where the device does not say how good it is.
func (p *Photo) SdM() float64 {
	sd, err := track.SigmaOf(p.ErrM, photoErrShare)
	if err != nil {
		return math.NaN()
	}
	return sd
}
