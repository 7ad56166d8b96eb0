package backdrop

import (
	"image"
	"image/color"
	"math"
)

// The light of the shading: from the north-west, halfway up, as on most maps.
const (
	lightAzimuthDeg  = 315
	lightAltitudeDeg = 45
)

// slope takes the rise of one column and of one row to the rise of one metre east and
// north. The zero value calls all ground flat.
type slope struct{ eastCol, eastRow, northCol, northRow float64 }

// slope is that of p's pixels where they lie, at their middle.
func (p Place) slope() slope {
	col, row, err := p.steps()
	d := float64(col.X*row.Y) - float64(row.X*col.Y)
	if err != nil || !(d != 0) {
		return slope{}
	}
	// The gradient goes with the inverse, transposed, of what takes pixels to metres.
	return slope{eastCol: row.Y / d, eastRow: -col.Y / d, northCol: -row.X / d, northRow: col.X / d}
}

// shaded is the hill shading of heights, width to a row: slopes by Horn's differences
// over the eight neighbours (B. K. P. Horn, 1981, Hill shading and the reflectance map,
// Proc. IEEE 69:14-47), the light of a matt surface. It is clear where there is no
// height; for a neighbour without one the middle stands.
func shaded(heights []float32, width int, s slope) *image.Paletted {
	m := image.NewPaletted(image.Rect(0, 0, width, len(heights)/width), greys())
	sinA, cosA := math.Sincos(lightAzimuthDeg * (math.Pi / 180))
	sinH, cosH := math.Sincos(lightAltitudeDeg * (math.Pi / 180))
	for i, h := range heights {
		if h != h {
			continue
		}
		dcol, drow := horn(heights, width, i)
		east, north := s.eastCol*dcol+s.eastRow*drow, s.northCol*dcol+s.northRow*drow
		light := (sinH - cosH*(float64(east*sinA)+float64(north*cosA))) / math.Sqrt(1+east*east+north*north)
		m.Pix[i] = uint8(math.Round(1 + 254*math.Max(0, light)))
	}
	return m
}

// horn is the rise of one column and of one row at place i.
func horn(heights []float32, width, i int) (dcol, drow float64) {
	var w [9]float64
	col, row, rows := i%width, i/width, len(heights)/width
	for k := range w {
		c, r := col+k%3-1, row+k/3-1
		w[k] = float64(heights[i])
		if c >= 0 && c < width && r >= 0 && r < rows {
			if h := heights[r*width+c]; h == h {
				w[k] = float64(h)
			}
		}
	}
	return ((w[2] + 2*w[5] + w[8]) - (w[0] + 2*w[3] + w[6])) / 8, ((w[6] + 2*w[7] + w[8]) - (w[0] + 2*w[1] + w[2])) / 8
}

// greys are 255 greys after one clear colour.
func greys() color.Palette {
	p := color.Palette{color.RGBA{}}
	for v := 1; v < 256; v++ {
		p = append(p, color.Gray{Y: uint8(v)})
	}
	return p
}
