package report

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The claim is the sentence at the head of the text.
func TestClaimIsThatOfTheText(t *testing.T) {
	for _, u := range []Units{Metric, Imperial} {
		r, _ := field().make(t)
		var b bytes.Buffer
		require.NoError(t, Text(&b, r, u))
		got := Claim(r, u)
		require.Contains(t, strings.Join(strings.Fields(b.String()), " "), got)
		require.Contains(t, got, "%")
	}
}

func TestCautions(t *testing.T) {
	all := Cautions()
	require.Equal(t, cautionsLead, all[0].Words)
	require.Len(t, all, len(cautions)+1)
	for _, c := range all {
		require.NotEmpty(t, c.About)
		require.NotEmpty(t, c.Words)
	}
}
