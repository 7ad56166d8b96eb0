package web

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// TestOnlyWhatRestsOnItIsMadeAnew holds how many results a change brings: all stages for
// what ground was swept, the full one for finds, the same in other units, and none for
// what no figure rests on.
func TestOnlyWhatRestsOnItIsMadeAnew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 2)
	units, draws := report.Metric, someDraws
	d := newDesk(t.Context(), Lent{Ground: func(path string) (*Ground, error) {
		g, err := groundWith(path, draws)
		if g != nil {
			g.Units = units
		}
		return g, err
	}}, func() {}, nil)
	require.NoError(t, d.open(path))
	worked := func() *shown {
		t.Helper()
		d.mu.Lock()
		done := d.done
		d.mu.Unlock()
		<-done
		s, err := d.current()
		require.NoError(t, err)
		require.Equal(t, stageFull, s.stage)
		return s
	}
	first := worked()
	require.Equal(t, 3, first.rev)

	find := site.NoFind
	find.Name = "buckle"
	require.NoError(t, d.edit("added a find", func(b *book.Book) error {
		_, err := b.AddFind(find)
		return err
	}))
	found := worked()
	require.Equal(t, 4, found.rev)
	require.Len(t, found.finds, 1)
	require.Equal(t, first.result.Certainty.AtLeastPercent, found.result.Certainty.AtLeastPercent)

	require.NoError(t, d.again())
	require.Same(t, found, worked())

	units = report.Imperial
	require.NoError(t, d.again())
	feet := worked()
	require.Equal(t, 5, feet.rev)
	require.Equal(t, report.Imperial, feet.units)
	require.Same(t, found.result, feet.result)

	draws++
	require.NoError(t, d.again())
	require.Equal(t, 8, worked().rev)

	require.NoError(t, d.edit("", func(b *book.Book) error {
		sessions, err := b.Sessions()
		if err != nil {
			return err
		}
		return b.Drop(sessions[0].ID)
	}))
	require.Equal(t, 11, worked().rev)
}

// TestFootingTellsAll holds that everything a result is made of is in its footing.
func TestFootingTellsAll(t *testing.T) {
	path := filepath.Join(t.TempDir(), "square.gpkg")
	makeBook(t, path, 2)
	g, err := groundOf(path)
	require.NoError(t, err)
	require.NoError(t, g.Close())
	before := footingOf(g)
	for name, change := range map[string]func(*Ground){
		"no site":      func(g *Ground) { g.Site = nil },
		"corner":       func(g *Ground) { g.Site.Boundary[0].Outer[1].Lat += 1e-8 },
		"landmark":     func(g *Ground) { g.Site.Landmarks = []site.Landmark{{Name: "well"}} },
		"visit":        func(g *Ground) { g.Visits = g.Visits[1:] },
		"its bytes":    func(g *Ground) { g.Visits[0].SHA256 = "00" },
		"setting":      func(g *Ground) { g.Set.Track.Legs.SearchMaxMS++ },
		"visit left":   func(g *Ground) { g.Set.Without = []string{"first"} },
		"another find": func(g *Ground) { g.Finds = append(g.Finds, site.NoFind) },
	} {
		again, err := groundOf(path)
		require.NoError(t, err)
		require.NoError(t, again.Close())
		require.Equal(t, before, footingOf(again))
		change(again)
		require.NotEqual(t, before, footingOf(again), name)
	}
	dressed := *g
	dressed.Units, dressed.Says = report.Imperial, map[string]string{"units": "imperial"}
	require.Equal(t, before, footingOf(&dressed))
}
