package track

import (
	"bytes"
	"fmt"
	"math"
)

// row makes a fix of the row that was cut last.
func (c *csvReader) row() {
	if c.blank(0) {
		return
	}
	if len(c.cut.fields) > c.width && !c.blank(c.width) {
		c.badRow(false)
		return
	}
	c.rows++
	if len(c.field(columnLat)) == 0 && len(c.field(columnLon)) == 0 {
		c.note(NoteNoPosition, "a row without a position")
		return
	}
	lat, latOK := c.angle(columnLat, 90, 'N', 'S')
	lon, lonOK := c.angle(columnLon, 180, 'E', 'W')
	if !latOK || !lonOK {
		c.badRow(true)
		return
	}
	fix := NoFix
	fix.Pos.Lat, fix.Pos.Lon, fix.T = lat, lon, c.time()
	fix.EleM = float32(c.length(columnEle))
	c.measures(&fix)
	c.keep(fix)
}

// badRow notes a row that is left out for its position, or else for its number of
// fields, if it is no comment.
func (c *csvReader) badRow(position bool) {
	if bytes.HasPrefix(c.cut.fields[0], []byte("#")) {
		return
	}
	c.log.Notes.Add(NoteBadRow, func() string {
		if position {
			return c.where() + "position " + quoted(c.text(columnLat)) + ", " + quoted(c.text(columnLon)) + " is not two angles"
		}
		return fmt.Sprintf("%s%d fields, not %d", c.where(), len(c.cut.fields), c.width)
	})
}

// blank reports whether the row's fields from i on are all empty.
func (c *csvReader) blank(i int) bool {
	for _, f := range c.cut.fields[i:] {
		if len(f) > 0 {
			return false
		}
	}
	return true
}

// angle reads an angle; limit is what makes one count as read.
func (c *csvReader) angle(m column, limit float64, plus, minus byte) (v float64, ok bool) {
	text := c.field(m)
	v, ok = parseAngle(text, plus, minus)
	c.count(m, ok && math.Abs(v) <= limit)
	return v, ok
}

// count keeps account of a value that is not empty.
func (c *csvReader) count(m column, read bool) {
	t := &c.tally[m]
	t.tried++
	if read {
		t.read++
	} else if t.read == 0 && t.bad == "" {
		t.bad = quoted(c.text(m)) + " in line " + fmt.Sprint(c.src.line())
	}
}

func (c *csvReader) measures(fix *Fix) {
	for _, f := range [...]struct {
		m  column
		to *float32
	}{{columnHDOP, &fix.HDOP}, {columnPDOP, &fix.PDOP}, {columnAccuracy, &fix.AccM}} {
		if v := c.length(f.m); v < 0 {
			c.badField(f.m, "is negative")
		} else {
			*f.to = float32(v)
		}
	}
	switch v := c.length(columnSats); {
	case v != v:
	case v < 0 || v > math.MaxInt16 || v != math.Trunc(v):
		c.badField(columnSats, "is not a count")
	default:
		fix.Sats = int16(v)
	}
}

// length reads a number, in metres if its column is one of feet; NaN without a
// note where there is none.
func (c *csvReader) length(m column) float64 {
	text := c.field(m)
	if len(text) == 0 {
		return math.NaN()
	}
	v, ok := parseNumber(text)
	if !ok {
		thousands := m == columnEle && c.delimiter == ',' && bytes.IndexByte(text, ',') == len(text)-4
		if v, ok = parseCommaNumber(text); thousands {
			ok = false
		}
	}
	c.count(m, ok)
	if !ok {
		c.badField(m, "is not a number")
		return math.NaN()
	}
	if c.feet[m] {
		v *= 0.3048 // the international foot
	}
	return v
}
