package track_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/grid"
	"untrod/track"
)

// sentence adds what goes around the fields.
func sentence(fields string) string {
	sum := byte(0)
	for _, c := range []byte(fields) {
		sum ^= c
	}
	return fmt.Sprintf("$%s*%02X\r\n", fields, sum)
}

func readNMEA(t *testing.T, text string) *track.Log {
	t.Helper()
	log, err := track.ReadNMEA(strings.NewReader(text), "walk.nmea")
	require.NoError(t, err)
	require.Equal(t, "NMEA", log.Format)
	requireSound(t, log)
	return log
}

const (
	rmc = "GPRMC,081530.00,A,4715.0000,N,00330.0000,W,0.5,90.0,040531,,,A"
	gga = "GPGGA,081530.00,4715.0000,N,00330.0000,W,1,08,1.2,80.5,M,47.0,M,,"
)

// The examples with their checksums, the angles and the field lists are those of
// "NMEA Revealed", v2.24 of January 2021, E. S. Raymond, gpsd project (www/NMEA.adoc).
func TestReadNMEAPublishedSentences(t *testing.T) {
	in := func(minutesLat, minutesLon float64, set func(*track.Fix)) track.Fix {
		return fix(minutesLon/60, minutesLat/60, set)
	}
	for name, c := range map[string]struct {
		text string
		want track.Fix
	}{
		"RMC": {"$GNRMC,001031.00,A,4404.13993,N,12118.86023,W,0.146,,100117,,,A*7B",
			in(44*60+4.13993, -(121*60 + 18.86023), func(f *track.Fix) { f.T = at(t, "2017-01-10T00:10:31Z") })},
		"GGA": {"$GNGGA,001043.00,4404.14036,N,12118.85961,W,1,12,0.98,1113.0,M,-21.3,M,,*47",
			in(44*60+4.14036, -(121*60 + 18.85961), func(f *track.Fix) { f.Sats, f.HDOP, f.EleM = 12, 0.98, 1113 })},
		"GLL": {"$GNGLL,4404.14012,N,12118.85993,W,001037.00,A,A*67",
			in(44*60+4.14012, -(121*60 + 18.85993), nil)},
		"GNS": {"$GPGNS,112257.00,3844.24011,N,00908.43828,W,AN,03,10.5,,,,*57",
			in(38*60+44.24011, -(9*60 + 8.43828), func(f *track.Fix) { f.Sats, f.HDOP = 3, 10.5 })},
		"GSA": {sentence(rmc) + "$GNGSA,A,3,80,71,73,79,69,,,,,,,,1.83,1.09,1.47*17",
			in(47*60+15, -(3*60 + 30), func(f *track.Fix) {
				f.T, f.Kind, f.PDOP, f.HDOP = at(t, "2031-05-04T08:15:30Z"), track.Fix3D, 1.83, 1.09
			})},
		"GST": {sentence("GPGGA,182141.000,4715.0,N,00330.0,W,,,,,,,,,") +
			"$GPGST,182141.000,15.5,15.3,7.2,21.8,0.9,0.5,0.8*54",
			in(47*60+15, -(3*60 + 30), func(f *track.Fix) { f.AccM = float32(math.Hypot(float64(float32(0.9)), float64(float32(0.5)))) })},
		"ZDA": {sentence("GPGLL,4715.0,N,00330.0,W,160012.71,A") + "$GPZDA,160012.71,11,03,2004,-1,00*7D",
			in(47*60+15, -(3*60 + 30), func(f *track.Fix) { f.T = at(t, "2004-03-11T16:00:12.71Z") })},
		"45 degrees 33.35 minutes, 167 degrees 8.033 minutes": {"$GPGLL,4533.35,N,16708.033,E,,A",
			in(45*60+33.35, 167*60+8.033, nil)},
	} {
		t.Run(name, func(t *testing.T) {
			got := fixes(readNMEA(t, c.text))
			require.Len(t, got, 1)
			require.InDelta(t, c.want.Pos.Lat, got[0].Pos.Lat, 1e-13)
			require.InDelta(t, c.want.Pos.Lon, got[0].Pos.Lon, 1e-13)
			c.want.Pos = got[0].Pos
			requireFix(t, c.want, got[0])
		})
	}
}

