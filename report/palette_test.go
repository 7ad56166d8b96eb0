package report

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Colour vision without red or green cones: Machado, Oliveira and Fernandes
// 2009, "A physiologically-based model for simulation of color vision
// deficiency", IEEE TVCG 15(6):1291, doi:10.1109/TVCG.2009.113, severity 1.0,
// on linear RGB.
var eyes = map[string][3][3]float64{
	"all cones": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protan":    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deutan":    {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
}

// luminance is the relative luminance of WCAG 2.2 and IEC 61966-2-1 (sRGB).
func luminance(c color.RGBA, eye [3][3]float64) float64 {
	linear := func(v uint8) float64 {
		if x := float64(v) / 255; x > 0.04045 {
			return math.Pow((x+0.055)/1.055, 2.4)
		}
		return float64(v) / 255 / 12.92
	}
	in := [3]float64{linear(c.R), linear(c.G), linear(c.B)}
	y := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v := eye[i][0]*in[0] + eye[i][1]*in[1] + eye[i][2]*in[2]
		y += weight * min(max(v, 0), 1)
	}
	return y
}

// lightness is L* of CIE 1976 (ISO/CIE 11664-4), 0 to 100.
func lightness(c color.RGBA, eye [3][3]float64) float64 {
	y := luminance(c, eye)
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

// minStep of L* keeps flat patches apart side by side in grey print; the paper
// and the slivers have a line between them and may be a little closer.
const (
	minStep      = 11.5
	minPaperStep = 10
)

func TestClassesKeepApartInLightness(t *testing.T) {
	for name, eye := range eyes {
		t.Run(name, func(t *testing.T) {
			for cl := sliver; cl < classes; cl++ {
				lighter, need := classColour[cl-1], minStep
				if cl == sliver {
					lighter, need = paper, minPaperStep
				}
				step := lightness(lighter, eye) - lightness(classColour[cl], eye)
				require.GreaterOrEqual(t, step, need, "%s below the one before", classWords[cl])
			}
		})
	}
}

// The three states lie far apart, and dots tell doubt from all flat colours.
func TestStatesKeepApart(t *testing.T) {
	for name, eye := range eyes {
		t.Run(name, func(t *testing.T) {
			l := func(c class) float64 { return lightness(classColour[c], eye) }
			require.GreaterOrEqual(t, l(doubt)-l(surely), 22.0)
			require.GreaterOrEqual(t, l(surely)-l(untrodden), 22.0)
			require.GreaterOrEqual(t, l(doubt)-lightness(dotInk, eye), 40.0)
		})
	}
}

// Contrast of words and signs: WCAG 2.2, success criteria 1.4.3 (4.5:1 for
// text) and 1.4.11 (3:1 for signs).
func TestContrast(t *testing.T) {
	for _, c := range []struct {
		name   string
		fg, bg color.RGBA
		min    float64
	}{
		{"words on paper", ink, paper, 7},
		{"notes on paper", softInk, paper, 4.5},
		{"number in a gap", paper, classColour[gap], 4.5},
		{"number on a tag", gapEdge, paper, 7},
		{"number of a gap in doubt", gapEdge, classColour[doubt], 7},
		{"dots of doubt", dotInk, classColour[doubt], 4.5},
		{"untrodden beside surely swept", classColour[untrodden], classColour[surely], 2.5},
		{"untrodden beside doubt", classColour[untrodden], classColour[doubt], 4.5},
		{"gap beside ground swept once", classColour[gap], classColour[once], 3},
		{"gap beside paper", classColour[gap], paper, 4.5},
		{"hatching of a keep-out", keepoutInk, keepout, 2.5},
		{"edge of the site on ground swept often", ink, classColour[more], 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, b := luminance(c.fg, eyes["all cones"]), luminance(c.bg, eyes["all cones"])
			require.GreaterOrEqual(t, (max(a, b)+0.05)/(min(a, b)+0.05), c.min)
		})
	}
}

// Known values: sRGB white, black, and mid grey 119, whose L* is 50.0 (from
// memory; it follows from the formulas).
func TestLightness(t *testing.T) {
	require.InDelta(t, 100, lightness(hex(0xFFFFFF), eyes["all cones"]), 1e-3)
	require.InDelta(t, 0, lightness(hex(0x000000), eyes["all cones"]), 1e-9)
	require.InDelta(t, 50.0, lightness(hex(0x777777), eyes["all cones"]), 0.1)
	for _, eye := range eyes { // greys look the same to every eye
		require.InDelta(t, 50.0, lightness(hex(0x777777), eye), 0.1)
	}
}
