// Untrod tells what ground the coil has passed over: GPS tracks of a search go
// in; the percent swept, the gaps and a map come out. It works offline.
//
// One file per command; flags, files, progress and exit codes live here, the
// work itself in package coverage (start at coverage/assess.go).
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
)

func main() {
	// Most of what an assessment allocates, fixes and cells, lives to its end.
	// A heap kept close to that takes a sixth less memory (144 MB for 173 at 3
	// million fixes) in the same time.
	debug.SetGCPercent(50)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	os.Exit(run(ctx, os.Args[1:], streams{os.Stdout, os.Stderr}))
}

// streams are where a command writes: results to out, all else to err.
type streams struct{ out, err io.Writer }

// run carries out one command line and returns the exit code.
func run(ctx context.Context, args []string, std streams) (code int) {
	defer func() {
		if p := recover(); p != nil {
			code = reportBug(std.err, p, debug.Stack())
		}
	}()
	root := newRoot(std)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if ctx.Err() != nil && err != nil {
		err = context.Canceled // whatever broke last, it broke because of Ctrl-C
	}
	printError(std.err, err)
	return exitCode(err)
}

// reportBug tells of a panic, which is always a fault of the program.
func reportBug(w io.Writer, cause any, stack []byte) int {
	fmt.Fprintf(w, "untrod: bug: %v, please report it with the lines below\n%s", cause, stack)
	return exitFailed
}
