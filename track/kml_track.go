package track

import (
	"bytes"
	"fmt"
)

func (k *kmlReader) endWhen(text []byte) {
	f := NoFix
	k.setTime(&f, text)
	switch {
	case k.top() == elSegment:
		k.times = append(k.times, f.T)
	case !k.mark.T.Known():
		k.mark.T = f.T
	}
}

// endCoord adds a position to the open Track, for now with the time that came since
// the position before.
func (k *kmlReader) endCoord(text []byte) {
	var numbers [3][]byte
	n := 0
	if !bytes.ContainsAny(text, xmlBlanks) && bytes.Count(text, []byte(",")) > 1 {
		numbers, n, _ = cutTuple(text)
	} else {
		for number := range bytes.FieldsSeq(text) {
			if n < len(numbers) {
				numbers[n] = bytes.TrimSuffix(number, []byte(","))
			}
			n++
		}
	}
	f := k.position(numbers, n)
	if len(k.times) > k.last {
		f.T = k.times[len(k.times)-1]
	}
	if k.last = len(k.times); k.fixes.len() == 0 {
		k.first = k.last
	}
	k.fixes.add(f)
}

// pair gives the open Track's positions their times.
func (k *kmlReader) pair() {
	n := k.fixes.len()
	if n != len(k.times) {
		if !k.cut {
			k.note(NoteBadField, fmt.Sprintf("%d times for %d positions", len(k.times), n))
		}
		if k.first == 1 && k.last > 1 {
			return // by turns
		}
	}
	for i := range n {
		t := NoTime
		if i < len(k.times) {
			t = k.times[i]
		}
		k.fixes.at(i).T = t
	}
}

// endCoordinates reads the coordinates of a point or a line.
func (k *kmlReader) endCoordinates(text []byte) {
	for len(text) > 0 {
		numbers, n, rest := cutTuple(text)
		text = bytes.TrimLeft(rest, xmlBlanks)
		f := k.position(numbers, n)
		if k.top() == elLine {
			k.fixes.add(f)
			continue
		}
		k.point, k.placed = f, true
		if len(text) > 0 {
			k.badField("coordinates", rest, "are of more than one point")
		}
		return
	}
}

// position makes a fix of the longitude, latitude and elevation among n numbers.
func (k *kmlReader) position(numbers [3][]byte, n int) Fix {
	f := NoFix
	f.Pos.Lon = k.number("longitude", numbers[0])
	f.Pos.Lat = k.number("latitude", numbers[1])
	f.EleM = float32(k.number("elevation", numbers[2]))
	if n > len(numbers) {
		k.note(NoteBadField, fmt.Sprintf("%d numbers for a position", n))
	}
	return f
}

// cutTuple cuts n numbers parted by commas off text, which does not begin with a
// blank. There may be blanks, but no line end, about the commas within a tuple; after
// three numbers, or at a line's end, a comma is as good as the blank after it.
func cutTuple(text []byte) (numbers [3][]byte, n int, rest []byte) {
	const blanks = " \t"
	for {
		end := 0
		for end < len(text) && text[end] != ',' && !isBlank(text[end]) {
			end++
		}
		if n < len(numbers) {
			numbers[n] = text[:end]
		}
		n++
		rest = text[end:]
		next, more := bytes.CutPrefix(bytes.TrimLeft(rest, blanks), []byte(","))
		if !more {
			return numbers, n, rest
		}
		text = bytes.TrimLeft(next, blanks)
		if len(text) == 0 || isBlank(text[0]) || n >= len(numbers) && len(text) < len(next) {
			return numbers, n, text
		}
	}
}

// withoutLastTuple cuts off what may not be a whole tuple.
func withoutLastTuple(text []byte) []byte {
	for {
		end := bytes.LastIndexAny(text, xmlBlanks) + 1
		last := text[end:]
		text = bytes.TrimRight(text[:end], xmlBlanks)
		if !bytes.HasPrefix(last, []byte(",")) && !bytes.HasSuffix(text, []byte(",")) {
			return text
		}
	}
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\n' }
