package report

import "image/color"

// class is what a cell is drawn as. The order is that of lightness, light to
// dark, so that the classes keep apart in grey print and to every eye.
type class uint8

const (
	outside class = iota
	sliver
	once
	twice
	more
	gap
	classes // how many there are
)

// Colours of the map. docs/look.md says why these; palette_test.go holds them
// to it.
var (
	paper      = hex(0xFCFAF3)
	ink        = hex(0x1F2A2C)
	softInk    = hex(0x5A6365)
	gapEdge    = hex(0x4A0A05)
	keepout    = hex(0xE4DFD3)
	keepoutInk = hex(0x8A8375)
	dotInk     = hex(0x6E5A2B)

	classColour = [classes]color.RGBA{
		outside: {}, // nothing: the paper shows
		sliver:  hex(0xE8DBB9),
		once:    hex(0x9ABCBE),
		twice:   hex(0x719DA4),
		more:    hex(0x507D8A),
		gap:     hex(0x99150D),
	}
)

var classWords = [classes]string{
	sliver: "not swept: too small to bother",
	once:   "swept once",
	twice:  "swept twice",
	more:   "three times or more",
	gap:    "not swept: gap",
}

func hex(rgb uint32) color.RGBA {
	return color.RGBA{R: uint8(rgb >> 16), G: uint8(rgb >> 8), B: uint8(rgb), A: 255}
}

// palette is classColour as the image packages want it.
func palette() color.Palette {
	p := make(color.Palette, classes)
	for i, c := range classColour {
		p[i] = c
	}
	return p
}
