package report

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/grid"
)

// A plan read back is the plan, to the 2 mm that positions are written to.
func TestPlanReadBack(t *testing.T) {
	r, _ := field().makeUnsure(t)
	p := visitOf(t, r, cornerOf(r), 7)
	p.Settings.End.X += 12
	var file bytes.Buffer
	require.NoError(t, PlanJSON(&file, r, p))
	doc, err := ReadPlan(&file)
	require.NoError(t, err)
	got := doc.Plan(r.Frame)
	same := func(a, b []grid.XY) {
		require.Len(t, b, len(a))
		for i := range a {
			require.Less(t, apart(a[i], b[i]), 0.002)
		}
	}
	same([]grid.XY{p.Settings.Start, p.Settings.End}, []grid.XY{got.Settings.Start, got.Settings.End})
	same(p.Home, got.Home)
	require.Len(t, got.Stops, len(p.Stops))
	for i, want := range p.Stops {
		stop := got.Stops[i]
		require.Equal(t, []any{want.Number, want.Gaps, want.Part, want.Why}, []any{stop.Number, stop.Gaps, stop.Part, stop.Why})
		same(want.Approach, stop.Approach)
		require.Len(t, stopLanes(stop), len(stopLanes(want)))
		for k, l := range stopLanes(want) {
			back := stopLanes(stop)[k]
			require.Equal(t, []any{l.block, l.rim}, []any{back.block, back.rim})
			same([]grid.XY{l.From, l.To}, []grid.XY{back.From, back.To})
		}
		for k, b := range want.Reach {
			require.Equal(t, []any{b.Landmark, b.Mark}, []any{stop.Reach[k].Landmark, stop.Reach[k].Mark})
			require.InDelta(t, b.DistanceM, stop.Reach[k].DistanceM, 0.01)
			require.InDelta(t, b.TrueDeg, stop.Reach[k].TrueDeg, 0.01)
		}
	}
	require.InDelta(t, p.Magnetic.DeclinationDeg, got.Magnetic.DeclinationDeg, 0.01)
	require.InDelta(t, p.Expected.FreshM2, got.Expected.FreshM2, 0.01)
}

func TestPlanGoneStale(t *testing.T) {
	r, _ := field().makeUnsure(t)
	p := visitOf(t, r, cornerOf(r), 7)
	doc := PlanOf(r, p)
	require.Empty(t, doc.Stale(r))
	gone := p.Stops[3].Gaps[0]
	for i, g := range r.Gaps {
		if g.ID == gone {
			r.Gaps[i].ID = 999
		}
	}
	require.Contains(t, doc.Stale(r), "where stop 4 was,")
	r.Gaps = nil
	require.Contains(t, doc.Stale(r), "where stops 1, 2, 3, 4, 5, 6 and 7 was")
}

// FuzzSheetOfPlan draws what any file taken for a plan tells.
func FuzzSheetOfPlan(f *testing.F) {
	g := field()
	g.cellM = 0.5
	r, ps := g.make(f)
	p := visitOf(f, r, cornerOf(r), 3)
	var file bytes.Buffer
	require.NoError(f, PlanJSON(&file, r, p))
	f.Add(file.Bytes())
	f.Add([]byte(`{"schema":"untrod-plan-1","stops":[{"stop":1,"gaps":[1],"blocks":[{}],"lanes":[{"block":1,"from":{"lon":null,"lat":5},"to":{}}],"reach":[{}]}]}`))
	f.Add([]byte(`{"schema":"untrod-plan-1","settings":{"pace_m":null},"home":[{"lon":1e300,"lat":0}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		doc, err := ReadPlan(bytes.NewReader(b))
		if err != nil {
			return
		}
		doc.Stale(r)
		var out bytes.Buffer
		if err := sheetPDF(&out, r, doc.Plan(r.Frame), ps, SheetSettings{Day: sheetDay, Scale: 1000}); err != nil {
			t.Fatal(err)
		}
	})
}
