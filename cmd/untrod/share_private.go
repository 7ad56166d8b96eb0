package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
)

// sharePhoto is a photo without metadata.
type sharePhoto struct {
	name string
	data []byte
}

// sharePrivate is what must not be told beside what the result holds.
type sharePrivate struct{ names, files, hashes []string }

// readPhotos makes the pictures of the book's photos anew. One of another kind is left
// out, and named.
func (j *shareJob) readPhotos(w io.Writer) error {
	if j.book == nil {
		return hint(usagef("--photos: loose files have no finds"), "only a book has photos: "+self()+" find BOOK")
	}
	all, err := j.book.Photos()
	if err != nil {
		return err
	}
	for _, p := range all {
		r, err := j.book.OpenPhoto(p)
		if err != nil {
			return fmt.Errorf("photo %q: %w", p.Name, plainFileError(err))
		}
		data, err := io.ReadAll(r)
		r.Close()
		if err != nil {
			return fmt.Errorf("photo %q: %w", p.Name, err)
		}
		if seen, err := site.ReadPhoto(bytes.NewReader(data), p.Name); err == nil {
			j.hidden.names = append(j.hidden.names, seen.Camera)
		}
		var bare bytes.Buffer
		ext, err := report.BarePhoto(&bare, bytes.NewReader(data))
		if err != nil {
			fmt.Fprintf(w, "untrod: left out the photo %q: %v\n", p.Name, err)
			continue
		}
		name := fmt.Sprintf("share-photo-%d%s", len(j.photos)+1, ext)
		j.photos = append(j.photos, sharePhoto{name, bare.Bytes()})
		j.set.Photos = append(j.set.Photos, name)
	}
	return nil
}

// gatherPrivate takes the names and hashes of the inputs themselves, and of what a book
// holds beside visits and site.
func (j *shareJob) gatherPrivate() error {
	for _, path := range j.inputs {
		if path == "" {
			continue
		}
		j.hidden.files = append(j.hidden.files, filepath.Base(path))
		sum, err := sumOfFile(path)
		if err != nil {
			return fmt.Errorf("%s: %w", path, plainFileError(err))
		}
		j.hidden.hashes = append(j.hidden.hashes, sum)
	}
	if j.book == nil {
		return nil
	}
	places, err := j.book.Places()
	if err != nil {
		return err
	}
	for _, p := range places {
		j.hidden.names = append(j.hidden.names, p.Name)
	}
	finds, err := j.book.Finds()
	if err != nil {
		return err
	}
	for _, f := range finds {
		j.hidden.names = append(j.hidden.names, f.Name)
		j.hidden.hashes = append(j.hidden.hashes, f.Photos...)
	}
	photos, err := j.book.Photos()
	for _, p := range photos {
		j.hidden.files = append(j.hidden.files, p.Name)
	}
	return err
}

func sumOfFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	sum := sha256.New()
	_, err = io.Copy(sum, f)
	return hex.EncodeToString(sum.Sum(nil)), err
}

func (p sharePrivate) secrets(r *coverage.Result, set report.ShareSettings) *report.Secrets {
	s := report.SecretsOf(r, set)
	for _, n := range p.names {
		s.AddName(n)
	}
	for _, f := range p.files {
		s.AddFile(f)
	}
	for _, h := range p.hashes {
		s.AddHash(h)
	}
	return s
}
