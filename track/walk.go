package track

import "untrod/grid"

// Kind is what a walker was doing.
type Kind uint8

const (
	Lost      Kind = iota // no trustworthy fix: cannot tell
	Standing              // digging, resting
	Walking               // on the move, coil not in use
	Searching             // on the move, coil in use: the only kind that sweeps
)

var kindNames = [...]string{"lost", "standing", "walking", "searching"}

func (k Kind) String() string { return kindNames[k] }

// Point is a cleaned fix in a frame's metres.
type Point struct {
	grid.XY
	T    Instant // NoTime throughout a path without times
	AccM float32 // as in Fix
	HDOP float32 // as in Fix
}

// Leg is a stretch of a path of one kind: its points [From, To). The step that
// leads into a point belongs to that point's leg, so the line walked in a leg
// runs from point From-1 (from point 0 in the first leg) to point To-1.
type Leg struct {
	Kind     Kind
	From, To int
}

// Path is an unbroken stretch of a walk: no silence within it. Its legs cover
// its points one after another, each point in exactly one.
type Path struct {
	Points []Point
	Legs   []Leg
	Timed  bool
}

// Line returns the points of the line walked in a leg, the point that leads
// into it included where there is one. It shares memory with the path.
func (p Path) Line(l Leg) []Point { return p.Points[max(l.From-1, 0):l.To] }

// Walk is a cleaned and labelled recording, ready to be swept.
type Walk struct {
	Paths []Path
	Fixes int   // fixes read, before cleaning
	Notes Notes // what cleaning took out or flagged
}

// Settings of cleaning and leg labelling. DefaultSettings gives the defaults.
type Settings struct {
	JumpSpeedMS float64 // a fix that needs more than this both in and out is a jump; default 3
	SilenceS    float64 // a longer break parts the path; default 30
	FarM        float64 // a fix further than this from the datum is left out; default 25,000
	// TreatAs is the kind given to tracks without times, of which speed cannot
	// tell the kind; default Lost, so that they sweep nothing.
	TreatAs Kind
	Legs    LegSettings
}
