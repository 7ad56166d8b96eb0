package site_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

var gpsTags = check.Tags{
	check.TagLatRef: "N", check.TagLat: check.DMS(47, 18, 36_540), check.TagLonRef: "W", check.TagLon: check.DMS(31, 12, 3_250),
	check.TagGPSDate: "2026:04:11", check.TagGPSTime: [][2]uint32{{9, 1}, {20, 1}, {31, 1}}, check.TagPositioning: [][2]uint32{{47, 10}},
}

// pictures are photos of every kind that matters, by name.
func pictures() map[string][]byte {
	little, big := binary.LittleEndian, binary.BigEndian
	camera := check.Tags{check.TagMake: "Invented", check.TagModel: "Box 3", check.TagDateTime: "2026:04:12 08:00:00"}
	clock := check.Tags{check.TagOriginal: "2026:04:11 11:20:30"}
	taken := check.Tags{check.TagOriginal: "2026:04:11 11:20:30", check.TagOffsetOriginal: "+02:00", check.TagDigitized: "2026:04:11 11:20:35"}
	south := check.Tags{check.TagLatRef: "S", check.TagLat: check.DMS(0, 30, 0), check.TagLonRef: "E", check.TagLon: [][2]uint32{{1795, 10}, {0, 1}, {0, 1}}}
	return map[string][]byte{
		"all.jpg":         check.JPEG(check.EXIF(little, camera, taken, gpsTags)),
		"all.heic":        check.HEIF(check.EXIF(big, camera, taken, gpsTags)),
		"big-endian.jpg":  check.JPEG(check.EXIF(big, camera, taken, gpsTags)),
		"south-east.jpg":  check.JPEG(check.EXIF(little, camera, clock, south)),
		"no-place.heic":   check.HEIF(check.EXIF(little, camera, clock, nil)),
		"no-zone.jpg":     check.JPEG(check.EXIF(little, camera, clock, gpsTags)),
		"half-zone.jpg":   check.JPEG(check.EXIF(little, nil, check.Tags{check.TagOriginal: "2026:04:11 11:20:30", check.TagOffsetOriginal: "-03:30"}, nil)),
		"only-modify.jpg": check.JPEG(check.EXIF(big, camera, check.Tags{check.TagOffset: "+01:00"}, nil)),
	}
}

func readPhoto(t *testing.T, name string, content []byte) *site.Photo {
	p, err := site.ReadPhoto(bytes.NewReader(content), name)
	require.NoError(t, err)
	return p
}

func TestReadPhoto(t *testing.T) {
	all := pictures()
	for _, name := range []string{"all.jpg", "all.heic", "big-endian.jpg"} {
		p := readPhoto(t, name, all[name])
		require.Equal(t, "Invented Box 3", p.Camera)
		require.Equal(t, "2026-04-11T09:20:30Z", p.Shown.Time().Format(time.RFC3339), name)
		require.True(t, p.Zoned)
		require.Equal(t, "2026-04-11T09:20:31Z", p.Fix.Time().Format(time.RFC3339))
		require.InDelta(t, 47+18/60.0+36.54/3600, p.Pos.Lat, 1e-12)
		require.InDelta(t, -(31 + 12/60.0 + 3.25/3600), p.Pos.Lon, 1e-12)
		require.InDelta(t, 4.7, p.ErrM, 1e-9)
		require.InDelta(t, 4.7/math.Sqrt(-2*math.Log(0.32)), p.SdM(), 1e-9)
		require.Empty(t, p.Notes.List())
	}
	p := readPhoto(t, "no-zone.jpg", all["no-zone.jpg"])
	require.Equal(t, "2026-04-11T11:20:30Z", p.Shown.Time().Format(time.RFC3339))
	require.False(t, p.Zoned)
	p = readPhoto(t, "half-zone.jpg", all["half-zone.jpg"])
	require.Equal(t, "2026-04-11T14:50:30Z", p.Shown.Time().Format(time.RFC3339))
	p = readPhoto(t, "only-modify.jpg", all["only-modify.jpg"])
	require.Equal(t, "2026-04-12T07:00:00Z", p.Shown.Time().Format(time.RFC3339))
	p = readPhoto(t, "no-place.heic", all["no-place.heic"])
	require.False(t, p.Pos.Valid())
	require.True(t, math.IsNaN(p.ErrM) && math.IsNaN(p.SdM()))
	require.Equal(t, track.NoTime, p.Fix)
}

