package main

import (
	"cmp"
	"fmt"
	"math"

	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// findGround is what finds are held against: the site, the visits, and where the
// walkers were.
type findGround struct {
	book     *book.Book
	near     *site.Near // nil without a site
	sessions []book.Session
	walks    *site.Whereabouts // nil until walk
}

func openFinds(b *book.Book) (*findGround, error) {
	g := &findGround{book: b}
	s, err := b.Site()
	if err != nil {
		return nil, err
	}
	if s != nil {
		if g.near, err = s.Near(0); err != nil {
			return nil, err
		}
	}
	g.sessions, err = b.Sessions()
	return g, err
}

// walk reads the visits within reachS seconds of the moments.
func (g *findGround) walk(reachS float64, moments ...track.Instant) (err error) {
	g.walks, err = g.book.Whereabouts(moments, math.Max(reachS, site.NearStopS))
	return err
}

// visitAt is the visit that holds a moment, or else the nearest within 2 minutes; 0
// for none.
func (g *findGround) visitAt(t track.Instant) (id int64) {
	best := float64(site.NearStopS)
	for _, s := range g.sessions {
		if !t.Known() || !s.Start.Known() {
			continue
		}
		if d := math.Max(0, math.Max(s.Start.Sub(t), t.Sub(s.End))); d < best || d == best && id == 0 {
			best, id = d, s.ID
		}
	}
	return id
}

// howPlaced is where the place of a find comes from.
type howPlaced int

const (
	ownPlace howPlaced = iota
	stoodThere
	nearStop
	onTheLine
	noPlace
)

// place gives a find its visit and, where it has none, its place: where the walker
// then stood, as uncertain as the receiver is.
func (g *findGround) place(f *site.Find) (how howPlaced, said string) {
	if f.Placed() || !f.T.Known() {
		if f.Session == 0 {
			f.Session = g.visitAt(f.T)
		}
		if f.Placed() {
			return ownPlace, ""
		}
		return noPlace, ""
	}
	s, ok := g.walks.At(f.T, f.Session)
	if !ok {
		if f.Session != 0 {
			return noPlace, "the visit does not hold that time: kept without a place"
		}
		return noPlace, "no visit holds that time: kept without a place"
	}
	f.Pos, f.SdM, f.Session = s.Pos, math.NaN(), s.Session
	visit := cmp.Or(g.visitName(s.Session), fmt.Sprint(s.Session))
	switch {
	case s.AwayS == 0:
		how, said = stoodThere, "put where you stood then, on visit "+visit
	case s.AwayS > 0:
		how, said = nearStop, fmt.Sprintf("put where you stood on visit %s, %.0f s from that time", visit, s.AwayS)
	default:
		how, said = onTheLine, fmt.Sprintf("no stop within 2 minutes of that time: put where the log of visit %s has you", visit)
	}
	if s.Others > 0 {
		said += fmt.Sprintf("; %s was elsewhere at that time, --visit says which is meant", counted(s.Others, "other visit"))
	}
	return how, said + "; as good a place as the log"
}

func (g *findGround) visitName(id int64) string {
	for _, s := range g.sessions {
		if s.ID == id {
			return fmt.Sprintf("%d (%s)", s.ID, oneLine(s.Name))
		}
	}
	return ""
}

const withoutPlace = "no place"

// remarks are what is odd about a find, in words.
func (g *findGround) remarks(f site.Find) (out []string) {
	if g.near != nil && f.Placed() && !g.near.Touches(f.Pos) {
		out = append(out, "outside the site")
	}
	first := track.NoTime
	for _, s := range g.sessions {
		if s.Start.Known() && (!first.Known() || s.Start < first) {
			first = s.Start
		}
	}
	if f.T.Known() && first.Known() && f.T < first-site.NearStopS*1000 {
		out = append(out, "before the first visit")
	}
	switch {
	case !f.Placed() && !f.T.Known():
		out = append(out, "no time and no place")
	case !f.Placed():
		out = append(out, withoutPlace)
	}
	return out
}
