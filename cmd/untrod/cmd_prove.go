package main

import (
	"bufio"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
)

const proveHelp = `prove writes what was searched, for somebody who was not there: an owner, a
permit, a club. Coverage is worked out as cover does, from a BOOK or from loose
LOG files, with the same flags, and written as a statement: statement.pdf to
print, statement.html to send, and statement.json, with which anybody who has
the logs can check it (untrod verify).

The statement holds the site's position. With --finds it counts what was found,
by landmark, visit and material, and gives no place of a find. With --key it is signed, so that a third
party can tell who issued it. The same book, flags and --date give the same
bytes.`

const proveExample = `  untrod prove ford.gpkg --out statement --by Ana --for 'the owner'
  untrod prove --site site.geojson --swath 1.5m --out statement walks/
  untrod prove ford.gpkg --finds --out statement
  untrod prove --new-key club.key
  untrod prove ford.gpkg --out statement --key club.key --paper letter`

const statementFile = "statement.json"

// proveFlags are what a statement says beside the result.
type proveFlags struct {
	by, owner, note, date, paper, key, newKey string
	finds                                     bool
	group                                     flagGroup
}

func newProveFlags() *proveFlags {
	f, p := newFlagSet(), &proveFlags{}
	f.StringVar(&p.by, "by", "", "`who` searched")
	f.StringVar(&p.owner, "for", "", "`whom` it is for: the owner, the number of the permit")
	f.StringVar(&p.note, "note", "", "`words` to stand on the first page")
	f.BoolVar(&p.finds, "finds", false, "count the finds too: those of the book, or of a finds.csv given with the logs")
	f.StringVar(&p.date, "date", "", "`day` of issue, such as 2026-06-12 (default today)")
	f.StringVar(&p.paper, "paper", report.Papers[report.A4], "`size` of the pages: a4 or letter")
	f.StringVar(&p.key, "key", "", "`file` with the key to sign with")
	f.StringVar(&p.newKey, "new-key", "", "make a key in `file`, to be kept secret, and do nothing else")
	p.group = flagGroup{"The statement", f}
	return p
}

func newProve(std streams) *cobra.Command {
	o, f := newCoverOptions(usualCanopy), newProveFlags()
	job := o.groups[0].flags
	job.Lookup("out").Usage = "`folder` for the statement"
	job.Lookup("json").Usage = "print the statement as JSON, all else on standard error"
	groups := append([]flagGroup{f.group}, o.groups...)
	cmd := &cobra.Command{
		Use:     "prove [flags] BOOK|LOG...",
		Short:   "A statement of coverage for an owner or a permit",
		Long:    proveHelp,
		Example: proveExample,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case f.newKey != "" && len(args) > 0:
				return usagef("--new-key makes a key and nothing else: %q is too much", args[0])
			case f.newKey == "" && len(args) == 0:
				return hint(usagef("no book or log files given"),
					"name a book, or GPX files or folders: untrod prove --swath 1.5m --out statement walks/")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if f.newKey != "" {
				return makeKey(f.newKey, std)
			}
			return runProve(cmd.Context(), o, f, args, std)
		},
	}
	useGroups(cmd, groups)
	return cmd
}

// proveJob is a prove command line that was understood, with its files found.
type proveJob struct {
	job
	site  *site.Site // as the statement carries it
	says  report.Says
	paper report.Paper
	key   ed25519.PrivateKey // nil: unsigned
	audit *audit
}

func runProve(ctx context.Context, o *coverOptions, f *proveFlags, args []string, std streams) error {
	j, err := f.prepare(o, args, std)
	if err != nil {
		return err
	}
	defer j.close()
	if j.out != nil {
		defer j.out.discard()
	}
	show, done := progressBar(std.err)
	r, err := coverage.Assess(ctx, coverage.Input{Site: j.site, Logs: j.audit.sources}, j.set, show)
	done()
	if err != nil {
		return err
	}
	whole := *r // with the files passed over, which are no part of the statement
	r.Skipped = slices.DeleteFunc(slices.Clone(r.Skipped), func(s coverage.Skipped) bool { return j.found[s.File] && isNoLog(s.Err) })
	j.says.Inputs = j.audit.inputs(func(name string) bool {
		return !slices.ContainsFunc(whole.Skipped, func(s coverage.Skipped) bool { return s.File == name && j.found[name] && isNoLog(s.Err) })
	})
	if err := unread(j.says.Inputs, r); err != nil {
		return err
	}
	st, err := report.NewStatement(r, j.says, j.key)
	if err != nil {
		return err
	}
	if err := j.save(ctx, j.outputs(st)); err != nil {
		return err
	}
	if err := j.print(std, o.json, st); err != nil {
		return err
	}
	return j.tellOdd(std.err, &whole)
}

