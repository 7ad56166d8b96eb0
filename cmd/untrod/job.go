package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"text/tabwriter"

	"untrod/coverage"
	"untrod/report"
)

// job is a command line about searched ground that was understood, with its files
// found.
type job struct {
	*ground
	set   coverage.Settings
	units report.Units
	out   *outFolder // nil without --out
	gis   bool       // files for map programs are wanted too
}

// read turns the flags every such command has into settings and units.
func (j *job) read(o *coverOptions) (err error) {
	if j.set, err = o.settings(); err != nil {
		if j.path != "" && errors.Is(err, errNoSwath) {
			err = hint(err, "keep it in the book: "+self()+" set "+quoted(j.path)+" coil 28cm swing 1.2m")
		}
		return err
	}
	j.units, err = o.reportUnits()
	return err
}

// openOut opens the folder for all the files there can be; without one, nothing is
// written.
func (j *job) openOut(dir string, can []output) (err error) {
	if dir == "" {
		return nil
	}
	if j.out, err = openOutFolder("--out", dir); err != nil {
		return err
	}
	var names []string
	for _, f := range can {
		names = append(names, f.name)
	}
	if err = j.out.refuse(names, j.inputs); err != nil {
		j.out.discard()
	}
	return err
}

// save writes all files, or none.
func (j *job) save(ctx context.Context, outs []output) error {
	if j.out == nil {
		return ctx.Err()
	}
	if err := j.out.write(ctx, outs); err != nil {
		return err
	}
	return j.out.commit()
}

// tellWritten lists the files, or says what --out would give.
func (j *job) tellWritten(w io.Writer, outs []output, without string) error {
	if j.out == nil {
		_, err := fmt.Fprintln(w, "\nAdd --out DIR for "+without+".")
		return err
	}
	fmt.Fprintln(w, "\nWritten:")
	columns := tabwriter.NewWriter(w, 0, 0, 3, ' ', 0)
	for _, f := range outs {
		fmt.Fprintf(columns, "  %s\t%s\n", j.out.path(f.name), f.what)
	}
	return columns.Flush()
}