func TestReadNMEAFixes(t *testing.T) {
	const place = ",4715.0,N,00330.0,W,"
	kinds := func(l *track.Log) (all []track.FixKind) {
		for _, f := range fixes(l) {
			all = append(all, f.Kind)
		}
		return all
	}
	for name, c := range map[string]struct {
		sentences []string
		kinds     []track.FixKind // one for each fix
	}{
		"two sentences of one time":    {[]string{"GPRMC,081530,A" + place + ",,040531", "GPGGA,081530.000" + place + "1,8,1.2"}, []track.FixKind{0}},
		"three times":                  {[]string{gga, "GPGGA,081531" + place + "1", "GPGGA,081531.2" + place + "1"}, []track.FixKind{0, 0, 0}},
		"the same sentence twice":      {[]string{gga, gga}, []track.FixKind{0, 0}},
		"two systems of one receiver":  {[]string{"GPGGA,081530" + place + "1", "GLGGA,081530" + place + "1", "GNRMC,081530,A" + place}, []track.FixKind{0}},
		"no times":                     {[]string{"GPGGA," + place + "1", "GPRMC,,A" + place, "GPGGA," + place + "1"}, []track.FixKind{0, 0}},
		"RMC warns":                    {[]string{"GPRMC,081530,V" + place, "GPGGA,081530" + place + "1"}, []track.FixKind{track.FixNone}},
		"GLL warns":                    {[]string{"GPGGA,081530" + place + "2", "GPGLL,4715.0,N,00330.0,W,081530,V"}, []track.FixKind{track.FixNone}},
		"no fix":                       {[]string{"GPGGA,081530" + place + "0"}, []track.FixKind{track.FixNone}},
		"dead reckoned":                {[]string{"GPGGA,081530" + place + "6"}, []track.FixKind{track.FixNone}},
		"typed in, by RMC's mode":      {[]string{"GPRMC,081530,A" + place + ",,,,,M"}, []track.FixKind{track.FixNone}},
		"simulated":                    {[]string{"GPGGA,081530" + place + "8"}, []track.FixKind{track.FixNone}},
		"differential":                 {[]string{"GPGGA,081530" + place + "2"}, []track.FixKind{track.FixDGPS}},
		"precise":                      {[]string{"GPGGA,081530" + place + "3"}, []track.FixKind{track.FixPPS}},
		"RTK":                          {[]string{"GPGGA,081530" + place + "4", "GPGGA,081531" + place + "5"}, []track.FixKind{track.FixDGPS, track.FixDGPS}},
		"two-dimensional":              {[]string{gga, "GPGSA,A,2,1,2,3"}, []track.FixKind{track.Fix2D}},
		"GSA does not outweigh":        {[]string{"GPGGA,081530" + place + "0", "GPGSA,A,3"}, []track.FixKind{track.FixNone}},
		"GSA first":                    {[]string{"GPGSA,A,3", gga}, []track.FixKind{0}},
		"GNS, one of four systems":     {[]string{"GNGNS,081530" + place + "NNAN,8"}, []track.FixKind{0}},
		"GNS, the better of two":       {[]string{"GNGNS,081530" + place + "AD,8"}, []track.FixKind{track.FixDGPS}},
		"GNS, none":                    {[]string{"GNGNS,081530" + place + "NN,8"}, []track.FixKind{track.FixNone}},
		"GNS of a system, no position": {[]string{"GNGNS,081530" + place + "AA,8", "GPGNS,081530,,,,,N,4"}, []track.FixKind{0}},
		"a maker's own sentence":       {[]string{gga, "PXRMC,081530,V" + place}, []track.FixKind{0}},
	} {
		t.Run(name, func(t *testing.T) {
			text := ""
			for _, s := range c.sentences {
				text += sentence(s)
			}
			require.Equal(t, c.kinds, kinds(readNMEA(t, text)))
		})
	}
}

// Of several positions the one with most decimals counts, of other values the first.
func TestReadNMEAOneFixOfManySentences(t *testing.T) {
	log := readNMEA(t, sentence("GPRMC,081530.25,A,4715.00,N,00330.00,W,,,040599,,,A")+
		sentence("GPGST,081530.25,1,,,,3,4,9")+
		sentence("GPGGA,081530.250,4715.0003,N,00330.0003,W,1,08,1.2,80.5,M,47.0,M,,")+
		sentence("GLGGA,081530.250,4715.0009,N,00330.0009,W,1,03,9.2,90.5,M,47.0,M,,")+
		sentence("GPGSA,A,3,,,,,,,,,,,,,2.5,3.2,1"))
	requireFix(t, fix(-210.0003/60, 2835.0003/60, func(f *track.Fix) {
		f.T, f.Sats, f.HDOP, f.EleM = at(t, "1999-05-04T08:15:30.25Z"), 8, 1.2, 80.5
		f.PDOP, f.AccM, f.Kind = 2.5, 5, track.Fix3D
	}), fixes(log)[0])
	require.Empty(t, log.Notes.List())
}

