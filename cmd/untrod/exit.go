package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"untrod/coverage"
)

// Exit codes, the same for every command.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2
	exitSkipped     = 3
	exitInterrupted = 130
)

// exitHelp is the table as --help shows it.
const exitHelp = `Exit codes:
  0    done
  1    failed; nothing was written
  2    the command line is wrong
  3    done, but some input could not be used (each is named)
  130  interrupted; nothing was written`

// exitCode is the one place where an error becomes an exit code.
func exitCode(err error) int {
	var usage *usageError
	var setting *coverage.SettingsError
	var skipped *skippedError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, context.Canceled):
		return exitInterrupted
	case errors.As(err, &usage), errors.As(err, &setting):
		return exitUsage
	case errors.As(err, &skipped):
		return exitSkipped
	}
	return exitFailed
}

// usageError is a command line that cannot be carried out as it stands.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

func usagef(format string, args ...any) error {
	return &usageError{fmt.Errorf(format, args...)}
}

// skippedError says that the work was done without some of its inputs.
type skippedError struct{ skipped, given int }

func (e *skippedError) Error() string {
	return fmt.Sprintf("done, but %d of %d inputs could not be used", e.skipped, e.given)
}

// hintedError carries lines of advice below an error.
type hintedError struct {
	error
	hints []string
}

func (e *hintedError) Unwrap() error { return e.error }

// hint adds lines of advice, each printed on its own line below the error.
func hint(err error, lines ...string) error { return &hintedError{err, lines} }

// printError writes err as `untrod: ...` with its hints below.
func printError(w io.Writer, err error) {
	if err == nil {
		return
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(w, "untrod: interrupted, nothing was written")
		return
	}
	fmt.Fprintf(w, "untrod: %s\n", strings.TrimRight(err.Error(), "\n"))
	var h *hintedError
	if errors.As(err, &h) {
		for _, line := range h.hints {
			fmt.Fprintf(w, "  %s\n", line)
		}
	}
}
