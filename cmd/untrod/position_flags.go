package main

import (
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/track"
)

const (
	quickDraws   = 50
	maxAccuracyM = 50
)

// positionFlags say how wrong the receiver is taken to be.
type positionFlags struct {
	usual              string // the canopy when nothing is given
	canopy, accuracyAs string
	accuracy           quantityFlag
	draws, seed        countFlag
	quick              bool
	group              flagGroup
}

func newPositionFlags(usual string) *positionFlags {
	f, p := newFlagSet(), &positionFlags{usual: usual, accuracy: quantityFlag{of: lengths}}
	p.group = flagGroup{"How far to trust the positions", f}
	f.StringVar(&p.canopy, "canopy", "", "`sky` over the walk: open, light (some leaves), dense (closed leaves), or none to take every fix as true (default "+p.usual+")")
	f.Var(&p.accuracy, "accuracy", "instead of --canopy: the receiver's accuracy, such as 4m, the radius that holds 95 % of fixes")
	f.StringVar(&p.accuracyAs, "accuracy-as", "", "what --accuracy `means`: radius of 95, 68 or 50 %, or rms (default 95)")
	f.Var(&p.draws, "draws", "how many true walks to draw, 20 to 2000 (default 200)")
	f.BoolVar(&p.quick, "quick", false, "draw 50: four times faster, a little rougher")
	f.Var(&p.seed, "seed", "of the draws: one seed, one answer (default 1)")
	return p
}

// settings turns the flags into the receiver and its draws.
func (p *positionFlags) settings() (coverage.PositionSettings, error) {
	set := coverage.DefaultSettings().Position
	set.Draws, set.Seed = p.draws.or(set.Draws), uint64(p.seed.or(int(set.Seed)))
	if p.quick {
		if p.draws.given {
			return set, hint(usagef("--quick and --draws say the same thing: give one of the two"),
				"--quick stands for --draws 50")
		}
		set.Draws = quickDraws
	}
	var err error
	if set.Canopy, set.Receiver, err = p.receiver(); err != nil {
		return set, err
	}
	return set, nil
}

// receiver returns the canopy's name, empty when an accuracy was given, and the
// receiver.
func (p *positionFlags) receiver() (string, track.Receiver, error) {
	switch {
	case p.accuracy.given() && p.canopy != "":
		return "", track.Receiver{}, hint(usagef("--canopy and --accuracy say the same thing: give one of the two"),
			"--canopy when all you know is how leafy it was, --accuracy when you have measured")
	case p.accuracy.given():
		r, err := p.measured()
		return "", r, err
	case p.accuracyAs != "":
		return "", track.Receiver{}, hint(usagef("--accuracy-as %q: needs --accuracy, whose meaning it tells", p.accuracyAs),
			"such as --accuracy 4m --accuracy-as 68")
	}
	name := p.canopy
	if name == "" {
		name = p.usual
	}
	if !slices.Contains(track.Canopies, name) {
		return "", track.Receiver{}, hint(usagef("--canopy %q: not none, open, light or dense", name),
			"open: the sky is free; light: some leaves; dense: leaves close overhead; in doubt, the denser",
			"none takes every fix as true, which no receiver deserves")
	}
	r, err := track.Canopy(name)
	return name, r, err
}

func (p *positionFlags) measured() (track.Receiver, error) {
	if a := p.accuracy; !(a.si > 0 && a.si <= maxAccuracyM) {
		return track.Receiver{}, hint(usagef("--accuracy %q: must be above 0 m and at most %d m", a.text, maxAccuracyM),
			"to take every fix as true, give --canopy none")
	}
	as := p.accuracyAs
	if as == "" {
		as = track.AccuracyKinds[0]
	}
	if as = strings.TrimSuffix(strings.ToLower(as), "%"); !slices.Contains(track.AccuracyKinds, as) {
		return track.Receiver{}, hint(usagef("--accuracy-as %q: not 95, 68, 50 or rms", p.accuracyAs),
			"the radius that holds so many percent of fixes, or the root mean square")
	}
	sd, err := track.SigmaOf(p.accuracy.si, as)
	return track.ReceiverOf(sd), err
}
