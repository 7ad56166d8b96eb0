// Command ui bundles the page of untrod from src into ../page, from where the program
// embeds it: page.js and page.css, and the licences of what is in them. The bundle is
// committed, so that building untrod needs nothing of this.
//
//	cd web/ui && npm ci --ignore-scripts && go run .
package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/evanw/esbuild/pkg/api"
)

const (
	out      = "../page"
	maxBytes = 200_000 // gzipped, of all the page's code: what a slow tablet starts in about a second
)

func main() {
	if err := bundle(); err != nil {
		fmt.Fprintln(os.Stderr, "ui:", err)
		os.Exit(1)
	}
}

func bundle() error {
	if _, err := os.Stat("node_modules/ol/package.json"); err != nil {
		return errors.New("what the page is built on is not here: run npm ci --ignore-scripts")
	}
	r := api.Build(options())
	if len(r.Errors) > 0 {
		return fmt.Errorf("%d errors, above", len(r.Errors))
	}
	if err := checkSize(r.OutputFiles); err != nil {
		return err
	}
	for _, f := range r.OutputFiles {
		if err := os.WriteFile(f.Path, f.Contents, 0o644); err != nil {
			return err
		}
	}
	return writeLicences(r.Metafile)
}

func options() api.BuildOptions {
	return api.BuildOptions{
		EntryPointsAdvanced: []api.EntryPoint{
			{InputPath: "src/main.js", OutputPath: "page"}, // imports the styles as well
		},
		Outdir: out, Bundle: true, Metafile: true,
		Format: api.FormatESModule, Target: api.ES2022, Charset: api.CharsetUTF8,
		MinifyWhitespace: true, MinifyIdentifiers: true, MinifySyntax: true,
		LegalComments: api.LegalCommentsNone, // they are all in LICENSES.txt
		Banner: map[string]string{
			"js":  "/* untrod, built from web/ui; licences of what is bundled: LICENSES.txt */",
			"css": "/* untrod, built from web/ui */",
		},
		LogLevel: api.LogLevelWarning,
	}
}

// checkSize prints how large the files are as sent, and fails when they are too large.
func checkSize(files []api.OutputFile) error {
	total := 0
	for _, f := range files {
		n := gzipped(f.Contents)
		total += n
		fmt.Printf("%-9s %7d bytes, %6d gzipped\n", filepath.Base(f.Path), len(f.Contents), n)
	}
	if total > maxBytes {
		return fmt.Errorf("%d bytes gzipped, must be at most %d: nothing was written", total, maxBytes)
	}
	fmt.Printf("together %d of %d bytes gzipped\n", total, maxBytes)
	return nil
}

func gzipped(b []byte) int {
	var buf bytes.Buffer
	w, _ := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	w.Write(b) // a bytes.Buffer takes everything
	w.Close()
	return buf.Len()
}