// TestOddPhotos: whatever is wrong is said, and the rest of it counts.
func TestOddPhotos(t *testing.T) {
	order := binary.LittleEndian
	whole := check.EXIF(order, check.Tags{check.TagMake: "Invented"}, check.Tags{check.TagOriginal: "2026:04:11 11:20:30"}, gpsTags)
	timed := check.Tags{check.TagOriginal: "2026:04:11 11:20:30"}
	for _, c := range []struct {
		name    string
		content []byte
		note    string // its kinds
		timed   bool
	}{
		{"no EXIF", check.JPEG(nil), "no-exif", false},
		{"cut within the block", check.JPEG(whole)[:60], "damaged-exif", false},
		{"block cut short, segment whole", check.JPEG(whole[:len(whole)-60]), "damaged-exif half-place", true},
		{"block of rubbish", check.JPEG(bytes.Repeat([]byte{0x5a}, 300)), "no-exif", false},
		{"an unknown type of value", check.JPEG(spoil(whole, 12, 0xff)), "damaged-exif", false},
		{"0, 0", check.JPEG(check.EXIF(order, nil, timed, check.Tags{check.TagLatRef: "N", check.TagLat: check.DMS(0, 0, 0), check.TagLonRef: "E", check.TagLon: check.DMS(0, 0, 0)})), "zero-zero", true},
		{"no hemisphere", check.JPEG(check.EXIF(order, nil, timed, check.Tags{check.TagLat: check.DMS(47, 0, 0), check.TagLonRef: "E", check.TagLon: check.DMS(8, 0, 0)})), "half-place", true},
		{"latitude of 96", check.JPEG(check.EXIF(order, nil, timed, check.Tags{check.TagLatRef: "N", check.TagLat: check.DMS(96, 0, 0), check.TagLonRef: "E", check.TagLon: check.DMS(8, 0, 0)})), "half-place", true},
		{"zero denominators", check.JPEG(check.EXIF(order, nil, timed, check.Tags{check.TagLatRef: "N", check.TagLat: [][2]uint32{{4, 0}, {0, 0}, {0, 0}}, check.TagLonRef: "E", check.TagLon: check.DMS(8, 0, 0)})), "zero-zero", true},
		{"a date of blanks", check.JPEG(check.EXIF(order, nil, check.Tags{check.TagOriginal: "    :  :     :  :  "}, nil)), "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := readPhoto(t, "a.jpg", c.content)
			require.False(t, p.Pos.Valid())
			require.Equal(t, c.timed, p.Shown.Known())
			var kinds []string
			for _, n := range p.Notes.List() {
				kinds = append(kinds, string(n.Kind))
				require.Regexp(t, `^a\.jpg: `, n.Example)
			}
			require.Equal(t, c.note, strings.Join(kinds, " "))
		})
	}
	for _, c := range []string{"", "GIF89a, no photo", "\xff\xd8", "<gpx/>"} {
		_, err := site.ReadPhoto(bytes.NewReader([]byte(c)), "a")
		require.ErrorIs(t, err, site.ErrNoPhoto, c)
	}
	_, err := site.ReadPhoto(failing{bytes.NewReader(check.JPEG(whole)), 40}, "a.jpg")
	require.ErrorContains(t, err, "a.jpg: disk on fire")
}

func spoil(b []byte, at int, with byte) []byte {
	b = bytes.Clone(b)
	b[at] = with
	return b
}

// failing reads up to a place and then fails.
type failing struct {
	*bytes.Reader
	upTo int64
}

func (f failing) Read(b []byte) (int, error) {
	at, _ := f.Seek(0, io.SeekCurrent)
	if at >= f.upTo {
		return 0, errors.New("disk on fire")
	}
	return f.Reader.Read(b[:min(int64(len(b)), f.upTo-at)])
}

// countingReader counts the bytes read of a huge picture that is mostly a hole.
type countingReader struct {
	head []byte
	size int64
	at   int64
	read int64
}

func (c *countingReader) Read(b []byte) (int, error) {
	if c.at >= c.size {
		return 0, io.EOF
	}
	n := int(min(int64(len(b)), c.size-c.at))
	clear(b[:n])
	if c.at < int64(len(c.head)) {
		copy(b[:n], c.head[c.at:])
	}
	c.at, c.read = c.at+int64(n), c.read+int64(n)
	return n, nil
}

func (c *countingReader) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += c.at
	case io.SeekEnd:
		offset += c.size
	}
	if offset < 0 {
		return 0, errors.New("before the beginning")
	}
	c.at = offset
	return offset, nil
}

