package book

import (
	"database/sql"
	"fmt"

	"untrod/grid"
	"untrod/site"
	"untrod/track"
)

// Whereabouts reads the walks of the visits that hold one of the moments, or come
// within nearS seconds of one: where the walkers then were. Positions are as logged,
// without their error. Visits that no frame holds are passed over. It takes as long
// as reading those visits does.
func (b *Book) Whereabouts(moments []track.Instant, nearS float64) (*site.Whereabouts, error) {
	w := &site.Whereabouts{}
	sessions, err := b.Sessions()
	if err != nil {
		return nil, err
	}
	for _, s := range sessions {
		if !s.near(moments, nearS) {
			continue
		}
		segments, err := b.fixes(s)
		if err != nil {
			return nil, err
		}
		var all []grid.LonLat
		for _, seg := range segments {
			for _, f := range seg {
				all = append(all, f.Pos)
			}
		}
		if f, err := grid.FrameAround(all); err == nil {
			w.Add(s.ID, f, track.NewWalk(f, segments, track.DefaultSettings()))
		}
	}
	return w, nil
}

// near reports whether a moment lies within nearS seconds of the visit.
func (s Session) near(moments []track.Instant, nearS float64) bool {
	for _, t := range moments {
		if t.Known() && s.Start.Known() && s.Start.Sub(t) <= nearS && t.Sub(s.End) <= nearS {
			return true
		}
	}
	return false
}

func (b *Book) fixes(s Session) (segments [][]track.Fix, err error) {
	var packed []byte
	err = b.read(func(tx *sql.Tx) error {
		return tx.QueryRow(`SELECT packed FROM untrod_fixes JOIN sessions USING (sha256, number) WHERE fid = ?`, s.ID).Scan(&packed)
	})
	if err == nil {
		segments, err = unpack(packed, s.Fixes)
	}
	if err != nil {
		return nil, fmt.Errorf("visit %q: %w", s.Name, err)
	}
	return segments, nil
}
