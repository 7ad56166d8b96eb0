package track

import (
	"bytes"
	"math"
	"strconv"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// parseNumber reads a plain decimal number, correctly rounded. Digits, sign,
// point and exponent only: "NaN", "inf" and hexadecimal are refused, and so is
// what is larger than a float32 holds.
//
// Digits that fit 53 bits over an exact power of ten need a single rounding, that
// of the division (Clinger 1990, How to read floating point numbers accurately);
// the rest goes to strconv.
func parseNumber(b []byte) (float64, bool) {
	i, negative := 0, false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		i, negative = 1, b[0] == '-'
	}
	mantissa, digits, decimals, point := uint64(0), 0, 0, false
	for ; i < len(b); i++ {
		switch c := b[i]; {
		case c-'0' <= 9:
			mantissa = mantissa*10 + uint64(c-'0')
			digits++
			if point {
				decimals++
			}
		case c == '.' && !point:
			point = true
		default:
			return parseOddNumber(b)
		}
	}
	if digits == 0 || digits > 18 || mantissa >= 1<<53 {
		return parseOddNumber(b)
	}
	v := float64(mantissa) / tens[decimals]
	if negative {
		v = -v
	}
	return v, true
}

func parseOddNumber(b []byte) (float64, bool) {
	for _, c := range b {
		if c-'0' > 9 && c != '.' && c != '-' && c != '+' && c|0x20 != 'e' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(b), 64)
	return v, err == nil && math.Abs(v) <= math.MaxFloat32
}

// parseCommaNumber reads a number whose decimal mark is a comma: one comma, no
// point, a digit on either side.
func parseCommaNumber(b []byte) (float64, bool) {
	i := bytes.IndexByte(b, ',')
	if i < 1 || i == len(b)-1 || b[i-1]-'0' > 9 || b[i+1]-'0' > 9 || bytes.IndexByte(b, '.') >= 0 {
		return 0, false
	}
	pointed := bytes.Clone(b)
	pointed[i] = '.'
	return parseNumber(pointed)
}
