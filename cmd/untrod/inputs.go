package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"untrod/coverage"
)

const gapsFile = "gaps.gpx"

// ownFiles are outputs of untrod that a reader would take for a walk; they are
// never taken up from a folder.
var ownFiles = []string{gapsFile, "gaps.geojson", "next.gpx", "next.kml", "next.geojson", "next.csv", "finds.csv", "ground.kmz", "visits.csv"}

// inputs are the log files of one command line, each once, in order of name.
type inputs struct {
	paths []string
	found map[string]bool // paths found in folders or by a pattern, not named
	own   []string        // our own outputs among them, left out
}

// findInputs turns arguments into files that may be logs. An argument is a file, a
// folder (searched to any depth; hidden files are left out) or a pattern such as
// 'w*.gpx'.
func findInputs(args []string) (*inputs, error) {
	in := &inputs{found: map[string]bool{}}
	for _, arg := range args {
		if err := in.add(arg); err != nil {
			return nil, err
		}
	}
	slices.Sort(in.paths)
	in.paths = slices.Compact(in.paths)
	if len(in.paths) == 0 {
		return nil, hint(fmt.Errorf("no log files in %s", quoteAll(args)),
			"looked at every file, in folders within folders too")
	}
	return in, nil
}

func (in *inputs) add(arg string) error {
	info, err := os.Stat(arg)
	switch {
	case err == nil && info.IsDir():
		return in.addFolder(arg)
	case err == nil:
		in.paths = append(in.paths, filepath.Clean(arg))
		return nil
	case strings.ContainsAny(arg, "*?["):
		return in.addPattern(arg)
	}
	return fmt.Errorf("%s: %w", arg, plainFileError(err))
}

func (in *inputs) addPattern(pattern string) error {
	found, err := filepath.Glob(pattern)
	if err != nil {
		return usagef("%q is not a pattern of file names", pattern)
	}
	for _, path := range found {
		if info, err := os.Stat(path); err == nil && info.IsDir() {
			if err := in.addFolder(path); err != nil {
				return err
			}
			continue
		}
		in.take(path)
	}
	return nil
}

func (in *inputs) addFolder(dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return fmt.Errorf("%s: %w", path, plainFileError(err))
		}
		hidden := strings.HasPrefix(d.Name(), ".") && path != dir
		switch {
		case d.IsDir() && hidden:
			return fs.SkipDir
		case d.Type().IsRegular() && !hidden:
			in.take(path)
		}
		return nil
	})
}

func (in *inputs) take(path string) {
	if slices.Contains(ownFiles, filepath.Base(path)) {
		in.own = append(in.own, path)
		return
	}
	path = filepath.Clean(path)
	in.paths, in.found[path] = append(in.paths, path), true
}

// sources opens each file when its turn comes. A file is named from the folder
// that holds them all, so that a summary tells nothing of its maker's disk. found
// tells which were not named by the user, by the sources' names.
func (in *inputs) sources() (out []coverage.Source, found map[string]bool) {
	above := len(commonFolder(in.paths))
	out, found = make([]coverage.Source, len(in.paths)), map[string]bool{}
	for i, path := range in.paths {
		open := func() (io.ReadCloser, error) {
			f, err := os.Open(path)
			return f, plainFileError(err)
		}
		out[i] = coverage.Source{Name: filepath.ToSlash(path[above:]), Open: open}
		found[out[i].Name] = in.found[path]
	}
	return out, found
}

// commonFolder is the deepest folder that holds every path, with a separator
// at its end; empty when there is none.
func commonFolder(paths []string) string {
	sep := string(filepath.Separator)
	common, _ := filepath.Split(paths[0])
	for _, path := range paths[1:] {
		for !strings.HasPrefix(path, common) {
			cut := strings.LastIndex(strings.TrimSuffix(common, sep), sep)
			common = common[:cut+1]
		}
	}
	return common
}

// openNamed opens a file that the command line names.
func openNamed(path string) (*os.File, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, plainFileError(err))
	}
	return f, nil
}

// plainFileError takes the operation and the path off a file error: the
// message it goes into has named the file.
func plainFileError(err error) error {
	if p, ok := err.(*fs.PathError); ok {
		return p.Err
	}
	return err
}

func quoteAll(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = fmt.Sprintf("%q", w)
	}
	return strings.Join(quoted, ", ")
}
