package coverage

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"path"
	"runtime"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"untrod/grid"
	"untrod/track"
)

// loaded is what one file gave.
type loaded struct {
	sha256 string
	print  uint64 // of its fixes: the same for a copy, zipped or written anew
	notes  track.Notes
	visits []visit
	err    error
}

// load reads all logs, as many at a time as there are cores, and returns their
// visits in order of time, each with its walk. It sets the frame, the notes and
// what was skipped.
func (r *Result) load(ctx context.Context, in Input, progress Progress) ([]visit, error) {
	if len(in.Logs) == 0 {
		return nil, errors.New("no tracks given")
	}
	ready := false
	if in.Site != nil {
		f, err := in.Site.Frame()
		if err != nil {
			return nil, err
		}
		r.Frame, ready = f, true
	}
	files := make([]loaded, len(in.Logs))
	var done int64
	var mu sync.Mutex
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i, src := range in.Logs {
		g.Go(func() error {
			files[i] = readLog(ctx, src, r.Settings)
			if ready {
				files[i].settle(r.Frame, r.Settings.Track)
			}
			mu.Lock()
			defer mu.Unlock()
			done++
			progress("reading", done, int64(len(in.Logs)))
			return ctx.Err()
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return r.gather(in, files, ready)
}

func (l *loaded) settle(f grid.Frame, set track.Settings) {
	for i := range l.visits {
		l.visits[i].settle(f, set)
	}
}

// gather puts the files' visits in order, and lays the frame when no site did.
func (r *Result) gather(in Input, files []loaded, ready bool) ([]visit, error) {
	var visits []visit
	first := map[uint64]string{} // name of the first file with these fixes
	for i, f := range files {
		name := in.Logs[i].Name
		if f.err == nil && first[f.print] != "" {
			f.err = fmt.Errorf("%s: the same recording as %s; counted once", name, first[f.print])
		}
		if f.err != nil {
			r.Skipped = append(r.Skipped, Skipped{File: name, Err: f.err})
			continue
		}
		first[f.print] = name
		visits = append(visits, f.visits...)
	}
	if len(visits) == 0 {
		var all []error
		for _, s := range r.Skipped {
			all = append(all, s.Err)
		}
		return nil, errors.Join(all...)
	}
	if !ready {
		f, err := frameOf(visits)
		if err != nil {
			return nil, err
		}
		r.Frame = f
		for i := range visits {
			visits[i].settle(f, r.Settings.Track)
		}
	}
	nameApart(visits)
	r.addNotes(in, files, visits)
	sortVisits(visits)
	if len(visits) > maxSessions {
		return nil, fmt.Errorf("%d visits: more than %d cannot be told apart", len(visits), maxSessions)
	}
	return visits, nil
}

// nameApart adds the file to the name of visits that share one: many programs call
// every recording the same.
func nameApart(visits []visit) {
	count := map[string]int{}
	for _, v := range visits {
		count[v.name]++
	}
	for i := range visits {
		if v := &visits[i]; count[v.name] > 1 {
			v.name += ", " + path.Base(strings.ReplaceAll(v.file, `\`, "/"))
		}
	}
}

func (r *Result) addNotes(in Input, files []loaded, visits []visit) {
	for i, f := range files {
		if f.err != nil {
			continue
		}
		name, notes := in.Logs[i].Name, track.Notes{}
		notes.Merge(f.notes)
		for _, v := range visits {
			if v.file == name {
				notes.Merge(v.walk.Notes)
			}
		}
		for _, n := range notes.List() {
			r.Notes = append(r.Notes, FileNote{File: name, Note: n})
		}
	}
}

// readLog reads one file and splits it into visits. A file without a single
// track fix is an error: there is nothing to sweep.
func readLog(ctx context.Context, src Source, set Settings) loaded {
	fail := func(err error) loaded { return loaded{err: err} }
	in, err := src.Open()
	if err != nil {
		return fail(err)
	}
	defer in.Close()
	hash := sha256.New()
	tee := io.TeeReader(stopReader{ctx, in}, hash)
	logs, err := track.Read(tee, src.Name)
	if err != nil {
		return fail(err)
	}
	log := logs[0]
	if _, err := io.Copy(io.Discard, tee); err != nil { // what a reader left unread
		return fail(fmt.Errorf("%s: %w", src.Name, err))
	}
	if log.Fixes() == 0 {
		return fail(fmt.Errorf("%s: no recorded track in it%s", src.Name, hintOf(log)))
	}
	l := loaded{sha256: hex.EncodeToString(hash.Sum(nil)), print: fingerprint(log), notes: log.Notes}
	name := nameOf(log, src.Name)
	for i, raw := range track.Visits(log, set.VisitGapS) {
		v := visit{name: name, file: src.Name, sha256: l.sha256, number: i, raw: raw, waypoints: log.Waypoints}
		if i > 0 {
			v.name = fmt.Sprintf("%s (%d)", name, i+1)
		}
		l.visits = append(l.visits, v)
	}
	return l
}

// fingerprint tells recordings apart by where and when their fixes are.
func fingerprint(log *track.Log) uint64 {
	h := fnv.New64a()
	var b [24]byte
	for _, t := range log.Tracks {
		for _, s := range t.Segments {
			for _, f := range s {
				binary.LittleEndian.PutUint64(b[:], math.Float64bits(f.Pos.Lon))
				binary.LittleEndian.PutUint64(b[8:], math.Float64bits(f.Pos.Lat))
				binary.LittleEndian.PutUint64(b[16:], uint64(f.T))
				h.Write(b[:])
			}
		}
	}
	return h.Sum64()
}

func hintOf(log *track.Log) string {
	switch {
	case len(log.Routes) > 0:
		return ": it holds a planned route, not a walk"
	case len(log.Waypoints) > 0:
		return ": it holds waypoints only"
	}
	return ""
}

// nameOf is the first track's name, or the file's name without its endings.
func nameOf(log *track.Log, file string) string {
	for _, t := range log.Tracks {
		if n := strings.TrimSpace(t.Name); n != "" {
			return n
		}
	}
	base := path.Base(strings.ReplaceAll(file, `\`, "/"))
	base = strings.TrimSuffix(base, ".gz")
	return strings.TrimSuffix(base, path.Ext(base))
}

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