func TestReadNMEAGST(t *testing.T) {
	for name, c := range map[string]struct {
		gst  string
		want string
	}{
		"of latitude and longitude": {"GPGST,081530,,9,9,,3,4,", "5"},
		"ellipse alone":             {"GPGST,081530,,3,4,,,,", "5"},
		"half of it":                {"GPGST,081530,,3,,,,,", "NaN"},
		"of another time":           {"GPGST,081529,,,,,3,4,", "NaN"},
		"no time":                   {"GPGST,,,,,,3,4,", "NaN"},
		"negative":                  {"GPGST,081530,,,,,-3,4,", "NaN"},
	} {
		t.Run(name, func(t *testing.T) {
			for _, text := range []string{sentence(c.gst) + sentence(gga), sentence(gga) + sentence(c.gst)} {
				require.Equal(t, c.want, fmt.Sprint(fixes(readNMEA(t, text))[0].AccM))
			}
		})
	}
}

func TestReadNMEADates(t *testing.T) {
	gga := func(tod string) string { return sentence("GPGGA," + tod + ",4715.0,N,00330.0,W,1,8,1,,M") }
	rmc := func(tod, date string) string {
		return sentence("GPRMC," + tod + ",A,4715.0,N,00330.0,W,,," + date)
	}
	zda := func(tod, day, month, year string) string {
		return sentence("GPZDA," + tod + "," + day + "," + month + "," + year + ",00,00")
	}
	for name, c := range map[string]struct {
		text  string
		times string
		notes string
	}{
		"midnight by GGA":        {rmc("235959", "311230") + gga("235959.5") + gga("000000") + gga("000001"), "2030-12-31T23:59:59 2030-12-31T23:59:59.5 2031-01-01T00:00:00 2031-01-01T00:00:01", ""},
		"midnight with RMC":      {rmc("235959", "311230") + gga("000000") + rmc("000000", "010131") + gga("000001"), "2030-12-31T23:59:59 2031-01-01T00:00:00 2031-01-01T00:00:01", ""},
		"two midnights":          {rmc("120000", "280232") + gga("200000") + gga("040000") + gga("180000") + gga("010000"), "2032-02-28T12:00:00 2032-02-28T20:00:00 2032-02-29T04:00:00 2032-02-29T18:00:00 2032-03-01T01:00:00", ""},
		"a little back":          {rmc("120000.5", "040531") + gga("120000.2"), "2031-05-04T12:00:00.5 2031-05-04T12:00:00.2", ""},
		"half a day back":        {rmc("120000", "040531") + gga("000000"), "2031-05-04T12:00:00 2031-05-04T00:00:00", ""},
		"date comes later":       {gga("235958") + gga("000001") + rmc("000002", "010131"), "2030-12-31T23:59:58 2031-01-01T00:00:01 2031-01-01T00:00:02", "late-date 2 walk.nmea:1: before the first date, dated backwards from it"},
		"date in the same fix":   {gga("000002") + rmc("000002", "010131"), "2031-01-01T00:00:02", ""},
		"date of ZDA, same time": {gga("081530") + zda("081530", "04", "05", "2031"), "2031-05-04T08:15:30", ""},
		"date of ZDA, later":     {gga("235959") + zda("000000", "05", "05", "2031") + gga("000001"), "2031-05-04T23:59:59 2031-05-05T00:00:01", "late-date 1 walk.nmea:1: before the first date, dated backwards from it"},
		"date of ZDA, before":    {zda("235959", "04", "05", "2031") + gga("000001"), "2031-05-05T00:00:01", ""},
		"no date":                {gga("081530") + gga("081531"), "- -", "no-date 2 walk.nmea:1: no sentence gives a date, times left out"},
		"no time":                {gga("") + rmc("", "040531"), "-", ""},
		"year 80":                {rmc("000000", "060180"), "1980-01-06T00:00:00", ""},
		"year 79":                {rmc("000000", "060179"), "2079-01-06T00:00:00", ""},
		"leap second":            {rmc("235960", "311230"), "2031-01-01T00:00:00", ""},
		"no such date":           {rmc("000000", "290231"), "-", "bad-field 1 walk.nmea:1: GPRMC date \"290231\" is not a day, month and year of two digits each|no-date 1 walk.nmea:1: no sentence gives a date, times left out"},
		"no such ZDA":            {zda("000000", "29", "02", "2031") + gga(""), "-", "bad-field 1 walk.nmea:1: GPZDA date \"2031\" is not a year, or its month or day are none"},
		"no such time":           {rmc("240000", "040531"), "-", "bad-field 1 walk.nmea:1: GPRMC time \"240000\" is not a time of day"},
	} {
		t.Run(name, func(t *testing.T) {
			log := readNMEA(t, c.text)
			var times []string
			for _, f := range fixes(log) {
				if !f.T.Known() {
					times = append(times, "-")
					continue
				}
				times = append(times, f.T.Time().Format("2006-01-02T15:04:05.999"))
			}
			require.Equal(t, c.times, strings.Join(times, " "))
			require.Equal(t, c.notes, strings.Join(examples(log), "|"))
		})
	}
}

