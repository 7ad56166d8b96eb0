package book

import (
	"bytes"
	"compress/zlib"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/grid"
	"untrod/track"
)

// File is a file to be brought into a book.
type File struct {
	Name, Walker string // the name is for messages and reports; the walker may be ""
	Open         func() (io.ReadCloser, error)
	CSV          track.Columns // how to read a table, as in track.Opener
}

// Prepared is a file that was read, split into visits, packed and compressed.
type Prepared struct {
	Name, Walker, SHA256 string
	Logs                 []*track.Log // what is in the file

	size      int64
	original  []byte // compressed
	format    string
	reading   string // how to read it again, as JSON
	notes     string // as JSON
	waypoints []byte // packed
	visits    []packedVisit
	places    []preparedPlace
}

type packedVisit struct {
	name       string
	start, end track.Instant
	fixes      int
	packed     []byte
	line       []byte // for the GIS; nil where no two fixes have a position
}

type preparedPlace struct {
	track.Waypoint
	number int  // among the file's waypoints
	visit  int  // in whose time it was saved; -1: in none
	stood  bool // while the walker stood
}

// maxOriginal is the most bytes an original may have, compressed: SQLite holds up
// to 1,000,000,000 in one value.
const maxOriginal = 900_000_000

// Prepare reads a file: all the work of bringing it in but the writing, so that
// many can be prepared at a time. It needs memory for the file's fixes and its
// compressed bytes. Errors are those of the readers and of f.Open, an error when
// the file holds neither a recorded track nor a waypoint, and ctx's.
func Prepare(ctx context.Context, f File) (*Prepared, error) {
	in, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	p := &Prepared{Name: f.Name, Walker: f.Walker}
	var kept bytes.Buffer
	z := zlib.NewWriter(&kept)
	if err := p.read(ctx, io.TeeReader(in, z), f.CSV); err != nil {
		return nil, err
	}
	_ = z.Close() // a Buffer takes all
	if p.original = kept.Bytes(); len(p.original) > maxOriginal {
		return nil, fmt.Errorf("%s: too large to be kept", f.Name)
	}
	visits := coverage.VisitsOf(p.Logs, p.Name, p.SHA256, visitGapS)
	for _, v := range visits {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p.visits = append(p.visits, packVisit(v))
	}
	return p, p.keepRest(visits)
}

// visitGapS is the silence that ends a visit in a book.
var visitGapS = coverage.DefaultSettings().VisitGapS

// read reads and hashes in one pass.
func (p *Prepared) read(ctx context.Context, in io.Reader, columns track.Columns) error {
	sum, count := sha256.New(), &counter{}
	tee := io.TeeReader(stopReader{ctx, in}, io.MultiWriter(sum, count))
	var err error
	if p.Logs, err = (track.Opener{CSV: columns}).Read(tee, p.Name); err != nil {
		return err
	}
	if _, err = io.Copy(io.Discard, tee); err != nil { // what a reader left unread
		return fmt.Errorf("%s: %w", p.Name, err)
	}
	p.SHA256, p.size = hex.EncodeToString(sum.Sum(nil)), count.n
	reading, err := json.Marshal(columns)
	p.reading = string(reading)
	return err
}

type counter struct{ n int64 }

func (c *counter) Write(b []byte) (int, error) { c.n += int64(len(b)); return len(b), nil }

// stopReader stops reading when its context is done.
type stopReader struct {
	ctx context.Context
	r   io.Reader
}

func (s stopReader) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}

// keepRest packs what belongs to the whole file.
func (p *Prepared) keepRest(visits []coverage.Visit) error {
	var waypoints []track.Waypoint
	var notes track.Notes
	var formats []string
	for _, l := range p.Logs {
		waypoints = append(waypoints, l.Waypoints...)
		notes.Merge(l.Notes)
		if !slices.Contains(formats, l.Format) {
			formats = append(formats, l.Format)
		}
	}
	if len(visits) == 0 && len(waypoints) == 0 {
		return fmt.Errorf("%s: %w", p.Name, coverage.ErrNoTrack)
	}
	if len(visits) > 0 {
		notes = visits[0].Notes
	}
	list, err := json.Marshal(notes.List())
	p.notes, p.format = string(list), strings.Join(formats, ", ")
	p.waypoints = packWaypoints(waypoints)
	p.places = placesOf(waypoints, visits)
	return err
}

func packVisit(v coverage.Visit) packedVisit {
	out := packedVisit{name: v.Name, packed: pack(v.Segments), start: track.NoTime, end: track.NoTime}
	for _, s := range v.Segments {
		out.fixes += len(s)
		for _, f := range s {
			if f.T.Known() && (!out.start.Known() || f.T < out.start) {
				out.start = f.T
			}
			if f.T.Known() && (!out.end.Known() || f.T > out.end) {
				out.end = f.T
			}
		}
	}
	if l := lineOf(v.Segments); len(l.members) > 0 {
		out.line = l.binary()
	}
	return out
}

// placesOf are the waypoints that have a position, each with the visit it was
// saved in.
func placesOf(waypoints []track.Waypoint, visits []coverage.Visit) []preparedPlace {
	var out []preparedPlace
	stands := make([][]span, len(visits))
	for i, w := range waypoints {
		if !w.Pos.Valid() {
			continue
		}
		p := preparedPlace{Waypoint: w, number: i, visit: -1}
		for k, v := range visits {
			if packed := spanOf(v.Segments); !w.T.Known() || !packed.holds(w.T) {
				continue
			}
			if stands[k] == nil {
				stands[k] = standsOf(v.Segments)
			}
			p.visit, p.stood = k, slices.ContainsFunc(stands[k], func(s span) bool { return s.holds(w.T) })
			break
		}
		out = append(out, p)
	}
	return out
}

// span is a stretch of time, its end included.
type span struct{ from, to track.Instant }

func (s span) holds(t track.Instant) bool { return s.from <= t && t <= s.to }

// spanOf is from the first to the last time; one that holds nothing without times.
func spanOf(segments [][]track.Fix) span {
	s := span{from: 1, to: 0}
	for _, seg := range segments {
		for _, f := range seg {
			if !f.T.Known() {
				continue
			}
			if s.from > s.to {
				s = span{f.T, f.T}
			}
			s = span{min(s.from, f.T), max(s.to, f.T)}
		}
	}
	return s
}

// standsOf are the standing legs of a visit, none where no frame holds it.
func standsOf(segments [][]track.Fix) []span {
	out := []span{}
	var all []grid.LonLat
	for _, s := range segments {
		for _, f := range s {
			all = append(all, f.Pos)
		}
	}
	frame, err := grid.FrameAround(all)
	if err != nil {
		return out
	}
	for _, p := range track.NewWalk(frame, segments, track.DefaultSettings()).Paths {
		for _, l := range p.Legs {
			if line := p.Line(l); p.Timed && l.Kind == track.Standing && len(line) > 0 {
				out = append(out, span{line[0].T, line[len(line)-1].T})
			}
		}
	}
	return out
}
