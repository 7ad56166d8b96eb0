package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// output is one file to write.
type output struct {
	name, what string
	write      func(io.Writer) error
}

// outFolder takes the outputs of one run, all of them or none: each is written
// beside its place under a temporary name, and renamed when all are whole.
type outFolder struct {
	dir    string
	made   []string // folders made for it, the outermost first
	staged []string // names of the outputs that lie under their temporary names
}

// openOutFolder makes the folder and tries whether files can be made in it, so
// that a run that cannot be saved fails before the work. flag is named in errors.
func openOutFolder(flag, dir string) (*outFolder, error) {
	f := &outFolder{dir: dir}
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		info, err := os.Stat(d)
		if err == nil && !info.IsDir() {
			return nil, fmt.Errorf("%s %q: %s is a file, not a folder", flag, dir, d)
		}
		if err == nil {
			break
		}
		f.made = append([]string{d}, f.made...)
		if d == filepath.Dir(d) {
			break
		}
	}
	if err := f.probe(); err != nil {
		f.discard()
		return nil, fmt.Errorf("%s %q: cannot write there: %w", flag, dir, plainFileError(err))
	}
	return f, nil
}

func (f *outFolder) probe() error {
	if err := os.MkdirAll(f.dir, 0o777); err != nil {
		return err
	}
	file, err := os.Create(f.temp("probe"))
	if err != nil {
		return err
	}
	file.Close()
	return os.Remove(file.Name())
}

func (f *outFolder) path(name string) string { return filepath.Join(f.dir, name) }

func (f *outFolder) temp(name string) string {
	return f.path(fmt.Sprintf(".%s.%d.part", name, os.Getpid()))
}

// refuse reports an output that could not take its place: one that would
// overwrite an input, or whose name a folder has.
func (f *outFolder) refuse(names, inputs []string) error {
	for _, name := range names {
		there, err := os.Stat(f.path(name))
		if err != nil {
			continue
		}
		if there.IsDir() {
			return fmt.Errorf("%s: a folder stands where the output should go", f.path(name))
		}
		for _, in := range inputs {
			if info, err := os.Stat(in); err == nil && os.SameFile(info, there) {
				return hint(usagef("%s: the output would overwrite this input", in),
					"choose another folder with --out")
			}
		}
	}
	return nil
}

// write writes every output, several at a time, under temporary names.
func (f *outFolder) write(ctx context.Context, outs []output) error {
	for _, o := range outs {
		f.staged = append(f.staged, o.name)
	}
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for _, o := range outs {
		g.Go(func() error { return f.stage(ctx, o) })
	}
	if err := g.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}

func (f *outFolder) stage(ctx context.Context, o output) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	file, err := os.OpenFile(f.temp(o.name), os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
	if err != nil {
		return fmt.Errorf("%s: %w", f.path(o.name), plainFileError(err))
	}
	w := bufio.NewWriterSize(file, 1<<16)
	err = o.write(w)
	if err == nil {
		err = w.Flush()
	}
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return fmt.Errorf("%s: %w", f.path(o.name), plainFileError(err))
	}
	return nil
}

// commit gives every output its name. From here on the folder stays.
func (f *outFolder) commit() error {
	for _, name := range f.staged {
		if err := os.Rename(f.temp(name), f.path(name)); err != nil {
			return fmt.Errorf("%s: %w", f.path(name), err)
		}
	}
	f.staged, f.made = nil, nil
	return nil
}

// discard removes what was not committed, and the folders made for it when
// they are empty. It is harmless after commit.
func (f *outFolder) discard() {
	for _, name := range f.staged {
		os.Remove(f.temp(name))
	}
	for i := len(f.made) - 1; i >= 0; i-- {
		os.Remove(f.made[i])
	}
}