// unread is an error when an input could not be opened: nobody could check that.
func unread(inputs []report.InputDoc, r *coverage.Result) error {
	for _, in := range inputs {
		if in.SHA256 != "" {
			continue
		}
		for _, s := range r.Skipped {
			if s.File == in.Name {
				return fmt.Errorf("%s: %w", in.Name, s.Err)
			}
		}
		return fmt.Errorf("%s: not read", in.Name)
	}
	return nil
}

// prepare does everything that can go wrong before the long work.
func (f *proveFlags) prepare(o *coverOptions, args []string, std streams) (*proveJob, error) {
	if o.out == "" && !o.json {
		return nil, hint(usagef("where shall the statement go?"), "name a folder: --out statement")
	}
	g, err := openGround(args, o, std)
	if err != nil {
		return nil, err
	}
	j := &proveJob{job: job{ground: g}}
	if err := j.settle(o, f); err != nil {
		return nil, errors.Join(err, g.close())
	}
	return j, nil
}

func (j *proveJob) settle(o *coverOptions, f *proveFlags) (err error) {
	if err := j.read(o); err != nil {
		return err
	}
	if j.paper, err = f.size(); err != nil {
		return err
	}
	if f.key != "" {
		if j.key, err = readKey(f.key); err != nil {
			return err
		}
		j.inputs = append(j.inputs, f.key)
	}
	if j.site, err = report.CarriedSite(j.ground.site); err != nil {
		return err
	}
	var finds *report.FindTable
	if f.finds {
		if finds, err = j.ground.findTable(); err != nil {
			return err
		}
	}
	j.audit = newAudit(j.logs, j.set.VisitGapS)
	j.says = report.Says{
		Searcher: f.by, Owner: f.owner, Note: f.note, Program: version(), Units: j.units,
		Settings: j.set, Site: j.site, Finds: finds,
	}
	if j.says.Issued, err = f.issued(time.Now()); err != nil {
		return err
	}
	return j.openOut(o.out, j.outputs(nil))
}

func (f *proveFlags) size() (report.Paper, error) {
	i := slices.Index(report.Papers, f.paper)
	if i < 0 {
		return 0, usagef("--paper %q: not a4 or letter", f.paper)
	}
	return report.Paper(i), nil
}

// issued is the day of issue.
func (f *proveFlags) issued(now time.Time) (string, error) {
	if f.date == "" {
		return now.Format(time.DateOnly), nil
	}
	if _, err := time.Parse(time.DateOnly, f.date); err != nil {
		return "", usagef("--date %q: not a day such as 2026-06-12", f.date)
	}
	return f.date, nil
}

// outputs are the files of a statement, in the order they are listed.
func (j *proveJob) outputs(s *report.Statement) []output {
	return []output{
		{"statement.pdf", "to print", func(w io.Writer) error { return s.WritePDF(w, j.paper) }},
		{"statement.html", "to send; opens in any browser", func(w io.Writer) error { return s.WriteHTML(w) }},
		{statementFile, "to check it with", func(w io.Writer) error { return s.WriteJSON(w) }},
	}
}

func (j *proveJob) print(std streams, asJSON bool, s *report.Statement) error {
	w := bufio.NewWriter(std.out)
	if asJSON {
		return errors.Join(s.WriteJSON(w), w.Flush())
	}
	fmt.Fprintf(w, "%s\n\nContent, SHA-256: %s\n", s.Content.Claim, s.SHA256)
	if s.Signature != nil {
		fmt.Fprintf(w, "Signed with the key %s\n", s.Signature.PublicKey)
	}
	if err := j.tellWritten(w, j.outputs(s), ""); err != nil {
		return err
	}
	from := "LOGS"
	if j.path != "" {
		from = quoted(j.path)
	}
	fmt.Fprintf(w, "\nTo check it:\n  %s verify %s %s\n", self(), quoted(j.out.path(statementFile)), from)
	return w.Flush()
}
