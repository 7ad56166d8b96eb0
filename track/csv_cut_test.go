package track

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// rowsOf also says whether a quote was never closed.
func rowsOf(text string, delimiter byte) (rows [][]string, open bool) {
	cut := recordCutter{delimiter: delimiter}
	for len(text) > 0 {
		n, end := cut.record([]byte(text))
		if end == quoteOpen {
			cut.plain, open = 1, true
			continue
		}
		row := []string{}
		for _, f := range cut.fields {
			row = append(row, strings.ReplaceAll(string(f), "\r\n", "\n"))
		}
		if len(row) > 1 || row[0] != "" {
			rows = append(rows, row)
		}
		text = text[n:]
	}
	return rows, open
}

// The examples of RFC 4180, section 2.
func TestRecordCutterRFC4180(t *testing.T) {
	abc := [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}
	for text, want := range map[string][][]string{
		"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n":                                     abc,
		"aaa,bbb,ccc\r\nzzz,yyy,xxx":                                         abc,
		"field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n": append([][]string{{"field_name", "field_name", "field_name"}}, abc...),
		"\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx":                             abc,
		"\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx":                         {{"aaa", "b\nbb", "ccc"}, {"zzz", "yyy", "xxx"}},
		"\"aaa\",\"b\"\"bb\",\"ccc\"":                                        {{"aaa", "b\"bb", "ccc"}},
	} {
		got, _ := rowsOf(text, ',')
		require.Equal(t, want, got)
	}
}

// encoding/csv cuts the same, with LazyQuotes, where it does not refuse.
func TestRecordCutterEqualsTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`(("([ab,;]|""|\r\n|x"x)*"|[ab"]?[ab]*)[,;\n]){1,12}`).Draw(t, "text")
		in := csv.NewReader(strings.NewReader(text))
		in.Comma, in.LazyQuotes, in.FieldsPerRecord = ',', true, -1
		all, err := in.ReadAll()
		got, open := rowsOf(text, ',')
		if err != nil || open { // encoding/csv takes the rest of the file for one field
			t.Skip()
		}
		var want [][]string
		for _, row := range all {
			if len(row) > 1 || row[0] != "" {
				want = append(want, row)
			}
		}
		require.Equal(t, want, got, "%q", text)
	})
}