// TestHugePhoto: of 100 MB only what is needed is read, and a file that leads
// round and round comes to an end.
func TestHugePhoto(t *testing.T) {
	for name, content := range map[string][]byte{"JPEG": pictures()["all.jpg"], "HEIF": pictures()["all.heic"]} {
		c := &countingReader{head: content, size: 100 << 20}
		p, err := site.ReadPhoto(c, name)
		require.NoError(t, err)
		require.True(t, p.Pos.Valid() && p.Shown.Known(), name)
		require.Less(t, c.read, int64(1<<20), name)
	}
	round := append([]byte("\x00\x00\x00\x10ftypheic\x00\x00\x00\x00"),
		"\x00\x00\x00\x01free\xff\xff\xff\xff\xff\xff\xff\xff"...) // a box of size -1
	c := &countingReader{head: round, size: 100 << 20}
	_, err := site.ReadPhoto(c, "round.heic")
	require.NoError(t, err)
	require.LessOrEqual(t, c.read, int64(65<<20))
	c = &countingReader{head: []byte("\xff\xd8\xff\xd8"), size: 100 << 20} // zeros to the end
	_, err = site.ReadPhoto(c, "zeros.jpg")
	require.NoError(t, err)
	require.LessOrEqual(t, c.read, int64(65<<20))
}

// toolOrSkip is the path of a program of Debian's, such as exiftool of
// libimage-exiftool-perl.
func toolOrSkip(t *testing.T, name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("UNTROD_REQUIRE_TOOLS") == "1" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

// TestExiftool compares every picture with what exiftool says of it:
// exiftool -n -json FILE...; one HEIF is made by heif-enc -o FILE FROM.
func TestExiftool(t *testing.T) {
	exiftool := toolOrSkip(t, "exiftool")
	dir := t.TempDir()
	all := pictures()
	if encode, err := exec.LookPath("heif-enc"); err == nil || os.Getenv("UNTROD_REQUIRE_TOOLS") == "1" {
		require.NoError(t, err, "heif-enc of Debian's libheif-examples is not installed")
		from, to := filepath.Join(dir, "from.jpg"), filepath.Join(dir, "encoded.heic")
		require.NoError(t, os.WriteFile(from, all["all.jpg"], 0o600))
		out, err := exec.Command(encode, "-o", to, from).CombinedOutput()
		require.NoError(t, err, string(out))
		all["encoded.heic"], err = os.ReadFile(to)
		require.NoError(t, err)
	}
	args := []string{"-n", "-json"}
	for name, content := range all {
		args = append(args, filepath.Join(dir, name))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), content, 0o600))
	}
	out, err := exec.Command(exiftool, args...).Output()
	require.NoError(t, err)
	var told []map[string]any
	require.NoError(t, json.Unmarshal(out, &told))
	require.Len(t, told, len(all))
	for _, one := range told {
		name := one["FileName"].(string)
		t.Run(name, func(t *testing.T) { requireSame(t, one, readPhoto(t, name, all[name])) })
	}
	require.True(t, readPhoto(t, "all.jpg", all["all.jpg"]).Pos.Valid()) // no two sides of nothing
}

func requireSame(t *testing.T, told map[string]any, p *site.Photo) {
	lat, has := told["GPSLatitude"].(float64) // of -n -json: signed, as the composite tag
	require.Equal(t, has, p.Pos.Valid())
	if has {
		require.InDelta(t, lat, p.Pos.Lat, 1e-9)
		require.InDelta(t, told["GPSLongitude"], p.Pos.Lon, 1e-9)
	}
	if m, has := told["GPSHPositioningError"]; has {
		require.InDelta(t, m, p.ErrM, 1e-9)
	}
	if at, has := told["GPSDateTime"]; has {
		require.Equal(t, at, p.Fix.Time().Format("2006:01:02 15:04:05Z"))
	}
	shown, zone := told["DateTimeOriginal"], told["OffsetTimeOriginal"]
	if shown == nil {
		shown, zone = told["ModifyDate"], told["OffsetTime"]
	}
	require.Equal(t, zone != nil, p.Zoned)
	text, layout := fmt.Sprint(shown), "2006:01:02 15:04:05"
	if zone != nil {
		text, layout = text+fmt.Sprint(zone), layout+"-07:00"
	}
	want, err := time.Parse(layout, text)
	require.NoError(t, err)
	require.Equal(t, track.At(want), p.Shown)
}

// FuzzReadPhoto: no picture makes it fail but one that is none.
func FuzzReadPhoto(f *testing.F) {
	for _, content := range pictures() {
		f.Add(content)
	}
	f.Fuzz(func(t *testing.T, content []byte) {
		p, err := site.ReadPhoto(bytes.NewReader(content), "a")
		if err != nil {
			require.ErrorIs(t, err, site.ErrNoPhoto)
			return
		}
		require.True(t, p.Pos.Valid() || math.IsNaN(p.Pos.Lat))
		require.True(t, math.IsNaN(p.SdM()) || p.SdM() > 0)
	})
}

func BenchmarkReadPhoto(b *testing.B) {
	content := pictures()["all.jpg"]
	for b.Loop() {
		if _, err := site.ReadPhoto(bytes.NewReader(content), "a"); err != nil {
			b.Fatal(err)
		}
	}
}
