package backdrop

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ReadWorld reads a world file: six numbers, one a line: the step of x with a column,
// of y with a column, of x with a row, of y with a row, and x and y of the middle of
// the upper left pixel.
func ReadWorld(text []byte) (Affine, error) {
	words := strings.Fields(strings.TrimPrefix(string(text[:min(len(text), 4096)]), "\ufeff"))
	if len(words) != 6 {
		return Affine{}, fmt.Errorf("world file of %d numbers: it must have six", len(words))
	}
	var n [6]float64
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil || v-v != 0 {
			return Affine{}, fmt.Errorf("world file, line %d: %q is not a number", i+1, w)
		}
		n[i] = v
	}
	a := Affine{XCol: n[0], YCol: n[1], XRow: n[2], YRow: n[3], X0: n[4], Y0: n[5]}
	if d := a.det(); d == 0 || d-d != 0 {
		return Affine{}, errors.New("world file whose pixels have no size")
	}
	return a.from(-0.5, -0.5), nil
}
