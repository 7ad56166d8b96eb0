package book

import (
	"encoding/binary"
	"math"
)

// scale turns whole numbers k into floats: k * mul / div. Neither step but the
// last rounds for the numbers that are used.
type scale struct{ mul, div float64 }

// scales in the order they are tried. Readers make
// each number of a text in one rounding, which these repeat: decimal degrees, and
// metres, as k / 10^d; minutes and seconds of arc as k / (60 * 10^d) and
// k / (3600 * 10^d); and the 2^31 semicircles of FIT as k * 180 / 2^31. A place in
// this list is part of the format.
var scales = func() []scale {
	var all []scale
	add := func(unit float64, from, to int) {
		for d := from; d <= to; d++ {
			all = append(all, scale{1, unit * math.Pow10(d)})
		}
	}
	add(1, 0, 9)
	all = append(all, scale{180, 1 << 31})
	add(60, 0, 9)
	add(3600, 0, 6)
	add(1, 10, 14) // last: with 14 decimals most numbers are exact by chance
	return all
}()

// asBits says that a column holds the bits themselves, not numbers of a scale.
const asBits = 255

// rebuild is the value of k as a float of so many bits.
func (s scale) rebuild(k int64, bits uint) uint64 {
	v := float64(k) * s.mul / s.div
	if bits == 32 {
		return bits32(float32(v))
	}
	return math.Float64bits(v)
}

// nearest is the k whose value is nearest to v; ok is false where k is too large to
// be exact.
func (s scale) nearest(v float64) (k int64, ok bool) {
	r := math.RoundToEven(v * s.div / s.mul)
	return int64(r), math.Abs(r) < 1<<53
}

func floatOf(v uint64, bits uint) float64 {
	if bits == 32 {
		return float64(from32(v))
	}
	return math.Float64frombits(v)
}

// special values have no whole number on any scale: what is not finite, and -0.
func special(f float64) bool { return f-f != 0 || f == 0 && math.Signbit(f) }

// scaleOf is the first scale on which every value comes back bit for bit but the
// special ones; asBits when there is none, or they are all the same.
func scaleOf(values []uint64, bits uint) int {
	if bits == 0 || constant(values) {
		return asBits
	}
next:
	for i, s := range scales {
		for _, v := range values {
			f := floatOf(v, bits)
			if special(f) {
				continue
			}
			if k, ok := s.nearest(f); !ok || s.rebuild(k, bits) != v {
				continue next
			}
		}
		return i
	}
	return asBits
}

func constant(values []uint64) bool {
	for _, v := range values {
		if v != values[0] {
			return false
		}
	}
	return true
}

// appendColumn writes a column: its scale; the special values, where there is
// one, by their distance and bits; and the difference of each number from the one
// before, a special value having that of the one before.
func appendColumn(raw []byte, values []uint64, bits uint) []byte {
	which := scaleOf(values, bits)
	raw = append(raw, byte(which))
	numbers := values
	if which != asBits {
		var specials []byte
		var count, last uint64
		var k int64
		numbers = make([]uint64, len(values))
		for i, v := range values {
			if f := floatOf(v, bits); special(f) {
				specials = binary.AppendUvarint(specials, uint64(i)-last)
				specials = binary.AppendUvarint(specials, v)
				count, last = count+1, uint64(i)
			} else {
				k, _ = scales[which].nearest(f)
			}
			numbers[i] = uint64(k)
		}
		raw = append(binary.AppendUvarint(raw, count), specials...)
	}
	var last uint64
	for _, v := range numbers {
		raw = binary.AppendVarint(raw, int64(v-last)) // wraps round, and back
		last = v
	}
	return raw
}

// column reads a column into values.
func (r *byteReader) column(values []uint64, bits uint) {
	which := int(asBits)
	if b := r.bytes(1); b != nil {
		which = int(b[0])
	}
	if which != asBits && (which >= len(scales) || bits == 0) {
		r.bad = true
		return
	}
	at, specials := r.specials(which, len(values))
	var last uint64
	for i := range values {
		last += uint64(r.varint())
		if values[i] = last; which != asBits {
			values[i] = scales[which].rebuild(int64(last), bits)
		}
	}
	for i, at := range at {
		values[at] = specials[i]
	}
}

// specials reads where the special values of a column stand, and their bits.
func (r *byteReader) specials(which, n int) (at []int, bits []uint64) {
	if which == asBits {
		return nil, nil
	}
	last := uint64(0)
	for count := r.uvarint(); count > 0 && !r.bad; count-- {
		last += r.uvarint()
		v := r.uvarint()
		if r.bad = r.bad || last >= uint64(n); !r.bad {
			at, bits = append(at, int(last)), append(bits, v)
		}
	}
	return at, bits
}

func (r *byteReader) varint() int64 {
	v, n := binary.Varint(r.rest)
	if n <= 0 {
		r.bad, r.rest = true, nil
		return 0
	}
	r.rest = r.rest[n:]
	return v
}
