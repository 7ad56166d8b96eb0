package report

import (
	"image"
	"math"
)

// Dots are stippleSide pixels on a side, in rows stippleStep apart, every other row shifted by
// half: about as dense as on the map.
const (
	stippleSide = 2
	stippleStep = 6
)

// dot lays dots on the dotted class, in places counted from the frame's datum, so that
// they go on across the edge of a picture.
func (l *Layer) dot(v Lens, img *image.Paletted) {
	x0, y0 := int(math.Round(v.NorthWest.X/v.PixelM)), int(math.Round(-v.NorthWest.Y/v.PixelM))
	ink := uint8(len(l.colours))
	for j := range v.Side {
		row := mod(y0+j, 2*stippleStep)
		if row%stippleStep >= stippleSide {
			continue
		}
		shift := row / stippleStep * stippleStep
		line := img.Pix[j*img.Stride:][:v.Side]
		for i, cl := range line {
			if cl == l.dotted && mod(x0+i+shift, 2*stippleStep) < stippleSide {
				line[i] = ink
			}
		}
	}
}

func mod(a, n int) int { return ((a % n) + n) % n }