func TestReadNMEAOddities(t *testing.T) {
	for name, c := range map[string]struct {
		text  string
		fixes int
		notes string
	}{
		"text before":          {"2031-05-04 08:15:30 " + sentence(gga) + "\\s:rx,c:1935648930*5C\\" + sentence(rmc), 1, ""},
		"text after":           {"NMEA," + strings.TrimSpace(sentence(gga)) + ",1935648930000\n", 1, "no-date 1 walk.nmea:1: no sentence gives a date, times left out"},
		"bare CR":              {strings.ReplaceAll(sentence(rmc)+sentence(gga), "\n", ""), 1, ""},
		"LF and CR":            {strings.ReplaceAll(sentence(rmc)+sentence(gga), "\r\n", "\n\r"), 1, ""},
		"nothing between":      {strings.TrimSpace(sentence(rmc)) + strings.TrimSpace(sentence(gga)), 1, ""},
		"no checksums":         {"$" + rmc + "\n$" + gga, 1, ""},
		"lower case checksum":  {"$" + rmc + strings.ToLower(sentence(rmc)[len(rmc)+1:]), 1, ""},
		"wrong checksum":       {sentence(rmc) + "\n$" + gga + "*00\n", 1, "bad-checksum 1 walk.nmea:3: GPGGA with a wrong checksum"},
		"checksum cut short":   {sentence(rmc) + "$" + gga + "*4", 1, "bad-checksum 1 walk.nmea:2: GPGGA with a wrong checksum"},
		"cut in mid-air":       {sentence(rmc) + "$" + gga[:40] + "\n" + sentence(gga), 1, "bad-checksum 1 walk.nmea:2: GPGGA without a checksum, where others have one"},
		"runs into the next":   {sentence(rmc) + "$" + gga[:40] + sentence(gga), 1, "bad-checksum 1 walk.nmea:2: GPGGA without a checksum, where others have one"},
		"binary between":       {"\xb5b\x01\x07$\x00\xff" + sentence(rmc) + "\xd3\x00\x13$$GPxx\n$G" + sentence(gga) + "\x00", 1, ""},
		"UTF-16":               {"\xff\xfe" + utf16le(sentence(rmc)), 1, ""},
		"binary like a mark":   {"\xff\xfeab" + sentence(rmc), 1, ""},
		"byte order mark":      {"\xef\xbb\xbf" + sentence(rmc), 1, ""},
		"dollar for a talker":  {sentence(rmc) + "$$0GGA,,4715.0,N,00330.0,W", 1, ""},
		"star for a talker":    {sentence(rmc) + "$G*GGA,,4715.0,N,00330.0,W", 1, ""},
		"too long":             {sentence(rmc) + sentence(gga+strings.Repeat(",", 2000)) + sentence(gga), 1, "bad-checksum 1 walk.nmea:2: GPGGA without a checksum, where others have one"},
		"no position":          {sentence("GPRMC,,V,,,,,,,,,,N") + sentence("GPGGA,,,,,,0,,,,M,,M,,"), 0, "no-position 2 walk.nmea:1: GPRMC without a position"},
		"no hemisphere":        {sentence("GPGGA,081530,4715.0,,00330.0,W,1"), 0, "bad-field 1 walk.nmea:1: GPGGA latitude \"\" is neither N nor S|no-position 1 walk.nmea:1: GPGGA without a position"},
		"60 minutes":           {sentence("GPGGA,,4760.0,N,00330.0,W,1"), 0, "bad-field 1 walk.nmea:1: GPGGA latitude \"4760.0\" is not degrees and minutes|no-position 1 walk.nmea:1: GPGGA without a position"},
		"off the globe":        {sentence("GPGGA,,9115.0,N,00330.0,W,1"), 1, ""},
		"values that are none": {sentence("GPGGA,,4715.0,N,00330.0,W,x,8.5,-1,1;2,M"), 1, "bad-field 4 walk.nmea:1: GPGGA quality \"x\" is not a digit"},
		"elevation in feet":    {sentence("GPGGA,,4715.0,N,00330.0,W,1,8,1,280,F"), 1, "bad-field 1 walk.nmea:1: GPGGA elevation unit \"F\" is not M"},
		"odd status":           {sentence("GPRMC,,B,4715.0,N,00330.0,W"), 1, "bad-field 1 walk.nmea:1: GPRMC status \"B\" is neither A nor V"},
		"only text of others":  {"$GPGSV,3,1,11\n# $GPGGA is missing\n" + sentence(gga), 1, "no-date 1 walk.nmea:3: no sentence gives a date, times left out"},
	} {
		t.Run(name, func(t *testing.T) {
			log := readNMEA(t, c.text)
			require.Equal(t, c.fixes, log.Fixes())
			require.Equal(t, c.notes, strings.Join(examples(log), "|"))
		})
	}
}

