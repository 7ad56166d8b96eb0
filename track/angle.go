package track

import "bytes"

// Angles with minutes or seconds become degrees in one way only, so that equal
// text gives equal bits and the text can be found again from the value: with k
// decimals, the whole angle is an integer n of units of 10^-k minutes (or seconds),
// and its value is float64(n) / float64(60 * 10^k) (or 3600 * 10^k), a single
// rounding, since both stay below 2^53. Decimals beyond the mostDecimals-th are cut
// off; that is less than 1e-6 m on the ground.
const (
	mostDecimals = 10
	mostDegrees  = 249 // 249 * 3600 * 10^10 < 2^53
)

// digits are an unsigned decimal number: whole and the units of its decimals.
type digits struct {
	whole, fraction, scale uint64 // fraction / scale is the part after the point
	decimals               int
}

// parseDigits reads an unsigned plain decimal of up to 6 digits before the point.
func parseDigits(b []byte) (d digits, ok bool) {
	d.scale = 1
	point, count := false, 0
	for _, c := range b {
		switch {
		case c-'0' > 9 && (point || c != '.'):
			return d, false
		case c == '.':
			point = true
		case !point:
			d.whole = 10*d.whole + uint64(c-'0')
			count++
		case d.decimals < mostDecimals:
			d.fraction = 10*d.fraction + uint64(c-'0')
			d.scale *= 10
			d.decimals++
		}
	}
	return d, count > 0 && count <= 6
}

// parseDegreesMinutes reads an angle as NMEA 0183 writes it: the two digits before
// the point are whole minutes, what is before them whole degrees.
func parseDegreesMinutes(b []byte) (degrees float64, decimals int, ok bool) {
	d, ok := parseDigits(b)
	deg, minutes := d.whole/100, d.whole%100
	if !ok || deg > mostDegrees || minutes > 59 {
		return 0, 0, false
	}
	return float64((deg*60+minutes)*d.scale+d.fraction) / float64(60*d.scale), d.decimals, true
}

// parseAngle reads a latitude or longitude as people write them, in degrees: 47.25,
// -3,5, N 51 30.208, 51°30'12.5"N. plus and minus are the letters of its two
// hemispheres. Degrees, minutes and seconds may be parted by spaces, colons and
// any of the usual signs; only the last may have decimals.
func parseAngle(b []byte, plus, minus byte) (degrees float64, ok bool) {
	if degrees, ok = parseNumber(b); ok {
		return degrees, true
	}
	b, negative, ok := signed(bytes.TrimSpace(b), plus, minus)
	if !ok {
		return 0, false
	}
	if degrees, ok = parseParts(b); negative {
		degrees = -degrees
	}
	return degrees, ok
}

// signed takes the hemisphere or the sign off an angle; it may not have both.
func signed(b []byte, plus, minus byte) (rest []byte, negative, ok bool) {
	marks := 0
	letter := func(c byte) bool {
		up := c &^ 0x20
		negative = negative || up == minus
		return up == plus || up == minus
	}
	if len(b) > 1 && letter(b[0]) {
		b, marks = bytes.TrimSpace(b[1:]), marks+1
	}
	if n := len(b); n > 1 && letter(b[n-1]) {
		b, marks = bytes.TrimSpace(b[:n-1]), marks+1
	}
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		negative = negative || b[0] == '-'
		b, marks = b[1:], marks+1
	}
	return b, negative, marks < 2
}

// parseParts reads up to three numbers as degrees, minutes and seconds.
func parseParts(b []byte) (degrees float64, ok bool) {
	var parts [3]digits
	n := 0
	for len(b) > 0 {
		number := b[:numberLength(b)]
		if n == 3 || len(number) == 0 || n > 0 && parts[n-1].decimals > 0 {
			return 0, false
		}
		if i := bytes.IndexByte(number, ','); i >= 0 {
			number = bytes.Clone(number)
			number[i] = '.'
		}
		if parts[n], ok = parseDigits(number); !ok {
			return 0, false
		}
		b = afterSign(b[len(number):])
		n++
	}
	return joined(parts, n)
}

func joined(parts [3]digits, n int) (degrees float64, ok bool) {
	d, m, s := parts[0], parts[1], parts[2]
	if n == 0 || d.whole > mostDegrees || m.whole > 59 || s.whole > 59 {
		return 0, false
	}
	switch n {
	case 1:
		return float64(d.whole*d.scale+d.fraction) / float64(d.scale), true
	case 2:
		return float64((d.whole*60+m.whole)*m.scale+m.fraction) / float64(60*m.scale), true
	}
	return float64((d.whole*3600+m.whole*60+s.whole)*s.scale+s.fraction) / float64(3600*s.scale), true
}

// numberLength is how much of b's beginning may be a number.
func numberLength(b []byte) int {
	n := 0
	for n < len(b) && (b[n]-'0' <= 9 || b[n] == '.' || b[n] == ',') {
		n++
	}
	return n
}

// angleSigns part or end the numbers of an angle; \xb0 and \xba are the degree signs
// of Latin-1.
var angleSigns = []string{" ", "\t", "'", `"`, ":", "\xb0", "\xba", "°", "º", "˚", "′", "″", "’", "”", "‘", "“", "´"}

// afterSign takes the signs off the beginning of b.
func afterSign(b []byte) []byte {
again:
	for _, s := range angleSigns {
		if rest, found := bytes.CutPrefix(b, []byte(s)); found {
			b = rest
			goto again
		}
	}
	return b
}
