package backdrop

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"

	"golang.org/x/image/tiff/lzw"
)

// raster is the pixels of a TIFF: samples of whole bytes in blocks, which are strips as
// wide as the picture, or tiles.
type raster struct {
	*directory
	width, height          int
	samples, bits          int // of a pixel; of a sample
	format                 int // 1 whole numbers, 2 signed ones, 3 floating point
	photometric            int
	planar                 bool // every sample has blocks of its own
	tiled                  bool
	blockWidth             int
	blockHeight            int
	compression, predictor int
	offsets, lengths       []int
}

// The most bytes that the blocks of a TIFF may unpack to, how many of them may lie
// outside a small picture, and the most blocks.
const (
	maxWork   = 1_000_000_000
	maxSpare  = 1 << 26
	maxBlocks = 300_000
)

var errLarge = errors.New("too large: make it smaller in a picture program")

// raster reads how the pixels lie. It is an error when they are more than can be used.
func (d *directory) raster() (*raster, error) {
	r := &raster{
		directory: d, width: d.number(tagWidth, 0), height: d.number(tagHeight, 0), samples: d.number(tagSamples, 1),
		bits: d.number(tagBits, 1), format: d.number(tagFormat, 1), photometric: d.number(tagPhotometric, 1),
		planar: d.number(tagPlanar, 1) == 2, compression: d.number(tagCompression, 1), predictor: d.number(tagPredictor, 1),
	}
	if err := fitsIn(r.width, r.height, 4); err != nil {
		return nil, err
	}
	for _, bits := range d.ints(tagBits, 100) {
		if bits != r.bits {
			return nil, errors.New("samples of different sizes cannot be used")
		}
	}
	if r.samples < 1 || r.samples > 100 || r.bits < 1 || r.bits > 64 || r.bits > 8 && r.bits&(r.bits-1) != 0 || r.format > 4 {
		return nil, fmt.Errorf("%d samples of %d bits cannot be used: save it as PNG with a world file", r.samples, r.bits)
	}
	return r, r.layOut()
}

// layOut reads where the blocks are. It is an error when unpacking them could take long.
func (r *raster) layOut() error {
	offsets, lengths := tagStripOffsets, tagStripSizes
	r.blockWidth, r.blockHeight = r.width, min(r.height, r.number(tagStripRows, r.height))
	if _, r.tiled = r.fields[tagTileOffsets]; r.tiled {
		offsets, lengths = tagTileOffsets, tagTileSizes
		r.blockWidth, r.blockHeight = r.number(tagTileWidth, 0), r.number(tagTileHeight, 0)
	}
	if r.blockWidth < 1 || r.blockHeight < 1 || r.blockWidth > MaxPixels/r.blockHeight {
		return errCut
	}
	n := r.across() * r.down() * r.planes()
	own := float64(r.width) * float64(r.height) * float64(r.samples*r.bits) / 8
	if r.work() > maxWork || r.work() > 4*own+maxSpare || n > maxBlocks {
		return errLarge
	}
	r.offsets, r.lengths = r.ints(offsets, n), r.ints(lengths, n)
	if len(r.offsets) < n || len(r.lengths) < n {
		return errCut
	}
	sum := 0
	for _, l := range r.lengths { // blocks may share bytes
		if sum += l; sum > 2*MaxBytes {
			return errLarge
		}
	}
	return nil
}

func (r *raster) across() int { return (r.width + r.blockWidth - 1) / r.blockWidth }
func (r *raster) down() int   { return (r.height + r.blockHeight - 1) / r.blockHeight }

// planes are how many times the picture is laid out in blocks.
func (r *raster) planes() int {
	if r.planar {
		return r.samples
	}
	return 1
}

// pixelBytes are those of a pixel in a block.
func (r *raster) pixelBytes() int { return r.bits / 8 * r.samples / r.planes() }

// work is how many bytes all blocks are, unpacked. Each factor is under 1e9.
func (r *raster) work() float64 {
	return float64(r.across()*r.blockWidth) * float64(r.down()*r.blockHeight) * float64(r.samples*r.bits) / 8
}

// each hands f the samples of a row of each block, as far as it lies in the picture.
func (r *raster) each(f func(plane, col, row int, samples []byte)) error {
	buf := make([]byte, r.blockWidth*r.blockHeight*r.pixelBytes())
	i := 0
	for plane := range r.planes() {
		for row := 0; row < r.height; row += r.blockHeight {
			for col := 0; col < r.width; col += r.blockWidth {
				rows := r.blockHeight
				if !r.tiled {
					rows = min(rows, r.height-row)
				}
				block := buf[:r.blockWidth*rows*r.pixelBytes()]
				if r.lengths[i] > 0 { // else left out, as sparse files do
					if err := r.block(i, block); err != nil {
						return err
					}
					r.eachRow(block, func(k int, samples []byte) { f(plane, col, row+k, samples) }, r.height-row, r.width-col)
				}
				i++
			}
		}
	}
	return nil
}