func utf16le(ascii string) string {
	var b strings.Builder
	for _, c := range []byte(ascii) {
		b.WriteByte(c)
		b.WriteByte(0)
	}
	return b.String()
}

func TestReadNMEAWaypoints(t *testing.T) {
	wpl := sentence("GPWPL,4717.5,N,12310.5,W,OAK") + sentence("GPRTE,1,1,c,0,OAK,GATE")
	log := readNMEA(t, wpl+sentence("GPWPL,4717.5,S,12310.5,E,GATE \xff")+wpl+sentence("GPWPL,,,,,NOWHERE"))
	require.Len(t, log.Waypoints, 2)
	require.Equal(t, "OAK", log.Waypoints[0].Name)
	requireFix(t, fix(-123.175, 47.291666666666664, nil), log.Waypoints[0].Fix)
	require.Equal(t, "GATE \ufffd", log.Waypoints[1].Name)
	require.Equal(t, grid.LonLat{Lon: 123.175, Lat: -47.291666666666664}, log.Waypoints[1].Pos)
	require.Empty(t, log.Tracks)
	require.Empty(t, log.Routes)
	require.Equal(t, []string{"no-position 1 walk.nmea:6: WPL without a position"}, examples(log))
}

func TestReadNMEAErrors(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty": {"", "walk.nmea: empty file"},
		"text":  {"lat,lon\n1,2\n", "walk.nmea: not a NMEA file: no sentence with a position"},
		"other": {"$GPGSV,3,1,11*00\n!AIVDM,1,1,,B,13,0*29\n", "walk.nmea: not a NMEA file: no sentence with a position"},
		"zeros": {strings.Repeat("\x00", 3000), "walk.nmea: not a NMEA file: no sentence with a position"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := track.ReadNMEA(strings.NewReader(c.text), "walk.nmea")
			require.EqualError(t, err, c.want)
		})
	}
	broken := errors.New("disk on fire")
	for _, cut := range []int{0, 10, 200} {
		text := strings.Repeat(sentence(rmc), 5)[:cut]
		_, err := track.ReadNMEA(io.MultiReader(strings.NewReader(text), failing{broken}), "walk.nmea")
		require.ErrorIs(t, err, broken)
	}
	log, err := track.ReadNMEA(io.MultiReader(strings.NewReader(sentence(rmc)), failing{io.ErrUnexpectedEOF}), "walk.nmea")
	require.NoError(t, err)
	require.Equal(t, 1, log.Fixes())
	require.Equal(t, []string{"truncated 1 walk.nmea:2: file ends too early, read up to here"}, examples(log))
}

// Wherever a log is cut, the fixes before are kept as they are, and nothing is made up.
func TestReadNMEATruncatedAnywhere(t *testing.T) {
	whole := sentence(rmc) + sentence(gga) + sentence(strings.ReplaceAll(rmc, "081530", "081531")) + sentence(strings.ReplaceAll(gga, "081530", "081531"))
	want := fixes(readNMEA(t, whole))
	for cut := len(sentence(rmc)); cut < len(whole); cut++ {
		for i, f := range fixes(readNMEA(t, whole[:cut])) {
			require.Equal(t, want[i].Pos, f.Pos)
			require.Equal(t, want[i].T, f.T)
		}
	}
}

