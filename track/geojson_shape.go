package track

import (
	"bytes"
	"encoding/json"
	"math"
)

// shapeRead is the coordinates of one geometry, whose type may only come after them.
type shapeRead struct {
	depth int     // of the numbers: 1 in a point, 2 in a line, 3 in several
	fixes fixList // of the open line
	lines [][]Fix
}

func (s *shapeRead) endLine() {
	if fixes := s.fixes.take(); len(fixes) > 0 {
		s.lines = append(s.lines, fixes)
	}
}

// coordinates reads a tree of positions. The first tells how deep they all lie.
func (g *geoReader) coordinates(s *shapeRead) error {
	const deepest = 10
	is, err := g.begins('[', "coordinates")
	for level := 1; is && err == nil && level > 0; {
		if level == s.depth-1 {
			err = g.positions(s)
			level--
			continue
		}
		var tok json.Token
		tok, err = g.token()
		switch {
		case err != nil:
		case tok == json.Delim('['):
			level++
			if level > deepest {
				err = damage("coordinates nested too deep")
			}
		case tok == json.Delim(']'):
			level--
		case s.depth == 0:
			if err = g.firstPosition(s, tok); err == nil {
				s.depth = level
				level--
			}
		default:
			g.note(NoteBadField, "a position that is no array")
			err = g.skip(tok)
		}
	}
	return err
}

// firstPosition reads one that begins with tok, its bracket passed.
func (g *geoReader) firstPosition(s *shapeRead, tok json.Token) error {
	var numbers [3][]byte
	for n := 0; tok != json.Delim(']'); n++ {
		text := []byte("null")
		switch v := tok.(type) {
		case json.Number:
			text = []byte(v)
		case string:
			text = []byte(`"` + v + `"`)
		}
		if n < len(numbers) {
			numbers[n] = text
		}
		err := g.skip(tok)
		if err == nil {
			tok, err = g.token()
		}
		if err != nil {
			return err
		}
	}
	s.fixes.add(g.fix(numbers))
	return nil
}

// positions reads those left in the line, and its end.
func (g *geoReader) positions(s *shapeRead) error {
	for g.d.More() {
		raw, err := g.value()
		if err != nil {
			return err
		}
		s.fixes.add(g.position(raw))
	}
	if _, err := g.token(); err != nil {
		return err
	}
	s.endLine()
	return nil
}

// position reads an array of numbers; one that is something else gives a fix
// without a place, which the times go with.
func (g *geoReader) position(raw rawJSON) Fix {
	if len(raw) < 2 || raw[0] != '[' {
		g.note(NoteBadField, "a position that is no array")
		return NoFix
	}
	var numbers [3][]byte
	rest := raw[1 : len(raw)-1]
	for n := range numbers {
		end := bytes.IndexByte(rest, ',')
		if end < 0 {
			numbers[n] = bytes.TrimSpace(rest)
			break
		}
		numbers[n], rest = bytes.TrimSpace(rest[:end]), rest[end+1:]
	}
	return g.fix(numbers)
}

// fix makes one of a longitude, latitude and elevation as they stand in the file.
func (g *geoReader) fix(numbers [3][]byte) Fix {
	f := NoFix
	f.Pos.Lon = g.coordinate("longitude", numbers[0])
	f.Pos.Lat = g.coordinate("latitude", numbers[1])
	f.EleM = float32(g.coordinate("elevation", numbers[2]))
	return f
}

// coordinate reads a number, also one in quotes. Null is missing without a note.
func (g *geoReader) coordinate(what string, raw []byte) float64 {
	switch {
	case string(raw) == "null":
		return math.NaN()
	case string(raw) == `""`:
		g.badField(what, nil, "is not a number")
		return math.NaN()
	}
	return g.number(what, bytes.Trim(raw, `"`))
}
