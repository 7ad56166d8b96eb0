// Package backdrop reads a picture of the user's own, or a grid of heights, and draws it
// under the map: GeoTIFF, PNG and JPEG with a world file, and ESRI ASCII grids. Heights
// are hill-shaded.
//
// Start at [Read]. A [Place] says where its pixels lie; it comes from the file, from
// [Guess] where the file gives numbers without saying in which system, or from tied
// points, [FromTies]. [Picture.Drawing] draws tiles.
//
// Files are foreign: nothing is decoded before its size is known, and what is too large
// is refused.
package backdrop

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
)

// The most that is read.
const (
	MaxBytes   = 100_000_000 // of a file
	MaxPixels  = 100_000_000
	maxDecoded = 4 * MaxPixels // bytes of a picture in memory
)

// Picture is a picture or a grid of heights as read.
type Picture struct {
	Width, Height int // pixels
	// Image is the picture; nil of heights.
	Image image.RGBA64Image
	// Heights are in metres, row by row from the top, NaN where there is none; nil of a
	// picture.
	Heights []float32
	// Numbers take pixels to the plane of the System; nil where the file says nothing
	// of its place. They may be known without the System.
	Numbers *Affine
	System  System
	// Unplaced says why there is no System though the file names one; "" otherwise.
	Unplaced string
}

// Terrain reports whether p is a grid of heights.
func (p *Picture) Terrain() bool { return p.Heights != nil }

// Read reads a picture or grid of heights by what it begins with. world is its world
// file and may be empty; where a picture names its own place, that goes first.
//
// Errors say in plain words what is wrong: another format, damage, or too large.
func Read(data, world []byte) (*Picture, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%d MB: at most 100 MB can be used; make it smaller in a picture program", len(data)/1_000_000)
	}
	p, err := read(data)
	if err != nil {
		return nil, err
	}
	if p.Numbers == nil && len(bytes.TrimSpace(world)) > 0 {
		a, err := ReadWorld(world)
		if err != nil {
			return nil, err
		}
		p.Numbers = &a
	}
	return p, nil
}

func read(data []byte) (*Picture, error) {
	switch {
	case bytes.HasPrefix(data, []byte("II")), bytes.HasPrefix(data, []byte("MM")):
		return readTIFF(data)
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		c, err := png.DecodeConfig(bytes.NewReader(data))
		if err != nil {
			return nil, fmt.Errorf("damaged PNG: %w", err)
		}
		if err := fits(c); err != nil {
			return nil, err
		}
		m, err := png.Decode(bytes.NewReader(data))
		return pictureOf(m, err)
	case bytes.HasPrefix(data, []byte("\xff\xd8")):
		c, err := jpeg.DecodeConfig(bytes.NewReader(data))
		if err != nil {
			return nil, fmt.Errorf("damaged JPEG: %w", err)
		}
		if err := fits(c); err != nil {
			return nil, err
		}
		m, err := jpeg.Decode(bytes.NewReader(data))
		return pictureOf(m, err)
	case isASCIIGrid(data):
		return readASCIIGrid(data)
	}
	return nil, errors.New("neither a picture nor a grid of heights: use GeoTIFF, PNG or JPEG, or an ESRI ASCII grid (.asc)")
}

// fits is an error when a picture would take too much memory.
func fits(c image.Config) error {
	size := 4
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model:
		size = 8
	}
	return fitsIn(c.Width, c.Height, size)
}

// fitsIn is an error when width x height pixels of size bytes are none or too many.
func fitsIn(width, height, size int) error {
	if width <= 0 || height <= 0 {
		return errors.New("a picture without pixels")
	}
	if width > MaxPixels/height || width*height > maxDecoded/size {
		return fmt.Errorf("%d x %d pixels: at most %d million can be used; make it smaller in a picture program",
			width, height, min(MaxPixels, maxDecoded/size)/1_000_000)
	}
	return nil
}

func pictureOf(m image.Image, err error) (*Picture, error) {
	if err != nil {
		return nil, fmt.Errorf("damaged picture: %w", err)
	}
	whole, ok := m.(image.RGBA64Image)
	if !ok || m.Bounds().Min != (image.Point{}) {
		return nil, fmt.Errorf("a picture of a kind (%T) that cannot be used", m)
	}
	return &Picture{Width: m.Bounds().Dx(), Height: m.Bounds().Dy(), Image: whole}, nil
}
