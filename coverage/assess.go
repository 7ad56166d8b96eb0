package coverage

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// Input is what one assessment is made from.
type Input struct {
	Site  *site.Site // nil: the outline is drawn round the searched ground
	Logs  []Source
	Finds []site.Find // for Settings.Zones, else unused
}

// Progress is told how far a stage is, from one goroutine at a time. The stage
// is named in plain words.
type Progress func(stage string, done, total int64)

// Assess reads every log, sweeps the searching legs over the site and returns
// what was found: the one pipeline behind every command. Logs that cannot be
// used are listed in Result.Skipped; it is an error when none can. Errors are
// *SettingsError, those of the readers and frames, and ctx's when it is
// cancelled. The same input gives the same result whatever the order of the logs
// and the number of cores.
func Assess(ctx context.Context, in Input, set Settings, progress Progress) (*Result, error) {
	if err := set.Validate(); err != nil {
		return nil, err
	}
	if progress == nil {
		progress = func(string, int64, int64) {}
	}
	set.SwathM = set.swath()
	if set.MinGapM == 0 {
		set.MinGapM = set.SwathM
	}
	r := &Result{Settings: set}
	visits, err := r.load(ctx, in, progress)
	if err != nil {
		return nil, err
	}
	if err := r.layGround(in.Site, visits); err != nil {
		return nil, err
	}
	if err := r.sweep(ctx, visits, progress); err != nil {
		return nil, err
	}
	r.measureSwept()
	if !set.Position.Receiver.Perfect() {
		if err := r.allow(ctx, visits, progress); err != nil {
			return nil, err
		}
	}
	progress("finding gaps", 0, 1)
	r.measureGaps()
	r.measureSearch()
	r.noteOutsiders()
	r.Thoroughness = r.thoroughness(visits)
	if set.Detect != (DetectSettings{}) {
		d, err := Detect(r.Passes, r.CoverageFactor, r.Certainty, set.Detect)
		if err != nil {
			return nil, err
		}
		r.Detection = &d
	}
	if len(set.Zones.RingsM) > 0 {
		progress("comparing landmarks", 0, 1)
		r.Comparison = r.compare(visits, r.countedFinds(in.Finds), newZones(r.Searchable, r.Local.Landmarks, set.Zones))
	}
	return r, ctx.Err()
}

var errNoGround = errors.New("no searchable ground: the keep-outs cover the whole boundary, or it is smaller than one cell")

// sweep moves the swath along every session in order of time.
func (r *Result) sweep(ctx context.Context, visits []visit, progress Progress) error {
	r.Tally = NewTally(r.Searchable)
	sw := newSweeper(r.Tally, r.Settings.SwathM)
	for i, v := range visits {
		progress("sweeping", int64(i), int64(len(visits)))
		if err := ctx.Err(); err != nil {
			return err
		}
		r.Sessions = append(r.Sessions, r.session(v, sw.Session(v.walk)))
	}
	r.Swept = r.Tally.Swept()
	return nil
}

func (r *Result) session(v visit, g sessionGround) Session {
	a := r.Spec.CellAreaM2()
	s := Session{
		Name: v.name, File: v.file, SHA256: v.sha256, Walker: v.walker, Fixes: v.walk.Fixes,
		SwathM2: g.searchingM * r.Settings.SwathM,
		PassM2:  float64(g.passCells) * a, NewGroundM2: float64(g.newCells) * a,
		RewalkedPercent: percent(g.passCells-g.newCells, g.passCells),
	}
	s.Start, s.End = v.start, v.end
	for _, p := range v.walk.Paths {
		for _, l := range p.Legs {
			line := p.Line(l)
			s.Metres[l.Kind] += lineLength(line)
			if p.Timed && len(line) > 0 {
				s.Seconds[l.Kind] += line[len(line)-1].T.Sub(line[0].T)
			}
		}
	}
	return s
}

// percent is part of whole in percent, 0 when whole is 0.
func percent(part, whole int) float64 {
	if whole == 0 {
		return 0
	}
	return 100 * float64(part) / float64(whole)
}

