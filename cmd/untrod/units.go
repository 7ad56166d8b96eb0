package main

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// quantity is a kind of measure as typed on the command line: a number and
// one of these units, given by its size in SI.
type quantity struct {
	noun, example string
	units         map[string]float64
}

// The foot is the international one, 0.3048 m exactly.
var (
	lengths = &quantity{"a length", "1.5m, 150cm, 28 cm, 5ft or 11in", map[string]float64{
		"m": 1, "cm": 0.01, "mm": 0.001, "km": 1000, "ft": 0.3048, "in": 0.0254, "yd": 0.9144,
	}}
	areas = &quantity{"an area", "2m2 or 20sqft", map[string]float64{
		"m2": 1, "m²": 1, "sqm": 1, "cm2": 1e-4, "cm²": 1e-4, "ha": 10_000,
		"ft2": 0.3048 * 0.3048, "ft²": 0.3048 * 0.3048, "sqft": 0.3048 * 0.3048,
		"yd2": 0.9144 * 0.9144, "sqyd": 0.9144 * 0.9144,
	}}
	speeds = &quantity{"a speed", "0.9m/s, 3km/h or 2mph", map[string]float64{
		"m/s": 1, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "ft/s": 0.3048, "mph": 0.44704,
	}}
	times  = &quantity{"a time", "1.2s", map[string]float64{"s": 1, "ms": 0.001, "min": 60}}
	shares = &quantity{"a share", "0.7 or 70%", map[string]float64{"": 1, "%": 0.01}}
)

// parse reads a number with its unit and returns the value in SI. Blanks are
// free, the decimal mark may be a point or a comma, capitals do not matter. A
// bare number is refused unless it is a share, and so is a comma that could stand for thousands.
func (q *quantity) parse(s string) (float64, error) {
	text := strings.ToLower(strings.Join(strings.Fields(s), ""))
	cut := strings.IndexFunc(text, func(r rune) bool { return !strings.ContainsRune("0123456789.,+-", r) })
	if cut < 0 {
		cut = len(text)
	}
	number, unit := text[:cut], text[cut:]
	if whole, rest, ok := strings.Cut(number, ","); ok && len(rest) == 3 && strings.Trim(whole, "+-0") != "" {
		return 0, errors.New("the comma could mean thousands: use a point for decimals and no mark for thousands")
	}
	v, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, fmt.Errorf("not %s, such as %s", q.noun, q.example)
	}
	size, ok := q.units[unit]
	if unit == "" && !ok {
		return 0, fmt.Errorf("%s needs its unit, such as %s", q.noun, q.example)
	}
	if !ok {
		return 0, fmt.Errorf("unit %q is not one of %s", unit, q.unitNames())
	}
	return v * size, nil
}

func (q *quantity) unitNames() string {
	names := make([]string, 0, len(q.units))
	for n := range q.units {
		if n != "" {
			names = append(names, n)
		}
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

// quantityFlag is a flag that holds a quantity in SI. It is unset until given.
type quantityFlag struct {
	of   *quantity
	text string
	si   float64
}

func (f *quantityFlag) String() string { return f.text }
func (f *quantityFlag) Type() string   { return strings.Fields(f.of.noun)[1] }
func (f *quantityFlag) given() bool    { return f.text != "" }

// or is the value given, or else v.
func (f *quantityFlag) or(v float64) float64 {
	if f.given() {
		return f.si
	}
	return v
}

func (f *quantityFlag) Set(s string) (err error) {
	f.si, err = f.of.parse(s)
	f.text = s
	return err
}

// countFlag is a flag that holds a whole number. It is unset until given.
type countFlag struct {
	n     int
	given bool
}

func (f *countFlag) Type() string { return "number" }

func (f *countFlag) String() string {
	if !f.given {
		return ""
	}
	return strconv.Itoa(f.n)
}

// or is the number given, or else n.
func (f *countFlag) or(n int) int {
	if f.given {
		return f.n
	}
	return n
}

func (f *countFlag) Set(s string) error {
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 {
		return errors.New("not a whole number of 0 or more")
	}
	f.n, f.given = n, true
	return nil
}

// flagError puts the flag and what was typed first, as in
// `--swath "1.5": a length needs its unit, such as 1.5m`.
func flagError(cmd *cobra.Command, err error) error {
	var bad *pflag.InvalidValueError
	if errors.As(err, &bad) {
		return usagef("--%s %q: %w", bad.GetFlag().Name, bad.GetValue(), bad.Unwrap())
	}
	return hint(&usageError{err}, fmt.Sprintf("%s --help lists the flags", cmd.CommandPath()))
}
