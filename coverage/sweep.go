package coverage

import (
	"math"
	"math/bits"

	"untrod/grid"
	"untrod/track"
)

// Sweep adds to dst every cell whose centre lies within radiusM of a line, half
// the swath to either side and round ends; a disc for a line of one point. The
// union alone, many times faster than a Tally. O(points x rows of the swath).
func Sweep(dst *grid.Mask, line []grid.XY, radiusM float64) {
	dst.FillLine(line, grid.NewBrush(dst.Spec().CellM, radiusM))
}

// sweeper moves the swath along the legs of sessions, one after another, and
// keeps a Tally of what it passes over.
type sweeper struct {
	tally  *Tally
	brush  *grid.Brush
	swathM float64

	session uint16 // counted from 0
	walked  int32  // millimetres walked in this session so far, standing left out
	effort  uint32 // effort of all steps so far, in effortUnit
	away    int32  // millimetres to walk before a return is a new pass

	now      grid.Footprint // where the swath is
	from, to int            // rows of now and of the footprint before it
	active   []activeTile   // tiles with cells inside the swath
	today    []*tallyTile   // tiles passed over in this session
	again    int            // passes of this session over cells it had passed before
}

type activeTile struct {
	tc, tr int
	tile   *tallyTile
}

func newSweeper(t *Tally, swathM float64) *sweeper {
	return &sweeper{
		tally: t, brush: grid.NewBrush(t.spec.CellM, swathM/2), swathM: swathM,
		away: int32(math.Round(2 * swathM * 1000)),
	}
}

// sessionGround is what one session's searching legs did on searchable ground.
type sessionGround struct {
	newCells, passCells int
	searchingM          float64 // metres whose middle lies on searchable ground
}

// Session sweeps one walk. Sessions must come in order of time for "first"
// and "new ground" to mean what they say.
func (s *sweeper) Session(w track.Walk) sessionGround {
	s.walked, s.again = 0, 0
	g := sessionGround{}
	var end *track.Point // of the path before
	for _, p := range w.Paths {
		if end != nil && len(p.Points) > 0 {
			s.walk(distance(end.XY, p.Points[0].XY)) // a silence is not bridged, but it is walked
		}
		for _, l := range p.Legs {
			line := p.Line(l)
			switch l.Kind {
			case track.Searching:
				g.searchingM += s.leg(line)
			case track.Walking, track.Lost:
				s.walk(lineLength(line))
			}
		}
		if n := len(p.Points); n > 0 {
			end = &p.Points[n-1]
		}
	}
	g.newCells, g.passCells = s.endSession()
	return g
}

// endSession books the session's first pass over every cell it touched, and
// returns how many cells it was the first to pass over and how many passes it
// made in all.
func (s *sweeper) endSession() (newCells, passCells int) {
	for _, t := range s.today {
		t.open = false
		for r, today := range t.today {
			fresh := today &^ t.seen[r]
			newCells += bits.OnesCount64(fresh)
			passCells += bits.OnesCount64(today)
			t.today[r] = 0
			t.seen[r] |= today
			for at := r * grid.TileSide; today != 0; {
				lo, hi := nextRun(&today)
				for i := at + lo; i < at+hi; i++ {
					t.passes[i]++
					t.latest[i] = s.session
				}
			}
			for at := r * grid.TileSide; fresh != 0; {
				lo, hi := nextRun(&fresh)
				for i := at + lo; i < at+hi; i++ {
					t.first[i] = s.session
				}
			}
		}
	}
	s.today = s.today[:0]
	s.session++
	return newCells, passCells + s.again
}

// nextRun takes the lowest stretch of set bits, [lo, hi), out of a word that
// is not 0.
func nextRun(w *uint64) (lo, hi int) {
	lo = bits.TrailingZeros64(*w)
	hi = lo + bits.TrailingZeros64(^(*w >> uint(lo)))
	*w &= *w + 1<<uint(lo)
	return lo, hi
}

func (s *sweeper) walk(metres float64) {
	s.walked = int32(min(float64(s.walked)+math.Round(metres*1000), math.MaxInt32/2))
}

// leg sweeps one searching line and returns its metres on searchable ground.
func (s *sweeper) leg(line []track.Point) float64 {
	spec, inside := s.tally.spec, 0.0
	prev := spec.Snap(line[0].XY)
	s.step(prev, prev, 0, 0)
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		d, seconds := distance(a.XY, b.XY), 0.0
		if a.T.Known() && b.T.Known() {
			seconds = b.T.Sub(a.T)
		}
		if s.onSearchable(grid.XY{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}) {
			inside += d
		}
		next := spec.Snap(b.XY)
		n := float64(grid.CountPieces(prev, next))
		grid.Pieces(prev, next, func(p, q grid.Sub) { s.step(p, q, d/n, seconds/n) })
		prev = next
	}
	s.leave()
	return inside
}

