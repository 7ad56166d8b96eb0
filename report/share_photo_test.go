package report

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/site"
)

// quarters is a picture 32 wide and 16 high whose four quarters are told apart.
func quarters() *image.NRGBA {
	pic := image.NewNRGBA(image.Rect(0, 0, 32, 16))
	for i, c := range []color.NRGBA{{R: 250, A: 255}, {G: 250, A: 255}, {B: 250, A: 255}, {R: 250, G: 250, B: 250, A: 255}} {
		at := image.Pt(i%2*16, i/2*8)
		draw.Draw(pic, image.Rectangle{Min: at, Max: at.Add(image.Pt(16, 8))}, image.NewUniform(c), image.Point{}, draw.Src)
	}
	return pic
}

// exifOf is an EXIF block (Exif 3.0, section 4.6): its orientation, camera, and a place.
func exifOf(turn uint16) string {
	be := binary.BigEndian
	var b []byte
	entry := func(tag, kind uint16, count, value uint32) {
		b = be.AppendUint16(be.AppendUint16(b, tag), kind)
		b = be.AppendUint32(be.AppendUint32(b, count), value)
	}
	b = append(b, "MM\x00*\x00\x00\x00\x08\x00\x03"...)
	entry(0x010f, 2, 12, 200)                 // make
	entry(0x0112, 3, 1, uint32(turn)<<16)     // orientation
	entry(0x8825, 4, 1, 60)                   // GPS
	b = append(b, make([]byte, 60-len(b))...) // no next directory, and room
	b = append(b, 0, 4)
	entry(1, 2, 2, uint32('N')<<24)
	entry(2, 5, 3, 120)
	entry(3, 2, 2, uint32('E')<<24)
	entry(4, 5, 3, 144)
	b = append(b, make([]byte, 120-len(b))...)
	for _, v := range []uint32{51, 1, 14, 1, 4, 1, 12, 1, 20, 1, 44, 1} {
		b = be.AppendUint32(b, v)
	}
	b = append(b, make([]byte, 200-len(b))...)
	return "Exif\x00\x00" + string(append(b, "Hedgehog 12\x00"...))
}

func withSegment(data []byte, kind byte, body string) []byte {
	segment := binary.BigEndian.AppendUint16([]byte{0xff, kind}, uint16(len(body)+2))
	return append(append([]byte{0xff, 0xd8}, append(segment, body...)...), data[2:]...)
}

// Whatever stands beside the picture goes, and the picture stays as it was seen.
func TestBarePhoto(t *testing.T) {
	var plainJPEG bytes.Buffer
	require.NoError(t, jpeg.Encode(&plainJPEG, quarters(), &jpeg.Options{Quality: 95}))
	s := hiding(t)
	for turn := range uint16(9) {
		data := withSegment(withSegment(plainJPEG.Bytes(), 0xfe, "Kettle Bank"), 0xe1, exifOf(turn))
		seen, err := site.ReadPhoto(bytes.NewReader(data), "a.jpg")
		require.NoError(t, err)
		require.InDelta(t, 51.2344, seen.Pos.Lat, 0.001, "the place was in there")
		require.NotEmpty(t, s.Leaks("a.jpg", data))
		var out bytes.Buffer
		ext, err := BarePhoto(&out, bytes.NewReader(data))
		require.NoError(t, err)
		require.Equal(t, ".jpg", ext)
		require.Empty(t, s.Leaks("a.jpg", out.Bytes()))
		require.NotContains(t, out.String(), "Exif")
		require.NotContains(t, out.String(), "Hedgehog")
		pic, err := jpeg.Decode(&out)
		require.NoError(t, err)
		requireCorners(t, pic, turn)
	}
}

// requireCorners holds the corners of the turned picture against Exif's table: what the
// 0th row and column of the stored picture are, seen upright.
func requireCorners(t *testing.T, pic image.Image, turn uint16) {
	const r, g, b, w = "red", "green", "blue", "white" // stored: r g over b w
	want := map[uint16][4]string{
		1: {r, g, b, w}, 2: {g, r, w, b}, 3: {w, b, g, r}, 4: {b, w, r, g},
		5: {r, b, g, w}, 6: {b, r, w, g}, 7: {w, g, b, r}, 8: {g, w, r, b},
	}[max(turn, 1)]
	size := pic.Bounds().Size()
	if turn >= 5 {
		require.Equal(t, image.Pt(16, 32), size)
	}
	for i, at := range []image.Point{{2, 2}, {size.X - 3, 2}, {2, size.Y - 3}, {size.X - 3, size.Y - 3}} {
		require.Equal(t, want[i], colourName(pic.At(at.X, at.Y)), "orientation %d, corner %d", turn, i)
	}
}

func colourName(c color.Color) string {
	r, g, b, _ := c.RGBA()
	switch {
	case r > 0xa000 && g > 0xa000 && b > 0xa000:
		return "white"
	case r > 0xa000:
		return "red"
	case g > 0xa000:
		return "green"
	case b > 0xa000:
		return "blue"
	}
	return "none"
}

func TestBarePhotoOfPNG(t *testing.T) {
	var out bytes.Buffer
	ext, err := BarePhoto(&out, bytes.NewReader(pngWith("tEXt", "Comment\x00Kettle Bank")))
	require.NoError(t, err)
	require.Equal(t, ".png", ext)
	require.Empty(t, hiding(t).Leaks("a.png", out.Bytes()))
	_, err = png.Decode(&out)
	require.NoError(t, err)
}

func TestBarePhotoRefuses(t *testing.T) {
	huge := bytes.Clone(pngWith("", ""))
	binary.BigEndian.PutUint32(huge[16:], 1<<20)
	binary.BigEndian.PutUint32(huge[20:], 1<<20)
	for name, data := range map[string][]byte{
		"HEIF":  []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"),
		"text":  []byte("no picture"),
		"empty": nil,
		"cut":   jpegWith(0, "")[:100],
		"huge":  huge,
	} {
		t.Run(name, func(t *testing.T) {
			_, err := BarePhoto(io.Discard, bytes.NewReader(data))
			require.Error(t, err)
			if name == "HEIF" || name == "text" || name == "empty" {
				require.ErrorIs(t, err, ErrNoPicture)
			}
		})
	}
}
