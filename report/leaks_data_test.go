package report

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// dataForm is a data URI: kind, how it is written, data.
var dataForm = regexp.MustCompile(`data:([-\w.+/]*)((?:;[^,;"'\s]*)*),([^"'()<>\s]*)`)

// TestDataURIsTwin holds that data URIs are found as the regular expression finds them.
func TestDataURIsTwin(t *testing.T) {
	piece := rapid.SampledFrom([]string{"data:", "data", ":", ";", ",", "image/png", "base64", "QUJD", "\"", "'", "(", "<b>", " ", "\n", "\v", "é", "x"})
	rapid.Check(t, func(t *rapid.T) {
		text := ""
		for _, p := range rapid.SliceOfN(piece, 0, 12).Draw(t, "pieces") {
			text += p
		}
		var want, got [][]string
		wanted := dataForm.ReplaceAllStringFunc(text, func(m string) string {
			want = append(want, dataForm.FindStringSubmatch(m)[1:])
			return "|"
		})
		gotten := replaceData(text, func(kind, how, data string) string {
			got = append(got, []string{kind, how, data})
			return "|"
		})
		require.Equal(t, want, got)
		require.Equal(t, wanted, gotten)
	})
}
