package web

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// upload puts a question with files, by name.
func (o bookPage) upload(path string, files map[string][]byte) (int, string) {
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for name, data := range files {
		part, err := m.CreateFormFile("file", name)
		require.NoError(o.t, err)
		_, err = part.Write(data)
		require.NoError(o.t, err)
	}
	require.NoError(o.t, m.Close())
	return o.ask(http.MethodPost, path, body.String(), func(r *http.Request) { r.Header.Set("Content-Type", m.FormDataContentType()) })
}

// placedJPEG is a picture whose EXIF block tells a camera.
func placedJPEG(t *testing.T, w, h int) []byte {
	pic := image.NewGray(image.Rect(0, 0, w, h))
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, pic, nil))
	tiff := []byte("II*\x00\x08\x00\x00\x00\x01\x00\x0f\x01\x02\x00\x0c\x00\x00\x00\x1a\x00\x00\x00\x00\x00\x00\x00PeerlessCam\x00")
	block := append([]byte("Exif\x00\x00"), tiff...)
	app := append([]byte{0xff, 0xe1}, binary.BigEndian.AppendUint16(nil, uint16(len(block)+2))...)
	return append(append([]byte{0xff, 0xd8}, append(app, block...)...), out.Bytes()[2:]...)
}

func TestPhotos(t *testing.T) {
	o := served(t, 0)
	id := o.add(`"name": "coin"`).ID
	photo := placedJPEG(t, 2400, 250)
	require.Contains(t, string(photo), "PeerlessCam")
	status, text := o.upload(fmt.Sprintf("/api/finds/%d/photo", id), map[string][]byte{"../../coin.jpg": photo})
	require.Equal(t, http.StatusOK, status, text)
	require.Equal(t, "added a photo of the find coin", o.state().Book.Undo)
	require.FileExists(t, filepath.Join(filepath.Dir(o.path), "square-photos", "coin.jpg"))
	shas := o.finds().Finds[0].Photos
	require.Len(t, shas, 1)

	var first string
	for range 2 { // made, and from memory
		res, err := o.client.Get(o.base + "/photos/" + shas[0] + ".jpg")
		require.NoError(t, err)
		require.Equal(t, "image/jpeg", res.Header.Get("Content-Type"))
		data, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		res.Body.Close()
		require.NotContains(t, string(data), "Exif")
		require.NotContains(t, string(data), "PeerlessCam")
		size, err := jpeg.DecodeConfig(bytes.NewReader(data))
		require.NoError(t, err)
		require.Equal(t, [2]int{1600, 166}, [2]int{size.Width, size.Height})
		if first == "" {
			first = string(data)
		}
		require.Equal(t, first, string(data))
	}

	o.ask(http.MethodPut, fmt.Sprintf("/api/finds/%d", id), `{"name": "old coin"}`)
	require.Equal(t, shas, o.finds().Finds[0].Photos, "left out: as they are")
	o.ask(http.MethodPut, fmt.Sprintf("/api/finds/%d", id), `{"name": "old coin", "photos": []}`)
	require.Empty(t, o.finds().Finds[0].Photos)
	status, _ = o.get("/photos/" + shas[0] + ".jpg")
	require.Equal(t, http.StatusNotFound, status, "no longer in the book, though in memory")
}

