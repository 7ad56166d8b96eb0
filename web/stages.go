package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"runtime/debug"

	"untrod/coverage"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// stages works the book out, stage by stage. A panic is a bug, and ends the
// assessment alone.
func (d *desk) stages(ctx context.Context, path string) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = d.bug(p, debug.Stack())
		}
	}()
	g, err := d.lent.Ground(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, g.Close()) }()
	if len(g.Logs) == 0 {
		d.publish(ctx, nil)
		return nil
	}
	rests, was := footingOf(g), d.full()
	if was != nil && was.rests == rests {
		d.dress(ctx, was, g)
		return nil
	}
	stages := stagesOf(g.Set)
	var walks []track.Walk
	if was != nil && was.rests.ground == rests.ground { // what is shown is still true
		stages, walks = []string{stageFull}, was.walks
	}
	for _, stage := range stages {
		r, err := d.work1(ctx, g, stage)
		if err != nil {
			return err
		}
		if walks == nil {
			if walks, err = walksOf(ctx, g.Logs, r); err != nil {
				return err
			}
		}
		d.publish(ctx, &shown{stage: stage, result: r, walks: walks, finds: g.Finds, units: g.Units, says: g.Says, rests: rests})
	}
	return nil
}

// full is the full result, nil while something less or nothing is shown.
func (d *desk) full() *shown {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.shown == nil || d.shown.stage != stageFull {
		return nil
	}
	return d.shown
}

// dress shows a result in other units.
func (d *desk) dress(ctx context.Context, was *shown, g *Ground) {
	if was.units == g.Units && maps.Equal(was.says, g.Says) {
		return
	}
	d.publish(ctx, &shown{stage: was.stage, result: was.result, walks: was.walks, finds: was.finds, units: g.Units, says: g.Says, rests: was.rests})
}

// footing tells what a result rests on: grounds of one footing have one result. What it
// rests on but for the finds is told apart, since these change nothing but the
// comparison.
type footing struct{ ground, finds [sha256.Size]byte }

func footingOf(g *Ground) footing {
	var drawn site.Site
	if g.Site != nil {
		drawn = *g.Site
	}
	sum := func(what ...any) [sha256.Size]byte { return sha256.Sum256(fmt.Appendf(nil, "%#v", what)) }
	return footing{sum(g.Site == nil, drawn, g.Visits, g.Set), sum(g.Finds)}
}

// stagesOf are the stages worth showing.
func stagesOf(set coverage.Settings) []string {
	switch {
	case set.Position.Receiver.Perfect():
		return []string{stageFull}
	case set.Position.Draws <= 2*roughDraws:
		return []string{stageLogged, stageFull}
	}
	return []string{stageLogged, stageRough, stageFull}
}

// work1 works out one stage. A log that could not be read because somebody changes
// the book just now must not be taken for one that is no use.
func (d *desk) work1(ctx context.Context, g *Ground, stage string) (*coverage.Result, error) {
	in := coverage.Input{Site: g.Site, Logs: g.Logs, Finds: g.Finds}
	r, err := coverage.Assess(ctx, in, staged(g.Set, stage),
		func(doing string, done, total int64) { d.progress(ctx, stage, doing, done, total) })
	if err != nil {
		return nil, err
	}
	for _, s := range r.Skipped {
		if errors.Is(s.Err, book.ErrHeld) {
			return nil, s.Err
		}
	}
	return r, nil
}

// publish shows s, or nothing where there is nothing to show.
func (d *desk) publish(ctx context.Context, s *shown) {
	d.mu.Lock()
	if ctx.Err() == nil {
		if s != nil {
			d.rev++
			s.rev = d.rev
		}
		d.shown = s
	}
	d.mu.Unlock()
	d.tell()
}

func (d *desk) progress(ctx context.Context, stage, doing string, done, total int64) {
	d.mu.Lock()
	if ctx.Err() == nil {
		d.work = work{Running: true, Stage: stage, Doing: doing, Done: done, Total: total}
	}
	d.mu.Unlock()
	d.tell()
}

// Stages of an assessment, each surer than the one before.
const (
	stageLogged = "logged" // positions taken as true
	stageRough  = "rough"  // few draws
	stageFull   = "full"   // as the settings ask
)

// roughDraws are enough for a first sight of what is sure.
const roughDraws = 20

// staged are the settings of one stage.
func staged(set coverage.Settings, stage string) coverage.Settings {
	switch stage {
	case stageLogged:
		set.Position.Receiver, set.Position.Canopy, set.LaidOut = coverage.DefaultSettings().Position.Receiver, "none", nil
	case stageRough:
		set.Position.Draws = roughDraws
	case stageFull:
		set.Zones = usualZones
	}
	return set
}
