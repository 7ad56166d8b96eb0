package report

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
)

func TestCopiesInWords(t *testing.T) {
	for _, c := range []struct {
		copy coverage.Copy
		want string
	}{
		{coverage.Copy{File: "b.gpx", Name: "b", Of: "a.gpx", Why: coverage.SameFixes, Fixes: 90}, "b.gpx: the same fixes as a.gpx; counted once"},
		{coverage.Copy{File: "b.gpx", Name: "b", Of: "a.gpx", Why: coverage.SameWalk, ClockS: 3}, "b.gpx: the same walk as a.gpx by another device; counted once"},
		{coverage.Copy{File: "b.gpx", Name: "b", Of: "a.gpx", Why: coverage.SameFixes, ClockS: -7200}, "b.gpx: the same fixes as a.gpx, its clock 2 h 00 min ahead; counted once"},
		{coverage.Copy{File: "b.gpx", Name: "b", Of: "a.gpx", Why: coverage.SameFixes, ClockS: 20700}, "b.gpx: the same fixes as a.gpx, its clock 5 h 45 min behind; counted once"},
		{coverage.Copy{File: "w.zip", Name: "day2", Of: "day1", Why: coverage.SameWalk, Kept: 1200}, "w.zip (day2): the same walk as day1 by another device; counted once, but for 1,200 fixes of when that was silent"},
	} {
		require.Equal(t, c.want, copied(c.copy))
	}
}

func TestCopiesListed(t *testing.T) {
	r := &coverage.Result{}
	tx := texter{r: r}
	tx.oddities()
	require.Empty(t, tx.out.String())
	for i := range 11 {
		r.Copies = append(r.Copies, coverage.Copy{File: fmt.Sprintf("b%d.gpx", i), Name: "b", Of: "a.gpx", Why: coverage.SameFixes})
	}
	tx.oddities()
	require.Contains(t, tx.out.String(), "Odd in the files\n  b0.gpx: the same fixes as a.gpx; counted once\n")
	require.NotContains(t, tx.out.String(), "b8.gpx")
	require.Contains(t, tx.out.String(), "  and 3 more given twice\n")
}