func TestPhotosRefused(t *testing.T) {
	o := served(t, 0)
	id := o.add(`"name": "coin"`).ID
	to := fmt.Sprintf("/api/finds/%d/photo", id)
	status, text := o.upload(to, map[string][]byte{"x.jpg": []byte("<html>no picture at all</html>")})
	require.Equal(t, http.StatusUnprocessableEntity, status, text)
	require.Contains(t, text, "x.jpg is no photo")
	status, text = o.upload("/api/finds/99/photo", map[string][]byte{"x.jpg": placedJPEG(t, 8, 8)})
	require.Equal(t, http.StatusNotFound, status, text)
	require.Empty(t, o.finds().Finds[0].Photos)
	for _, path := range []string{"/photos/" + strings.Repeat("0", 64) + ".jpg", "/photos/..%2f..%2fetc%2fpasswd.jpg", "/photos/x", "/photos/.jpg"} {
		status, _ := o.get(path)
		require.Equal(t, http.StatusNotFound, status, path)
	}

	heif := append([]byte("\x00\x00\x00\x18ftypheic"), make([]byte, 100)...)
	status, text = o.upload(to, map[string][]byte{"phone.heic": heif, "torn.jpg": placedJPEG(t, 8, 8)[:40]})
	require.Equal(t, http.StatusOK, status, text)
	shas := o.finds().Finds[0].Photos
	require.Len(t, shas, 2)
	said := map[int]string{}
	for _, sha := range shas {
		status, text := o.get("/photos/" + sha + ".jpg")
		said[status] = text
	}
	require.Contains(t, said[http.StatusUnsupportedMediaType], `phone.heic\" cannot be shown here`)
	require.Contains(t, said[http.StatusUnprocessableEntity], "torn.jpg")

	require.NoError(t, os.RemoveAll(filepath.Join(filepath.Dir(o.path), "square-photos")))
	status, text = o.get("/photos/" + shas[0] + ".jpg")
	require.Equal(t, http.StatusNotFound, status)
	require.Contains(t, text, "not beside the book any more")
}

func TestSmallPhotoOfClearPNG(t *testing.T) {
	pic := image.NewNRGBA(image.Rect(0, 0, 20, 4000))
	pic.Set(3, 3, color.NRGBA{A: 255})
	var data bytes.Buffer
	require.NoError(t, png.Encode(&data, pic))
	small, err := smallPhoto(data.Bytes())
	require.NoError(t, err)
	got, err := jpeg.Decode(bytes.NewReader(small))
	require.NoError(t, err)
	require.Equal(t, image.Pt(8, 1600), got.Bounds().Size())
	r, g, b, _ := got.At(4, 800).RGBA()
	require.Greater(t, min(r, g, b), uint32(0xf000), "clear is white")
}

func TestAlbumForgetsOldest(t *testing.T) {
	a := &album{}
	for i := range 5 {
		a.keep(readyPhoto{fmt.Sprint(i), make([]byte, albumBytes/4)})
		require.NotNil(t, a.find("0"), "looked at again and again")
	}
	require.Nil(t, a.find("1"))
	require.NotNil(t, a.find("4"))
	require.LessOrEqual(t, a.bytes, albumBytes)
	a.keep(readyPhoto{"huge", make([]byte, 2*albumBytes)})
	require.NotNil(t, a.find("huge"), "one is kept, however large")
}

// TestImportFinds holds that files go to the command by their plain names, in a
// folder of their own, after the book.
func TestImportFinds(t *testing.T) {
	var got []string
	o := served(t, 0, func(c *Config) {
		c.Lent.Run = func(_ context.Context, args []string, out, errs io.Writer) int {
			for _, path := range args[3:] {
				data, err := os.ReadFile(path)
				require.NoError(t, err)
				got = append(got, filepath.Base(path)+": "+string(data))
			}
			require.Equal(t, []string{"find", c.Book, "import"}, args[:3])
			fmt.Fprintln(out, "Added 1 find.")
			fmt.Fprintf(errs, "untrod: skipped %s: no finds in it\n", args[3])
			return exitSkipped
		}
	})
	status, text := o.upload("/api/finds/file", map[string][]byte{"../--zone=x.csv": []byte("name\ncoin\n")})
	require.Equal(t, http.StatusOK, status, text)
	require.Equal(t, []string{"--zone=x.csv: name\ncoin\n"}, got)
	var doc DoneDoc
	require.NoError(t, json.Unmarshal([]byte(text), &doc))
	require.Equal(t, DoneDoc{"Added 1 find.\n", "skipped --zone=x.csv: no finds in it"}, doc)
}
