package coverage

import (
	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// PassShare is the share of the searchable ground passed over so many times.
type PassShare struct {
	Passes  int
	Percent float64
}

// Session is what one visit did. Ground is counted inside the searchable
// ground only; metres and seconds are of the whole visit.
type Session struct {
	Name   string
	File   string
	SHA256 string // of the file's bytes as given, in hex
	Walker string // who carried the receiver; empty when not said
	Fixes  int    // as read; each is in one leg or one note
	Start  track.Instant
	End    track.Instant
	// Seconds and Metres by leg kind, indexed by track.Kind.
	Seconds, Metres [4]float64
	SwathM2         float64 // searching metres on searchable ground x swath
	PassM2          float64 // ground passed over, each pass counted
	NewGroundM2     float64 // of it, ground no earlier visit or pass had swept
	RewalkedPercent float64 // share of PassM2 that was not new; 0 when PassM2 is 0
	Ties            int     // moments at a mark
	TieM            float64 // how far they moved the session, metres; 0 without ties
	RoughM          float64 // rough part of the receiver's error, per axis, found from its log; 0 when positions are taken as perfect
}

// Gap is a connected piece of unswept searchable ground worth walking.
type Gap struct {
	ID      int // 1 is the largest
	AreaM2  float64
	InDoubt bool // not untrodden, only not surely swept
	// ChanceSwept is the mean chance that its ground was swept after all, and
	// UntroddenM2 its ground whose chance is at or below UntroddenChance; 0 and
	// AreaM2 when positions are taken as perfect.
	ChanceSwept, UntroddenM2 float64
	WidestM                  float64 // diameter of the largest circle that fits in
	CentreXY                 grid.XY // middle of that circle, inside the gap
	Centre                   grid.LonLat
	Outline                  []grid.Polygon // simplified, metres; usually one
	Cells                    []grid.Run     // exact cells, At unused
}

// LaidOutGround is ground declared as walked in lanes, for one session.
type LaidOutGround struct {
	Name, Session string
	Lanes         int
	Share         float64 // searching inside it / what the lanes take; 0.7 confirms
	Confirmed     bool    // the lanes count as walked, on the declaration
}

// LaneProposal is a block of parallel lanes recognised in a session's log. It
// counts for nothing until the user declares it.
type LaneProposal struct {
	Session string
	Block   track.LaneBlock
	LaidOut site.LaidOut // ready for the site file
}

// FileNote is a note with the file it is about.
type FileNote struct {
	File string
	track.Note
}

// Skipped is an input that could not be used at all, and why.
type Skipped struct {
	File string
	Err  error
}

// Result is everything one assessment found. All areas are counted in cells of
// Spec, so that swept + gaps + slivers = searchable holds exactly.
type Result struct {
	Site       site.Site
	Local      site.Local
	OwnOutline bool // no site was given: the boundary was drawn round the searched ground
	Frame      grid.Frame
	Spec       grid.Spec
	Settings   Settings // as used: CellM and MinGapM filled in
	CellChosen string   // why the cell is coarser than asked or usual; empty when it is not

	Searchable *grid.Mask // boundary less keep-outs
	Swept      *grid.Mask // searchable ground inside at least one swath
	Tally      *Tally

	BoundaryM2, KeepoutM2, SearchableM2, SweptM2 float64
	AsLoggedPercent                              float64
	Passes                                       []PassShare   // 0, 1, 2 ... up to the most passes found
	Certainty                                    *Certainty    // nil when positions are taken as perfect
	Thoroughness                                 *Thoroughness // nil unless coil and swing are known
	Detection                                    *Detection    // nil unless asked for
	Comparison                                   *Comparison   // nil without Settings.Zones

	EffortM2            float64 // searching metres on searchable ground x swath
	CoverageFactor      float64 // EffortM2 / SearchableM2
	RandomSearchPercent float64
	RewalkedPercent     float64

	Sessions []Session // in order of time
	Gaps     []Gap     // largest first
	Slivers  Slivers
	LaidOut  []LaidOutGround
	Lanes    []LaneProposal
	Notes    []FileNote
	Skipped  []Skipped
	Copies   []Copy // visits that another log tells of too, in order of time

	LeftOut      []Session // visits left out by Settings.Without, in order of time; what they did is not counted, and 0
	LeftOutFinds int       // finds of Input made in them, not compared
}

// Untrodden returns the gaps to go to: all of them when positions are taken as
// perfect, else those that are not only in doubt.
func (r *Result) Untrodden() []Gap {
	n := 0
	for n < len(r.Gaps) && !r.Gaps[n].InDoubt {
		n++
	}
	return r.Gaps[:n]
}

// Slivers is the unswept ground in no gap.
type Slivers struct {
	Count  int
	AreaM2 float64
}
