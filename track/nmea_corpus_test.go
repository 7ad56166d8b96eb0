package track_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/track"
)

// nmeaLogs are the logs of the shared test data, with the number of fixes in each:
// the distinct times of day among RMC, GGA and GLL with a position, counted by
//
//	grep -aoE '\$G.(RMC|GGA|GLL),[^$*]*\*[0-9A-F]{2}' FILE |
//	awk -F, '/RMC/ && $4 {print $2} /GGA/ && $3 {print $2} /GLL/ && $2 {print $6}' |
//	sed 's/\*.*//; s/\.0*$//; s/\(\..*[1-9]\)0*$/\1/' | sort -u | wc -l
//
// with mawk 1.3.4 and GNU sed 4.9. In bundg_zeus_9 that is 149; one RMC is sent twice.
var nmeaLogs = map[string]int{
	"static/gpsd/ais-nmea.log": 164, "static/gpsd/bundg_zeus_9.log": 150, "static/gpsd/garmin-geko201.log": 18,
	"static/gpsd/haicom-305N.log": 74, "static/gpsd/nmea-rtk.log": 122, "static/gpsd/quectel.log": 34,
	"static/gpsd/sirfstarv-nmea.log": 59, "static/gpsd/skytraq-dgps.log": 96, "static/gpsd/telit-he910.log": 187,
	"static/gpsd/ublox-8.log": 72, "static/gpsd/ublox-neo-m9n-nmea.log": 61, "static/gpsd/ublox-zed-f9p-nmea.log": 29,
	"static/gpsd/ublox-zed-f9p_hpg1.11.log": 655, "walks/em38/em38_demo.nmea": 602,
	"static/google-gps-measurement-tools/MTV.Local1.ublox-F9K.20200206-181434.nmea": 1654,
}

func nmeaData(t testing.TB, path string) []byte {
	data, err := os.ReadFile(filepath.Join(dataFolder, path))
	if os.IsNotExist(err) {
		t.Skip("no shared test data beside the project: ", err)
	}
	require.NoError(t, err)
	return data
}

func TestNMEACorpusCounts(t *testing.T) {
	for path, want := range nmeaLogs {
		t.Run(path, func(t *testing.T) {
			log, err := track.ReadNMEA(bytes.NewReader(nmeaData(t, path)), path)
			require.NoError(t, err)
			requireSound(t, log)
			require.Equal(t, want, log.Fixes())
			for _, f := range fixes(log) {
				require.True(t, f.T.Known())
				require.True(t, f.Pos.Valid())
			}
		})
	}
}

// TestNMEACorpusAgainstOracle reads every log a second time, line by line with
// regular expressions, and compares what it finds in GGA with the fixes.
func TestNMEACorpusAgainstOracle(t *testing.T) {
	gga := regexp.MustCompile(`\$G[NP]GGA,(\d{6}[.\d]*),(\d\d)(\d\d\.\d+),([NS]),(\d{3})(\d\d\.\d+),([EW]),(\d),(\d*),([\d.]*),([-\d.]*),`)
	for path := range nmeaLogs {
		t.Run(path, func(t *testing.T) {
			data := nmeaData(t, path)
			log, err := track.ReadNMEA(bytes.NewReader(data), path)
			require.NoError(t, err)
			byTime := map[string]track.Fix{}
			for _, f := range fixes(log) {
				byTime[f.T.Time().Format("150405.000")] = f
			}
			near := 1e-13
			if strings.Contains(path, "zeus") {
				near = 1e-4 // its RMC, which comes first, lags behind its GGA of the same time
			}
			found := 0
			for _, m := range gga.FindAllSubmatch(data, -1) {
				n := func(i int) float64 {
					v, err := strconv.ParseFloat(string(m[i]), 64)
					require.NoError(t, err)
					return v
				}
				f, ok := byTime[fmt.Sprintf("%010.3f", n(1))]
				require.True(t, ok, "%s", m[0])
				sign := map[string]float64{"N": 1, "S": -1, "E": 1, "W": -1}
				require.InDelta(t, sign[string(m[4])]*(n(2)+n(3)/60), f.Pos.Lat, near)
				require.InDelta(t, sign[string(m[7])]*(n(5)+n(6)/60), f.Pos.Lon, near)
				require.Equal(t, int16(n(9)), f.Sats)
				require.InDelta(t, n(10), float64(f.HDOP), 1e-6)
				require.InDelta(t, n(11), float64(f.EleM), 1e-4)
				require.Equal(t, strings.Contains("0678", string(m[8])), f.Kind == track.FixNone, "%s", m[0])
				found++
			}
			require.Greater(t, found, log.Fixes()*9/10)
		})
	}
}

// Two of the logs lie in the data as GPX too, converted by another program to 8
// decimals of a degree.
func TestNMEACorpusAgainstGPX(t *testing.T) {
	for path, twin := range map[string]string{
		"walks/em38/em38_demo.nmea":   "walks/em38/em38_demo.gpx",
		"static/gpsd/telit-he910.log": "static/gpsd/telit-he910.gpx",
	} {
		t.Run(path, func(t *testing.T) {
			log, err := track.ReadNMEA(bytes.NewReader(nmeaData(t, path)), path)
			require.NoError(t, err)
			other, err := track.ReadGPX(bytes.NewReader(nmeaData(t, twin)), twin)
			require.NoError(t, err)
			got, want := fixes(log), fixes(other)
			require.Len(t, got, len(want))
			for i, w := range want {
				g := got[i]
				require.InDelta(t, w.Pos.Lat, g.Pos.Lat, 0.50001e-8)
				require.InDelta(t, w.Pos.Lon, g.Pos.Lon, 0.50001e-8)
				w.Pos, w.PDOP = g.Pos, g.PDOP // GSA's, which the GPX lacks
				requireFix(t, w, g)
			}
		})
	}
}

// Whatever is done to the bytes of a log, what its checksums cover is read as it was
// or not at all.
func TestNMEADamaged(t *testing.T) {
	whole := nmeaData(t, "static/gpsd/ublox-neo-m9n-nmea.log")
	log, err := track.ReadNMEA(bytes.NewReader(whole), "whole.nmea")
	require.NoError(t, err)
	known := map[track.Instant]track.Fix{}
	for _, f := range fixes(log) {
		known[f.T] = f
	}
	for at := 400; at < len(whole); at += 997 {
		data := bytes.Clone(whole)
		data[at] ^= 1 << (at % 7)
		damaged, err := track.ReadNMEA(bytes.NewReader(data), "damaged.nmea")
		require.NoError(t, err)
		require.GreaterOrEqual(t, damaged.Fixes(), len(known)-1)
		for _, f := range fixes(damaged) {
			require.Equal(t, known[f.T].Pos, f.Pos)
		}
	}
}
