package main

import (
	"bufio"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"untrod/coverage"
	"untrod/report"
)

const verifyHelp = `verify checks a statement that prove made. It works the result out again, from
the logs themselves or from the book they are in, with the site and the settings
of the statement, and says that all matches, or exactly what differs: files that
are missing or changed, settings, numbers. Logs that are no part of the statement
are left aside. Finds that it counts are taken from the book or, with loose logs,
from a finds.csv among the files, as untrod export writes it.

White space in statement.json means nothing; any other change is found.
Exit code 0 means that it matches, 1 that it differs or cannot be checked.`

const verifyExample = `  untrod verify statement.json ford.gpkg
  untrod verify statement.json walks/
  untrod verify --issuer KEY statement.json walks/`

func newVerify(std streams) *cobra.Command {
	f := newFlagSet()
	issuer := ""
	f.StringVar(&issuer, "issuer", "", "public `key`, 64 hex digits, that must have signed it")
	cmd := &cobra.Command{
		Use:     "verify [flags] STATEMENT BOOK|LOG...",
		Short:   "Check a statement against the logs",
		Long:    verifyHelp,
		Example: verifyExample,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) < 2 {
				return hint(usagef("a statement and its logs are needed"),
					"untrod verify statement.json ford.gpkg", "or the loose logs: untrod verify statement.json walks/")
			}
			if b, err := hex.DecodeString(issuer); issuer != "" && (err != nil || len(b) != 32) {
				return usagef("--issuer %q: not a public key of 64 hex digits", issuer)
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return runVerify(cmd.Context(), strings.ToLower(issuer), args, std)
		},
	}
	useGroups(cmd, []flagGroup{{"The check", f}})
	return cmd
}

// maxStatement is far more than a statement of 10,000 visits needs.
const maxStatement = 256 << 20

func runVerify(ctx context.Context, issuer string, args []string, std streams) error {
	st, err := readStatement(args[0])
	if err != nil {
		return err
	}
	given, err := openGiven(ctx, args[1:], st.Content.Finds != nil, std)
	if err != nil {
		return err
	}
	defer given.close()
	w := bufio.NewWriter(std.out)
	v := &verifying{st: st, given: given, w: w}
	v.head(args[0])
	v.paper(issuer)
	if err := v.work(ctx, std); err != nil {
		return err
	}
	return v.verdict()
}

func readStatement(path string) (*report.ReadBack, error) {
	f, err := openNamed(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxStatement))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, plainFileError(err))
	}
	st, err := report.ReadStatement(text)
	if err != nil {
		err = fmt.Errorf("%s: %w", path, err)
	}
	if newer := (*report.NewerError)(nil); errors.As(err, &newer) {
		err = hint(err, "get a newer untrod to check it")
	}
	return st, err
}

// verifying checks one statement, and collects what differs.
type verifying struct {
	st     *report.ReadBack
	given  *given
	w      *bufio.Writer
	differ []string
}

func (v *verifying) differs(format string, args ...any) {
	v.differ = append(v.differ, fmt.Sprintf(format, args...))
}

func (v *verifying) head(path string) {
	c := v.st.Content
	fmt.Fprintf(v.w, "%s, issued %s\n  %s\n", path, oneLine(c.Issued), oneLine(c.Claim))
	for _, l := range [][2]string{{"searched by", c.Searcher}, {"for", c.Owner}, {"note", c.Note}} {
		if l[1] != "" {
			fmt.Fprintf(v.w, "  %s: %s\n", l[0], oneLine(l[1]))
		}
	}
	if c.Program != version() {
		fmt.Fprintf(v.w, "  made by untrod %s; this is %s\n", oneLine(c.Program), version())
	}
	fmt.Fprintln(v.w)
}

// paper checks what can be checked without the logs.
func (v *verifying) paper(issuer string) {
	if !v.st.Unchanged {
		v.differs("the statement was changed after it was issued: its content does not have the SHA-256 it states")
	}
	switch s := v.st; {
	case s.Signer == "":
		fmt.Fprintln(v.w, "Not signed: nobody answers for it but whoever gave it to you.")
		if issuer != "" {
			v.differs("it is not signed, by the issuer named or anybody")
		}
	case !s.Signed:
		v.differs("the signature is not good")
	case issuer == "":
		fmt.Fprintf(v.w, "Signed with the key %s\n  Whose that is this program cannot know: compare it with the one the issuer gave\n  you by another way, or give that one as --issuer.\n", s.Signer)
	case issuer != s.Signer:
		v.differs("it is signed with the key %s, not with that of the issuer named", s.Signer)
	default:
		fmt.Fprintln(v.w, "Signed with the key of the issuer named.")
	}
}

// work matches the inputs and, when all are there, works the result out again.
func (v *verifying) work(ctx context.Context, std streams) error {
	says, err := v.st.Content.Says()
	if err != nil {
		v.differs("%v", err)
		return nil
	}
	sources, missing := v.given.match(says.Inputs, says.Settings.VisitGapS)
	if stated := v.st.Content.Finds; stated != nil {
		table, fault := v.given.findTable(stated.SHA256)
		if says.Finds = table; table == nil {
			missing = append(missing, fault)
		}
	}
	v.differ = append(v.differ, v.given.faults...)
	v.differ = append(v.differ, missing...)
	if n := v.given.aside; n > 0 {
		fmt.Fprintf(v.w, "Left aside, no part of the statement: %s\n", counted(n, "file"))
	}
	if len(missing) > 0 {
		fmt.Fprintln(v.w, "The result was not worked out again: its inputs are not all here.")
		return ctx.Err()
	}
	a := newAudit(sources, says.Settings.VisitGapS)
	show, done := progressBar(std.err)
	r, err := coverage.Assess(ctx, coverage.Input{Site: says.Site, Logs: a.sources}, says.Settings, show)
	done()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil {
		v.differs("the result cannot be worked out again: %v", err)
		return nil
	}
	v.differ = append(v.differ, v.given.lacking...)
	says.Inputs = a.docs
	again, err := report.ContentOf(r, says)
	if err != nil {
		return err
	}
	lines, err := v.st.Differences(again)
	v.differ = append(v.differ, lines...)
	return err
}

// differencesShown is how many lines of differences are printed.
const differencesShown = 40

// verdict says that it matches, or what differs.
func (v *verifying) verdict() error {
	if len(v.differ) == 0 {
		inputs := counted(len(v.st.Content.Inputs), "input")
		if f := v.st.Content.Finds; f != nil {
			inputs += ", the table of " + counted(f.Count, "find")
		}
		fmt.Fprintf(v.w, "\nIt matches: %s, every setting and every number, worked out again.\n", inputs)
		return v.w.Flush()
	}
	fmt.Fprintln(v.w, "\nIt differs:")
	for i, d := range v.differ {
		if i == differencesShown {
			fmt.Fprintf(v.w, "  and %d more\n", len(v.differ)-i)
			break
		}
		fmt.Fprintf(v.w, "  %s\n", oneLine(d))
	}
	return errors.Join(v.w.Flush(), fmt.Errorf("the statement differs in %s", counted(len(v.differ), "place")))
}