// What is written as sentences is read back to the precision of the format: exactly,
// where values are chosen on its grid.
func TestReadNMEAReadsBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		decimals := rapid.IntRange(0, 10).Draw(rt, "decimals")
		scale := int64(math.Pow10(decimals))
		var want []track.Fix
		var text bytes.Buffer
		when := track.Instant(rapid.Int64Range(315532800, 3155759999).Draw(rt, "start")) * 1000 // 1980 to 2069
		for range rapid.IntRange(1, 20).Draw(rt, "n") {
			when += track.Instant(rapid.IntRange(1, 100_000_000).Draw(rt, "step"))
			lat, latText := drawAngle(rt, 90, scale, decimals, "NS")
			lon, lonText := drawAngle(rt, 180, scale, decimals, "EW")
			f := track.NoFix
			f.Pos = grid.LonLat{Lon: lon, Lat: lat}
			f.T, f.Sats = when, int16(rapid.IntRange(0, 40).Draw(rt, "sats"))
			f.HDOP = float32(rapid.IntRange(5, 999).Draw(rt, "hdop")) / 10
			f.EleM = float32(rapid.IntRange(-4000, 90000).Draw(rt, "ele")) / 10
			tod := when.Time().Format("150405.000")
			one := sentence(fmt.Sprintf("GNRMC,%s,A,%s,%s,0.1,,%s,,", tod, latText, lonText, when.Time().Format("020106")))
			two := sentence(fmt.Sprintf("GNGGA,%s,%s,%s,1,%02d,%.1f,%.1f,M,,M,,", tod, latText, lonText, f.Sats, f.HDOP, f.EleM))
			if rapid.Bool().Draw(rt, "GGA first") {
				one, two = two, one
			}
			text.WriteString(one + two)
			want = append(want, f)
		}
		log, err := track.ReadNMEA(&text, "walk.nmea")
		require.NoError(rt, err)
		require.Equal(rt, fmt.Sprint(want), fmt.Sprint(fixes(log)))
		require.Empty(rt, log.Notes.List())
	})
}

// drawAngle returns an angle by the documented rule and its text with the hemisphere.
func drawAngle(t *rapid.T, limit, scale int64, decimals int, letters string) (v float64, text string) {
	n := rapid.Int64Range(1, limit*60*scale-1).Draw(t, letters) // of the last decimal of a minute
	v = float64(n) / float64(60*scale)
	text = fmt.Sprintf("%03d%02d", n/(60*scale), n/scale%60)
	if limit == 90 {
		text = text[1:]
	}
	if decimals > 0 {
		text += fmt.Sprintf(".%0*d", decimals, n%scale)
	}
	if rapid.Bool().Draw(t, letters[1:]) {
		return -v, text + "," + letters[1:]
	}
	return v, text + "," + letters[:1]
}

func FuzzReadNMEA(f *testing.F) {
	for _, seed := range []string{
		"", "$", sentence(rmc) + sentence(gga), sentence(gga) + "$GPGSA,A,3,,,,,,,,,,,,,1,2,3\n$GPGST,081530,1,2,3,4,5,6,7\r",
		"$GPZDA,235959.99,31,12,2030,00,00\n$GNGNS,000000.01,4715.0,S,00330.0,E,AND,9,1.5,80.5,47,,\n$GPGLL,4715.0,S,00330.0,E,000000.2,A,P",
		"x$GPWPL,4717.5,N,12310.5,W,OAK*00\xb5b$GPWPL,4717.5,N,12310.5,W,OAK", "\xff\xfe$\x00G\x00P\x00",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		log, err := track.ReadNMEA(bytes.NewReader(data), "fuzz.nmea")
		if err != nil {
			var parse *track.ParseError
			var unsupported *track.UnsupportedError
			require.True(t, errors.As(err, &parse) || errors.As(err, &unsupported), "%T", err)
			require.Nil(t, log)
			return
		}
		requireSound(t, log)
		again, err := track.ReadNMEA(iotest.OneByteReader(bytes.NewReader(data)), "fuzz.nmea")
		require.NoError(t, err)
		require.Equal(t, examples(log), examples(again))
		require.Equal(t, fmt.Sprint(log.Tracks, log.Waypoints), fmt.Sprint(again.Tracks, again.Waypoints))
	})
}
