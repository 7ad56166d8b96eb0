package report

import (
	"image/color"

	"untrod/coverage"
	"untrod/grid"
)

// Layer is one way to show the ground on a screen: each cell that can be searched has
// one of a few classes, from light to dark, and each class a colour. Safe for concurrent
// use.
type Layer struct {
	Name, Title string
	Key         []KeyRow
	colours     []color.RGBA // by class; class 0 is clear: ground that cannot be searched
	dotted      uint8        // the class that is dotted, as on the map; 0 for none
	ground      *grid.Mask   // what can be searched
	fill        rowClasses
}

// rowClasses puts into out the classes of those cells of a row, from column
// tc x grid.TileSide on, whose bits are set in can; can is not 0. What it leaves in the
// other cells does not matter.
type rowClasses func(tc, row int, can uint64, out *[grid.TileSide]uint8)

// KeyRow explains one colour of a layer.
type KeyRow struct {
	Colour  string `json:"colour"` // as #99150D
	Words   string `json:"words"`
	Dots    string `json:"dots,omitempty"`    // colour of the dots on it
	Outline bool   `json:"outline,omitempty"` // the colour is that of a line round the ground
}

// depths are washes of the map's cool colour, from the lightest, which is that of ground
// swept once, on: the more, the darker. Sand, the colour of slivers, is none.
var depths = [...]color.RGBA{classColour[once], classColour[twice], classColour[more], hex(0x335E6C), hex(0x1A3F4D)}

// LayerNames are the layers that NewLayer makes.
var LayerNames = []string{"states", "chance", "passes", "seconds", "latest"}

// NewLayer makes the layer of a name, nil when there is none of it. Figures in its key
// are in units of u. It keeps a byte for each cell that was ever painted.
func NewLayer(r *coverage.Result, u Units, name string) *Layer {
	switch name {
	case "states":
		return statesLayer(r)
	case "chance":
		return chanceLayer(r)
	case "passes":
		return passesLayer(r)
	case "seconds":
		return secondsLayer(r, u)
	case "latest":
		return latestLayer(r)
	}
	return nil
}

func newLayer(r *coverage.Result, name, title string, fill rowClasses) *Layer {
	return &Layer{Name: name, Title: title, colours: []color.RGBA{{}}, ground: r.Searchable, fill: storing(r.Searchable, fill)}
}

// class adds the next darker class to a layer and its key.
func (l *Layer) class(c color.RGBA, words string) *KeyRow {
	l.colours = append(l.colours, c)
	l.Key = append(l.Key, KeyRow{Colour: hexOf(c), Words: words})
	return &l.Key[len(l.Key)-1]
}

// ramp adds sand for none and a wash for each of the words.
func (l *Layer) ramp(none string, words []string) {
	l.class(classColour[sliver], none)
	for i, w := range words {
		l.class(depths[i], w)
	}
}

func hexOf(c color.RGBA) string {
	const digits = "0123456789ABCDEF"
	out := []byte{'#'}
	for _, v := range []uint8{c.R, c.G, c.B} {
		out = append(out, digits[v>>4], digits[v&15])
	}
	return string(out)
}