func (r *Result) measureSwept() {
	a, n := r.Spec.CellAreaM2(), r.Searchable.Count()
	swept := r.Swept.Count()
	r.SearchableM2, r.SweptM2 = float64(n)*a, float64(swept)*a
	r.AsLoggedPercent = percent(swept, n)
	counts := r.Tally.PassCounts()
	counts[0] = n - swept
	for p, c := range counts {
		r.Passes = append(r.Passes, PassShare{Passes: p, Percent: percent(c, n)})
	}
}

// measureGaps finds the gaps: in the unswept ground or, where receiver error is
// allowed for, first in the untrodden ground, which are the places to go to, then
// in what else is not surely swept.
func (r *Result) measureGaps() {
	open := r.Searchable.Clone()
	open.AndNot(r.Swept)
	width, area := r.Settings.MinGapM, r.Settings.MinGapM2
	if c := r.Certainty; c == nil {
		r.Gaps, r.Slivers = findGaps(open, width, area)
	} else {
		r.Gaps, _ = findGaps(c.under(r.Searchable, UntroddenChance), width, area)
		open = c.under(r.Searchable, SurelyChance)
		for _, g := range r.Gaps {
			for _, run := range g.Cells {
				open.ClearSpan(run.Row, run.Lo, run.Hi)
			}
		}
		var doubt []Gap
		doubt, r.Slivers = findGaps(open, width, area)
		for i := range doubt {
			doubt[i].InDoubt = true
		}
		r.Gaps = append(r.Gaps, doubt...)
		c.weigh(r.Spec, r.Gaps)
	}
	for i := range r.Gaps {
		r.Gaps[i].Centre = r.Frame.ToLonLat(r.Gaps[i].CentreXY)
	}
}

func (r *Result) measureSearch() {
	var pass, fresh float64
	for _, s := range r.Sessions {
		r.EffortM2 += s.SwathM2
		pass += s.PassM2
		fresh += s.NewGroundM2
	}
	r.CoverageFactor = r.EffortM2 / r.SearchableM2
	r.RandomSearchPercent = 100 * RandomSearch(r.CoverageFactor)
	if pass > 0 {
		r.RewalkedPercent = 100 * (pass - fresh) / pass
	}
}

// noteOutsiders says which files searched, but nowhere on the site.
func (r *Result) noteOutsiders() {
	for _, s := range r.Sessions {
		if s.Metres[track.Searching] > 0 && s.PassM2 == 0 {
			r.note(s.File, track.NoteOutside, s.File+": searched ground, none of it on the site")
		}
	}
}

func (r *Result) note(file string, k track.NoteKind, example string) {
	r.Notes = append(r.Notes, FileNote{File: file, Note: track.Note{Kind: k, Count: 1, Example: example}})
}

// byTime orders visits by start, those without times last, equals by file and
// name, so that the order of the input does not matter.
func byTime(a, b visit) int {
	if a.start.Known() != b.start.Known() {
		if a.start.Known() {
			return -1
		}
		return 1
	}
	return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.file, b.file), cmp.Compare(a.number, b.number))
}

// visit is one session before it is swept.
type visit struct {
	name, file, sha256 string
	walker             string
	number             int // within its file
	start, end         track.Instant
	raw                [][]track.Fix // dropped once walk is made
	walk               track.Walk
	waypoints          []track.Waypoint // of its file
}

// settle makes the walk of a visit, in a frame's metres.
func (v *visit) settle(f grid.Frame, set track.Settings) {
	v.walk = track.NewWalk(f, v.raw, set)
	v.raw = nil
	v.clock()
}

// clock sets when the visit started and ended.
func (v *visit) clock() {
	v.start, v.end = track.NoTime, track.NoTime
	for _, p := range v.walk.Paths {
		for _, t := range p.Points {
			if t.T.Known() && (!v.start.Known() || t.T < v.start) {
				v.start = t.T
			}
			if t.T.Known() && (!v.end.Known() || t.T > v.end) {
				v.end = t.T
			}
		}
	}
}

func sortVisits(vs []visit) { slices.SortStableFunc(vs, byTime) }
