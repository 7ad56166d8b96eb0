package coverage

import (
	"fmt"
	"math"
	"slices"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// laidArea is laid-out ground and the lanes walked on it.
type laidArea struct {
	ground grid.Polygon
	lanes  [][2]grid.XY
	// shiftM is how far the ground may lie elsewhere: 0 when a site file says
	// where it is, the receiver's own when it was recognised in the log.
	shiftM float64
	// around is the ground and all within laidReach: what the log shows there is
	// these lanes, scattered.
	around *grid.Mask
}

// layLanes takes in the laid-out ground that each session's log confirms, and
// proposes what looks like it.
func (r *Result) layLanes(d *drawer, visits []visit) error {
	rec := r.Settings.Position.Receiver
	accepted := make([]bool, len(r.Settings.LaidOut))
	for i, v := range visits {
		for _, l := range r.Local.LaidOut {
			if l.Of(v.name, v.file) {
				r.takeLaid(d, i, v, l, 0)
			}
		}
		if r.Sessions[i].PassM2 == 0 {
			continue // nowhere on the site
		}
		for _, b := range track.FindLaneBlocks(v.walk) {
			p := LaneProposal{v.name, b, site.Proposal(b, r.Frame, v.name)}
			meant := false
			for k, s := range r.Settings.LaidOut {
				if (site.LaidOut{Session: s}).Of(v.name, v.file) {
					accepted[k], meant = true, true
				}
			}
			if meant {
				l := site.LocalLaidOut{LaidOut: p.LaidOut, Polygon: grid.Polygon{Outer: b.Corners[:]}}
				r.takeLaid(d, i, v, l, math.Hypot(rec.OffsetM, 0.4*rec.DriftM))
			} else if len(d.walks[i].laid) == 0 {
				r.Lanes = append(r.Lanes, p)
			}
		}
	}
	if k := slices.Index(accepted, false); k >= 0 {
		return &SettingsError{"laid-out", fmt.Sprintf("%q", r.Settings.LaidOut[k]), "a visit in whose log lanes are recognised"}
	}
	return nil
}

// laidReach is how far round confirmed laid-out ground its session's log gives way to
// the lanes, in standard deviations of the receiver's error per axis. Further, and
// other searching nearby in the same session is lost; nearer, and the lanes, scattered
// by error, count twice. Found by simulation, see docs/accuracy.md.
const laidReach = 1.0

// takeLaid takes in laid-out ground for one session, when its log confirms it.
func (r *Result) takeLaid(d *drawer, i int, v visit, l site.LocalLaidOut, shiftM float64) {
	w, spec := &d.walks[i], d.in.Spec()
	lanes, share := LaidOut(v.walk, l, r.Settings.Position.Receiver.TotalM())
	if l.Session == "" && lanes == nil {
		return // meant for any session: only those that confirm it are told of
	}
	r.LaidOut = append(r.LaidOut, LaidOutGround{
		Name: l.Name, Session: v.name, Lanes: len(lanes), Share: share, Confirmed: lanes != nil,
	})
	if lanes != nil {
		w.laid = append(w.laid, laidArea{l.Polygon, lanes, shiftM, grown(spec, l.Polygon, laidReach*r.Settings.Position.Receiver.TotalM())})
	}
}

// grown is the cells of a polygon and those within m metres of it.
func grown(s grid.Spec, p grid.Polygon, m float64) *grid.Mask {
	out := grid.NewMask(s)
	out.FillPolygon(p)
	if len(p.Outer) > 0 {
		out.FillLine(append(slices.Clone(p.Outer), p.Outer[0]), grid.NewBrush(s.CellM, math.Min(m, 200*s.CellM)))
	}
	return out
}