func (r *raster) eachRow(block []byte, f func(k int, samples []byte), rows, cols int) {
	line := r.blockWidth * r.pixelBytes()
	for k := range min(rows, len(block)/line) {
		f(k, block[k*line:][:min(cols, r.blockWidth)*r.pixelBytes()])
	}
}

// block unpacks a block into dst. One that is cut short is an error.
func (r *raster) block(i int, dst []byte) error {
	packed := r.slice(int64(r.offsets[i]), int64(r.lengths[i]))
	if packed == nil {
		return errCut
	}
	if err := r.unpack(packed, dst); err != nil {
		return err
	}
	line := r.blockWidth * r.pixelBytes()
	for ; len(dst) >= line; dst = dst[line:] {
		switch r.predictor {
		case 2:
			r.sumRow(dst[:line])
		case 3:
			r.floatRow(dst[:line])
		}
	}
	return nil
}

func (r *raster) unpack(packed, dst []byte) error {
	var from io.Reader
	switch r.compression {
	case 1:
		from = bytes.NewReader(packed)
	case 5:
		z := lzw.NewReader(bytes.NewReader(packed), lzw.MSB, 8)
		defer z.Close()
		from = z
	case 7:
		return r.unpackJPEG(packed, dst)
	case 8, 32946:
		z, err := zlib.NewReader(bytes.NewReader(packed))
		if err != nil {
			return errCut
		}
		from = z
	case 32773:
		return unpackBits(packed, dst)
	default:
		return fmt.Errorf("packed in a way (%d) that cannot be read: save it with Deflate, or as PNG with a world file", r.compression)
	}
	if _, err := io.ReadFull(from, dst); err != nil {
		return errCut
	}
	return nil
}

// unpackBits is the PackBits of TIFF 6.0, section 9.
func unpackBits(packed, dst []byte) error {
	for len(dst) > 0 {
		if len(packed) < 2 {
			return errCut
		}
		n := int(int8(packed[0]))
		switch {
		case n >= 0:
			n = min(n+1, len(packed)-1, len(dst))
			copy(dst, packed[1:1+n])
			packed, dst = packed[1+n:], dst[n:]
		case n == -128:
			packed = packed[1:]
		default:
			n = min(1-n, len(dst))
			for k := range n {
				dst[k] = packed[1]
			}
			packed, dst = packed[2:], dst[n:]
		}
	}
	return nil
}

// unpackJPEG reads a block that is a JPEG picture whose tables stand once for all
// (TIFF Technical Note 2).
func (r *raster) unpackJPEG(packed, dst []byte) error {
	data := packed
	if tables := r.fields[tagJPEG].raw; len(tables) > 4 && len(tables) < 1<<16 && len(packed) > 2 {
		data = append(bytes.Clone(tables[:len(tables)-2]), packed[2:]...)
	}
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil || c.Width != r.blockWidth || c.Height > r.blockHeight || r.bits != 8 {
		return errCut
	}
	m, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return errCut
	}
	return r.takeJPEG(m.(image.RGBA64Image), dst)
}

// takeJPEG copies colours, or greys, into the samples of a block.
func (r *raster) takeJPEG(m image.RGBA64Image, dst []byte) error {
	n := r.pixelBytes()
	if n != 1 && n != 3 || len(dst) > n*r.blockWidth*m.Bounds().Dy() {
		return errCut
	}
	for i := 0; i+n <= len(dst); i += n {
		c := m.RGBA64At(i/n%r.blockWidth, i/n/r.blockWidth)
		dst[i] = uint8(c.R >> 8)
		if n == 3 {
			dst[i+1], dst[i+2] = uint8(c.G>>8), uint8(c.B>>8)
		}
	}
	return nil
}

func (r *raster) littleEndian() bool { return r.order == binary.ByteOrder(binary.LittleEndian) }

// sumRow undoes predictor 2: samples are differences from the pixel to the left.
func (r *raster) sumRow(row []byte) {
	size, step := r.bits/8, r.pixelBytes()
	for i := step; i+size <= len(row); i += size {
		a, b := row[i-step:], row[i:]
		switch size {
		case 1:
			b[0] += a[0]
		case 2:
			r.order.PutUint16(b, r.order.Uint16(a)+r.order.Uint16(b))
		case 4:
			r.order.PutUint32(b, r.order.Uint32(a)+r.order.Uint32(b))
		case 8:
			r.order.PutUint64(b, r.order.Uint64(a)+r.order.Uint64(b))
		}
	}
}

// floatRow undoes predictor 3 (TIFF Technical Note 3): bytes are differences from the
// pixel to the left, and the highest bytes of a row's numbers stand first, then the next.
func (r *raster) floatRow(row []byte) {
	size, step := r.bits/8, r.pixelBytes()/(r.bits/8)
	for i := step; i < len(row); i++ {
		row[i] += row[i-step]
	}
	parts, n := bytes.Clone(row), len(row)/size
	for i := range n {
		for k := range size {
			to := i*size + k
			if r.littleEndian() {
				to = i*size + size - 1 - k
			}
			row[to] = parts[k*n+i]
		}
	}
}
