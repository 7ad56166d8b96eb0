package coverage

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"

	"untrod/grid"
	"untrod/track"
)

// loaded is what one file gave.
type loaded struct {
	notes  track.Notes
	visits []visit
	err    error
}

// load reads all logs, as many at a time as there are cores, and returns the visits
// that count in order of time, each with its walk. It sets the frame, the notes, what
// was skipped and what was left out.
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

// gather puts the files' visits in order, and lays the frame when no site did: round
// the visits that count.
func (r *Result) gather(in Input, files []loaded, ready bool) ([]visit, error) {
	var visits []visit
	for i, f := range files {
		name := in.Logs[i].Name
		if f.err != nil {
			r.Skipped = append(r.Skipped, Skipped{File: name, Err: f.err})
			continue
		}
		visits = append(visits, f.visits...)
	}
	if len(visits) == 0 {
		var all []error
		for _, s := range r.Skipped {
			all = append(all, s.Err)
		}
		return nil, errors.Join(all...)
	}
	visits, left, err := r.leaveOut(visits)
	if err != nil {
		return nil, err
	}
	if !ready {
		f, err := frameOf(visits)
		if err != nil {
			return nil, err
		}
		r.Frame = f
		for _, vs := range [][]visit{visits, left} {
			for i := range vs {
				vs[i].settle(f, r.Settings.Track)
			}
		}
	}
	sortVisits(visits)
	sortVisits(left)
	heard := filesOf(visits)
	visits = r.dropCopies(visits)
	nameApart(visits, left)
	r.tellLeftOut(visits, left)
	r.addNotes(in, files, heard, visits)
	if len(visits) > maxSessions {
		return nil, fmt.Errorf("%d visits: more than %d cannot be told apart", len(visits), maxSessions)
	}
	return visits, nil
}

// filesOf are the files that visits are of.
func filesOf(visits []visit) map[string]bool {
	out := map[string]bool{}
	for _, v := range visits {
		out[v.file] = true
	}
	return out
}

// addNotes tells what was odd in the files of which a visit counts.
func (r *Result) addNotes(in Input, files []loaded, heard map[string]bool, visits []visit) {
	for i, f := range files {
		name, notes := in.Logs[i].Name, track.Notes{}
		if f.err != nil || !heard[name] {
			continue
		}
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
	read := src.Visits
	if read == nil {
		read = func() ([]Visit, error) { return readVisits(ctx, src, set.VisitGapS) }
	}
	visits, err := read()
	if err == nil && len(visits) == 0 {
		err = fmt.Errorf("%s: %w", src.Name, ErrNoTrack)
	}
	if err != nil {
		return loaded{err: err}
	}
	l := loaded{notes: visits[0].Notes}
	for i, v := range visits {
		l.visits = append(l.visits, visit{
			name: v.Name, file: src.Name, sha256: v.SHA256, walker: src.Walker,
			number: i, raw: v.Segments, waypoints: v.Waypoints,
		})
	}
	return l
}

// readVisits reads a file that was not read before.
func readVisits(ctx context.Context, src Source, gapS float64) ([]Visit, error) {
	in, err := src.Open()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	hash := sha256.New()
	tee := io.TeeReader(stopReader{ctx, in}, hash)
	logs, err := track.Opener{CSV: src.CSV}.Read(tee, src.Name)
	if err != nil {
		return nil, err
	}
	if _, err := io.Copy(io.Discard, tee); err != nil { // what a reader left unread
		return nil, fmt.Errorf("%s: %w", src.Name, err)
	}
	visits := VisitsOf(logs, src.Name, hex.EncodeToString(hash.Sum(nil)), gapS)
	if len(visits) == 0 {
		return nil, fmt.Errorf("%s: %w%s", src.Name, ErrNoTrack, hintOf(logs[0]))
	}
	return visits, nil
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
