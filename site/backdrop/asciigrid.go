package backdrop

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

func isASCIIGrid(data []byte) bool {
	return bytes.HasPrefix(bytes.ToLower(bytes.TrimLeft(data[:min(len(data), 64)], "\ufeff \t\r\n")), []byte("ncols"))
}

// words cuts text at white space.
type words struct{ rest []byte }

// next is the next word; empty at the end.
func (w *words) next() []byte {
	from := 0
	for from < len(w.rest) && w.rest[from] <= ' ' {
		from++
	}
	to := from
	for to < len(w.rest) && w.rest[to] > ' ' {
		to++
	}
	word := w.rest[from:to]
	w.rest = w.rest[to:]
	return word
}

// readASCIIGrid reads an ESRI ASCII grid: names with numbers, then heights row by row
// from the top.
func readASCIIGrid(data []byte) (*Picture, error) {
	w := &words{bytes.TrimPrefix(data, []byte("\ufeff"))}
	head, err := gridHead(w)
	if err != nil {
		return nil, err
	}
	p, err := head.picture(len(w.rest))
	if err != nil {
		return nil, err
	}
	for i := range p.Heights {
		word := w.next()
		if len(word) == 0 {
			return nil, fmt.Errorf("cut short: %d heights of %d", i, len(p.Heights))
		}
		v, err := strconv.ParseFloat(string(word), 64)
		if err != nil && !errors.Is(err, strconv.ErrRange) {
			return nil, fmt.Errorf("height %d: %.20q is not a number", i+1, word)
		}
		p.Heights[i] = height(v, head["nodata_value"])
	}
	if len(w.next()) > 0 {
		return nil, fmt.Errorf("more heights than %d rows of %d", p.Height, p.Width)
	}
	return p, nil
}

// height is NaN where v stands for none.
func height(v, none float64) float32 {
	h := float32(v)
	if v == none || h == float32(none) || math.IsInf(float64(h), 0) {
		return float32(math.NaN())
	}
	return h
}

type gridHeader map[string]float64

// gridHead reads names and numbers up to the first height.
func gridHead(w *words) (gridHeader, error) {
	head := gridHeader{"nodata_value": -9999}
	for {
		before := w.rest
		name := strings.ToLower(string(w.next()))
		switch name {
		case "ncols", "nrows", "xllcorner", "yllcorner", "xllcenter", "yllcenter", "cellsize", "dx", "dy", "nodata_value":
		default:
			w.rest = before
			return head, nil
		}
		v, err := strconv.ParseFloat(string(w.next()), 64)
		if err != nil || v-v != 0 && name != "nodata_value" {
			return nil, fmt.Errorf("%s is not a number", name)
		}
		head[name] = v
	}
}

// picture is the empty grid of the header; left are the bytes of the heights.
func (h gridHeader) picture(left int) (*Picture, error) {
	cols, rows := h["ncols"], h["nrows"]
	if !(cols >= 1 && rows >= 1 && cols <= MaxPixels && rows <= MaxPixels) || cols != math.Trunc(cols) || rows != math.Trunc(rows) {
		return nil, fmt.Errorf("%g columns and %g rows: not a grid that can be used", cols, rows)
	}
	p := &Picture{Width: int(cols), Height: int(rows)}
	if err := fitsIn(p.Width, p.Height, 4); err != nil {
		return nil, err
	}
	if left/2 < p.Width*p.Height-1 { // a digit and a space each
		return nil, fmt.Errorf("cut short: fewer heights than %d rows of %d", p.Height, p.Width)
	}
	dx, dy := h["dx"], h["dy"]
	if dx == 0 && dy == 0 {
		dx, dy = h["cellsize"], h["cellsize"]
	}
	if !(dx > 0 && dy > 0) {
		return nil, errors.New("the size of its cells is missing")
	}
	west, south, err := h.lowerLeft(dx, dy)
	if err != nil {
		return nil, err
	}
	p.Heights = make([]float32, p.Width*p.Height)
	p.Numbers = &Affine{X0: west, XCol: dx, Y0: south + rows*dy, YRow: -dy}
	return p, nil
}

// lowerLeft is the outer corner of the lower left cell.
func (h gridHeader) lowerLeft(dx, dy float64) (west, south float64, err error) {
	west, okX := h["xllcorner"]
	south, okY := h["yllcorner"]
	if x, ok := h["xllcenter"]; ok {
		west, okX = x-dx/2, true
	}
	if y, ok := h["yllcenter"]; ok {
		south, okY = y-dy/2, true
	}
	if !okX || !okY {
		return 0, 0, errors.New("the corner it is counted from is missing")
	}
	return west, south, nil
}
