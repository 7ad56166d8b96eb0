package coverage_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
)

func TestParseReading(t *testing.T) {
	for text, want := range map[string][2]float64{
		"76":                {76, 76},
		"  76 ":             {76, 76},
		"12.5":              {12.5, 12.5},
		"12,5":              {12.5, 12.5},
		"0":                 {0, 0},
		"-4":                {-4, -4},
		"\u22124":           {-4, -4},
		"72-78":             {72, 78},
		"72 - 78":           {72, 78},
		"72\u201378":        {72, 78},
		"72\u00a0\u2014 78": {72, 78},
		"72\u201178":        {72, 78},
		"78-72":             {72, 78},
		"70 to 80":          {70, 80},
		"70to80":            {70, 80},
		"70-to-80":          {70, 80},
		"72/78":             {72, 78},
		"72..78":            {72, 78},
		"72\u202678":        {72, 78},
		"72, 78":            {72, 78},
		"12,5-13,5":         {12.5, 13.5},
		"12,5, 13,5":        {12.5, 13.5},
		"-5-3":              {-5, 3},
		"-9--2":             {-9, -2},
		"-9 to -2":          {-9, -2},
		"-9 to 2":           {-9, 2},
		"70s":               {70, 79},
		"70's":              {70, 79},
		"70\u2019s":         {70, 79},
		"low 70s":           {70, 73},
		"Low-70s":           {70, 73},
		"lower 70's":        {70, 73},
		"mid 80s":           {84, 86},
		"middle 80s":        {84, 86},
		"HIGH 60s":          {67, 69},
		"upper 60s":         {67, 69},
		"low to mid 70s":    {70, 76},
		"mid-high 80s":      {84, 89},
		"mid-to-high 80s":   {84, 89},
		"mid/high 80s":      {84, 89},
		"70s-80s":           {70, 89},
		"low 70s to mid 80": {0, -1},
		"low 70s to 82":     {70, 82},
		"high 60s-low 70s":  {67, 73},
		"~75":               {73, 77},
		"~ 75":              {73, 77},
		"\u2248 75":         {73, 77},
		"about 75":          {73, 77},
		"around 72-78":      {70, 80},
		"ca. 75":            {73, 77},
		"ca 75":             {73, 77},
		"100s":              {100, 109},
		"0s":                {0, 9},

		// Not a reading; written here as a range that ends before it begins.
		"":                       {0, -1},
		"-":                      {0, -1},
		"low":                    {0, -1},
		"low 76":                 {0, -1},
		"76s":                    {0, -1},
		"-70s":                   {0, -1},
		"12.5s":                  {0, -1},
		"low to 70s":             {0, -1},
		"72 78":                  {0, -1},
		"72-78-80":               {0, -1},
		"/75":                    {0, -1},
		"75/":                    {0, -1},
		"1.2.3":                  {0, -1},
		"1e3":                    {0, -1},
		"NaN":                    {0, -1},
		"inf":                    {0, -1},
		"0x10":                   {0, -1},
		"12.":                    {0, -1},
		"jumpy":                  {0, -1},
		"\u0667\u0666":           {0, -1},
		strings.Repeat("9", 400): {0, -1},
	} {
		t.Run(text, func(t *testing.T) {
			lo, hi, ok := coverage.ParseReading(text)
			if want[0] > want[1] {
				require.False(t, ok)
				require.True(t, math.IsNaN(lo) && math.IsNaN(hi))
				return
			}
			require.True(t, ok)
			require.Equal(t, want, [2]float64{lo, hi})
		})
	}
}

func FuzzParseReading(f *testing.F) {
	for _, text := range []string{"76", "low 70s", "low to mid 70s", "72\u201378", "~75", "12,5", "-9--2", "70's", "ca. 72, 78", "high 60s..low 70s", ""} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		lo, hi, ok := coverage.ParseReading(text)
		if !ok {
			require.True(t, math.IsNaN(lo) && math.IsNaN(hi), "%q", text)
			return
		}
		require.True(t, lo <= hi && !math.IsInf(lo, 0) && !math.IsInf(hi, 0), "%q gave %v to %v", text, lo, hi)
		require.True(t, strings.ContainsAny(text, "0123456789"), "%q", text)
		l, h, again := coverage.ParseReading(" " + text + "\t")
		require.True(t, again && l == lo && h == hi, "%q with spaces around", text)
	})
}
