package main

import (
	"untrod/coverage"
)

// coilFlags say how the coil is swung and what one pass of it finds.
type coilFlags struct {
	shape         string
	sweepTime     quantityFlag
	depth         quantityFlag
	detect        quantityFlag
	seeded, found countFlag
}

func newCoilFlags() coilFlags {
	return coilFlags{sweepTime: quantityFlag{of: times}, depth: quantityFlag{of: lengths}, detect: quantityFlag{of: shares}}
}

func (c *coilFlags) groups() []flagGroup {
	swept, found := newFlagSet(), newFlagSet()
	swept.StringVar(&c.shape, "coil-shape", "", "`shape` of the coil: concentric or double-d (default concentric)")
	swept.Var(&c.sweepTime, "sweep-time", "from one end of the swing to the other, such as 1.2s: measured, it makes swept mean that the coil itself passed over, not the swath (default at 1 m/s, shown beside)")
	swept.Var(&c.depth, "depth", "how deep the coil is to have swept, such as 15cm (default the surface)")
	found.Var(&c.detect, "detect", "chance that one pass over a target of the kind sought sounds, such as 0.7")
	found.Var(&c.seeded, "seeded", "instead of --detect: targets buried in a trial, with --found")
	found.Var(&c.found, "found", "of them, targets that one pass found")
	return []flagGroup{
		{"How well the coil swept (with --coil and --swing)", swept},
		{"What would have been found", found},
	}
}

// settings adds the flags to set, which has the coil and the swing.
func (c *coilFlags) settings(set *coverage.Settings) error {
	for _, f := range []struct{ name, text string }{
		{"coil-shape", c.shape}, {"sweep-time", c.sweepTime.text}, {"depth", c.depth.text},
	} {
		if f.text != "" && set.CoilM == 0 {
			return hint(usagef("--%s %q: needs the coil and the swing, not the swath alone", f.name, f.text),
				"give --coil 28cm --swing 1.2m in place of --swath")
		}
	}
	switch c.shape {
	case "", "concentric":
	case "double-d":
		set.CoilShape = coverage.DoubleD
	default:
		return usagef("--coil-shape %q: not concentric or double-d", c.shape)
	}
	set.SweepS, set.DepthM = c.sweepTime.si, c.depth.si
	if c.sweepTime.given() && c.sweepTime.si <= 0 {
		return usagef("--sweep-time %q: must be from 0.3 s to 10 s", c.sweepTime.text)
	}
	return c.detection(&set.Detect)
}

func (c *coilFlags) detection(set *coverage.DetectSettings) error {
	switch {
	case c.detect.given() && (c.seeded.given || c.found.given):
		return hint(usagef("--detect and --seeded with --found say the same thing: give one of the two"),
			"--seeded and --found when you have tried it on buried targets, else --detect")
	case c.seeded.given != c.found.given:
		return hint(usagef("--seeded and --found go together"),
			"how many targets were buried in the trial and how many one pass found: --seeded 20 --found 15")
	}
	if c.seeded.given && c.seeded.n == 0 {
		return usagef("--seeded 0: must be at least 1: how many targets were buried in the trial")
	}
	set.PerPass, set.Trial = c.detect.si, coverage.Trial{Seeded: c.seeded.n, Found: c.found.n}
	if !c.detect.given() && !c.seeded.given {
		return nil
	}
	if err := set.Validate(); err != nil {
		return hint(err, "a chance of 7 in 10 is --detect 0.7 or --detect 70%; from a trial, --seeded 20 --found 15")
	}
	return nil
}