func (s *sweeper) onSearchable(p grid.XY) bool {
	c, ok := s.tally.spec.CellAt(p)
	return ok && s.tally.searchable.Has(c)
}

// step moves the swath from a to b: cells it reaches are entered, cells it no
// longer covers are left, the rest stay inside.
func (s *sweeper) step(a, b grid.Sub, metres, seconds float64) {
	old := s.now.Row
	oldTo := old + int32(len(s.now.Spans))
	s.brush.Capsule(&s.now, a, b)
	s.from, s.to = int(s.now.Row), int(s.now.Row)+len(s.now.Spans)
	if old < oldTo {
		s.from, s.to = min(s.from, int(old)), max(s.to, int(oldTo))
	}
	s.touch()
	s.moveAll()
	s.walk(metres)
	if n := s.now.Cells(); n > 0 && seconds > 0 {
		s.effort += uint32(math.Round(seconds / (float64(n) * s.tally.spec.CellAreaM2()) / effortUnit))
	}
}

// leave ends a leg: every cell still inside the swath is left.
func (s *sweeper) leave() {
	s.from, s.to = int(s.now.Row), int(s.now.Row)+len(s.now.Spans)
	s.now.Spans = s.now.Spans[:0]
	s.moveAll()
}

func (s *sweeper) moveAll() {
	keep := s.active[:0]
	for _, at := range s.active {
		if s.move(at) {
			keep = append(keep, at)
		}
	}
	s.active = keep
}

// touch makes every tile under the footprint active.
func (s *sweeper) touch() {
	spec := s.tally.spec
	lo, hi := max(int(s.now.Min), 0), min(int(s.now.Max), spec.Cols)
	from, to := max(int(s.now.Row), 0), min(int(s.now.Row)+len(s.now.Spans), spec.Rows)
	if lo >= hi || from >= to {
		return
	}
	for tr := from / grid.TileSide; tr <= (to-1)/grid.TileSide; tr++ {
		for tc := lo / grid.TileSide; tc <= (hi-1)/grid.TileSide; tc++ {
			if !s.isActive(tc, tr) && s.tally.searchable.Tile(tc, tr) != nil {
				t := s.tally.tiles.Touch(tc, tr)
				s.active = append(s.active, activeTile{tc, tr, t})
				if !t.open {
					t.open = true
					s.today = append(s.today, t)
				}
			}
		}
	}
}

func (s *sweeper) isActive(tc, tr int) bool {
	for i := range s.active {
		if s.active[i].tc == tc && s.active[i].tr == tr {
			return true
		}
	}
	return false
}

// move brings one tile up to date with the footprint and reports whether any
// of its cells is still inside the swath.
func (s *sweeper) move(at activeTile) bool {
	searchable := s.tally.searchable.Tile(at.tc, at.tr)
	col, row, some := at.tc*grid.TileSide, at.tr*grid.TileSide, uint64(0)
	for r := max(s.from-row, 0); r < min(s.to-row, grid.TileSide); r++ {
		was, now := at.tile.inside[r], uint64(0)
		if i := row + r - int(s.now.Row); i >= 0 && i < len(s.now.Spans) {
			sp := s.now.Spans[i]
			now = grid.SpanWord(int(sp.Lo)-col, int(sp.Hi)-col) & searchable[r]
		}
		some |= now
		if now == was {
			continue
		}
		at.tile.inside[r] = now
		s.enter(at.tile, r, now&^was)
		s.leaveCells(at.tile, r, was&^now)
	}
	return some != 0
}

// enter books cells of one row that the swath has reached. A cell's first pass
// of a session is counted when the session ends.
func (s *sweeper) enter(t *tallyTile, r int, w uint64) {
	again := w & t.today[r]
	t.today[r] |= w
	effort, e := t.effort[r*grid.TileSide:][:grid.TileSide], s.effort
	for w != 0 {
		lo, hi := nextRun(&w)
		for i := range effort[lo:hi] {
			effort[lo+i] -= e
		}
	}
	for ; again != 0; again &= again - 1 {
		i := r*grid.TileSide + bits.TrailingZeros64(again)
		if s.walked-t.left[i] >= s.away && t.passes[i] < math.MaxUint16-1 {
			t.passes[i]++
			s.again++
		}
	}
}

// leaveCells books cells of one row that the swath no longer covers.
func (s *sweeper) leaveCells(t *tallyTile, r int, w uint64) {
	effort, left := t.effort[r*grid.TileSide:][:grid.TileSide], t.left[r*grid.TileSide:][:grid.TileSide]
	e, walked := s.effort, s.walked
	for w != 0 {
		lo, hi := nextRun(&w)
		for i := lo; i < hi; i++ {
			effort[i] += e // up to and with the step before this one
			left[i] = walked
		}
	}
}

func distance(a, b grid.XY) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

func lineLength(line []track.Point) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += distance(line[i-1].XY, line[i].XY)
	}
	return sum
}
