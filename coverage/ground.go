package coverage

import (
	"fmt"
	"math"
	"slices"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// maxTouched is the number of cells above which a coarser cell is chosen.
const maxTouched = 25_000_000

// maxCells is the number of cells above which even an asked-for cell is refused:
// the sets of cells take up to a byte for each.
const maxCells = 2_000_000_000

// cellSteps are the cells chosen from, in metres.
var cellSteps = []float64{0.10, 0.20, 0.25, 0.50, 1, 2, 5}

// layGround sets the site, the cells, and the searchable ground.
func (r *Result) layGround(s *site.Site, visits []visit) error {
	if s == nil {
		own, err := r.ownOutline(visits)
		if err != nil {
			return err
		}
		s, r.OwnOutline = own, true
	}
	r.Site, r.Local = *s, s.Local(r.Frame)
	for _, n := range s.Notes.List() {
		r.Notes = append(r.Notes, FileNote{File: s.Name, Note: n})
	}
	bounds, area := grid.EmptyBounds(), 0.0
	for _, p := range r.Local.Boundary {
		area += p.Area()
		for _, q := range p.Outer {
			bounds = bounds.Add(q)
		}
	}
	if err := r.chooseCell(area); err != nil {
		return err
	}
	r.Spec = grid.SpecFor(bounds, r.Settings.CellM)
	boundary, keep := grid.NewMask(r.Spec), grid.NewMask(r.Spec)
	for _, p := range r.Local.Boundary {
		boundary.FillPolygon(p)
	}
	for _, p := range r.Local.Keepouts {
		keep.FillPolygon(p)
	}
	keep.And(boundary)
	r.BoundaryM2, r.KeepoutM2 = boundary.AreaM2(), keep.AreaM2()
	boundary.AndNot(keep)
	if boundary.Count() == 0 {
		return errNoGround
	}
	r.Searchable = boundary
	return nil
}

// chooseCell fills in the cell when it was left to us, and refuses one that
// would need more memory than any machine this is meant for.
func (r *Result) chooseCell(areaM2 float64) error {
	cells := func(c float64) float64 { return areaM2 / (c * c) }
	if c := r.Settings.CellM; c != 0 {
		if cells(c) > maxCells {
			least := math.Ceil(100*math.Sqrt(areaM2/maxCells)) / 100
			return &SettingsError{"cell", fmt.Sprintf("%g m", c), fmt.Sprintf("at least %g m on %.0f ha", least, areaM2/1e4)}
		}
		return nil
	}
	limit := r.Settings.SwathM / 3
	for i, c := range cellSteps {
		if cells(c) > maxTouched && i+1 < len(cellSteps) && cellSteps[i+1] <= limit {
			continue
		}
		r.Settings.CellM = math.Min(c, limit)
		if i > 0 {
			r.CellChosen = fmt.Sprintf("cells of %g m instead of %g m, since the site is large (%.0f ha)", c, cellSteps[0], areaM2/1e4)
		}
		break
	}
	if cells(r.Settings.CellM) > maxCells {
		return fmt.Errorf("the site of %.0f ha is too large for a swath of %g m: split it", areaM2/1e4, r.Settings.SwathM)
	}
	return nil
}

// outlineCellM is the cell in which a site's own outline is drawn.
const outlineCellM = 0.5

// ownOutline draws a boundary round the searched ground: every place within
// half a swath and OutlinePadM of a searching leg.
func (r *Result) ownOutline(visits []visit) (*site.Site, error) {
	bounds := grid.EmptyBounds()
	searching := func(f func(line []grid.XY)) {
		for _, v := range visits {
			for _, p := range v.walk.Paths {
				for _, l := range p.Legs {
					if l.Kind == track.Searching {
						f(lineXY(p.Line(l)))
					}
				}
			}
		}
	}
	searching(func(line []grid.XY) {
		for _, q := range line {
			bounds = bounds.Add(q)
		}
	})
	if bounds.Empty() {
		return nil, errNothingSearched(visits, r.Settings.Track.TreatAs)
	}
	if bounds.Width() > grid.MaxSpanM || bounds.Height() > grid.MaxSpanM {
		return nil, fmt.Errorf("%w: the searched ground is %.1f by %.1f km; give the outline of one site with --site",
			grid.ErrTooWide, bounds.Width()/1000, bounds.Height()/1000)
	}
	pad := r.Settings.OutlinePadM + r.Settings.SwathM/2
	m := grid.NewMask(grid.SpecFor(bounds.Pad(pad+outlineCellM), outlineCellM))
	brush := grid.NewBrush(outlineCellM, pad)
	searching(func(line []grid.XY) { m.FillLine(line, brush) })
	var polys []grid.Polygon
	for _, p := range grid.Outlines(m) {
		polys = append(polys, p.Simplify(outlineCellM))
	}
	return site.FromWalks(polys, r.Frame, "Ground searched"), nil
}

func errNothingSearched(visits []visit, treatAs track.Kind) error {
	for _, v := range visits {
		if v.walk.Notes.Count(track.NoteNoTimes) > 0 && treatAs == track.Lost {
			return fmt.Errorf("%s: no times in it, so searching cannot be told from walking; --treat-as searching counts all of it", v.file)
		}
	}
	return fmt.Errorf("no searching found in %d visit(s), and no outline given: nothing to measure", len(visits))
}

func lineXY(line []track.Point) []grid.XY {
	out := make([]grid.XY, len(line))
	for i, p := range line {
		out[i] = p.XY
	}
	return out
}

// frameOf lays a frame amid the fixes of all visits: at the median longitude
// and latitude, which no stray fix can pull away.
func frameOf(visits []visit) (grid.Frame, error) {
	var lons, lats []float64
	var ref grid.LonLat
	for _, v := range visits {
		for _, seg := range v.raw {
			for i := 0; i < len(seg); i += 1 + len(seg)/1000 {
				p := seg[i].Pos
				if !p.Valid() || p == (grid.LonLat{}) {
					continue
				}
				if len(lons) == 0 {
					ref = p
				}
				lons = append(lons, math.Remainder(p.Lon-ref.Lon, 360)) // safe across 180 degrees
				lats = append(lats, p.Lat)
			}
		}
	}
	if len(lons) == 0 {
		return grid.Frame{}, fmt.Errorf("no usable position in any track")
	}
	slices.Sort(lons)
	slices.Sort(lats)
	lon := math.Remainder(ref.Lon+lons[len(lons)/2], 360)
	return grid.NewFrame(grid.LonLat{Lon: lon, Lat: lats[len(lats)/2]})
}
