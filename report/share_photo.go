package report

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"

	"github.com/bep/imagemeta"
)

// ErrNoPicture is wrapped by BarePhoto's error for what is neither JPEG nor PNG.
var ErrNoPicture = errors.New("neither JPEG nor PNG, so it cannot be freed of what it tells beside the picture")

// maxPixels is the most pixels of a photo that is taken: its picture lies in memory.
const maxPixels = 120_000_000

// BarePhoto writes a picture as a new JPEG, or PNG where it was one, that holds nothing but its pixels:
// no place, time, camera, thumbnail or comment. A picture that its metadata would show
// turned is turned. ext is ".jpg" or ".png". What the picture itself shows stays in it.
// Memory is eight bytes a pixel, of which 120 million are the most.
func BarePhoto(w io.Writer, r io.Reader) (ext string, err error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return "", err
	}
	size, format, err := image.DecodeConfig(bytes.NewReader(data))
	switch {
	case errors.Is(err, image.ErrFormat):
		return "", ErrNoPicture
	case err != nil:
		return "", err
	case format != "jpeg" && format != "png":
		return "", ErrNoPicture
	case size.Width*size.Height > maxPixels:
		return "", fmt.Errorf("%d x %d pixels, over %d million", size.Width, size.Height, maxPixels/1_000_000)
	}
	pic, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return "", err
	}
	pic = upright(plain(pic), orientation(data, format))
	if format == "png" {
		return ".png", png.Encode(w, pic)
	}
	return ".jpg", jpeg.Encode(w, pic, &jpeg.Options{Quality: 90})
}

// plain is a copy of the pixels in a form that keeps no more than them.
func plain(src image.Image) *image.NRGBA {
	dst := image.NewNRGBA(image.Rectangle{Max: src.Bounds().Size()})
	draw.Draw(dst, dst.Rect, src, src.Bounds().Min, draw.Src)
	return dst
}

// orientation is the EXIF tag, 1 to 8; 1 where there is none.
func orientation(data []byte, format string) (turn int) {
	kind := imagemeta.JPEG
	if format == "png" {
		kind = imagemeta.PNG
	}
	turn = 1
	imagemeta.Decode(imagemeta.Options{ // what cannot be read turns nothing
		R: bytes.NewReader(data), ImageFormat: kind, Sources: imagemeta.EXIF,
		HandleTag: func(t imagemeta.TagInfo) error {
			if v, ok := t.Value.(uint16); ok && t.Tag == "Orientation" && v >= 1 && v <= 8 {
				turn = int(v)
			}
			return nil
		},
	})
	return turn
}

// upright turns and mirrors a picture as Exif 3.0 (CIPA DC-008-2023), tag Orientation,
// says: 1 is upright, 3 half round, 6 wants a quarter turn clockwise, 8 one back; 2, 4, 5
// and 7 are mirrored besides.
func upright(src *image.NRGBA, turn int) *image.NRGBA {
	if turn == 1 {
		return src
	}
	w, h := src.Rect.Dx(), src.Rect.Dy()
	size := image.Pt(w, h)
	if turn >= 5 {
		size = image.Pt(h, w)
	}
	dst := image.NewNRGBA(image.Rectangle{Max: size})
	for y := range size.Y {
		for x := range size.X {
			at := [9]image.Point{2: {w - 1 - x, y}, 3: {w - 1 - x, h - 1 - y}, 4: {x, h - 1 - y},
				5: {y, x}, 6: {y, h - 1 - x}, 7: {w - 1 - y, h - 1 - x}, 8: {w - 1 - y, x}}[turn]
			copy(dst.Pix[dst.PixOffset(x, y):][:4], src.Pix[src.PixOffset(at.X, at.Y):][:4])
		}
	}
	return dst
}
