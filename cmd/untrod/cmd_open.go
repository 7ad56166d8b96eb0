package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"untrod/web"
)

const openHelp = `open shows a book in your web browser: the ground and what was swept, one visit
after another, landmarks, finds, the next visit, and the papers. Everything the
other commands do can be done there. The page comes from this program and is
for this computer and one browser alone; nothing leaves the computer, and no
network is needed. Ctrl-C ends it.

Without BOOK the page starts with the books in the folder, and a demonstration.
untrod without a command does the same.`

const openExample = `  untrod open
  untrod open ford.gpkg
  untrod open --folder D:\searches`

// booksFolder is the folder of the books in the user's home; the other name is for
// whoever has the program itself there.
var booksFolder = []string{"untrod", "untrod-books"}

type openOptions struct {
	folder    string
	port      int
	noBrowser bool
}

func newOpen(std streams) *cobra.Command {
	var o openOptions
	f := newFlagSet()
	f.StringVar(&o.folder, "folder", "", "`folder` with your books (default untrod in your home folder)")
	f.BoolVar(&o.noBrowser, "no-browser", false, "only print the address to open")
	f.IntVar(&o.port, "port", 0, "`number` of the port on this computer (default any that is free)")
	cmd := &cobra.Command{
		Use:     "open [BOOK]",
		Short:   "Do it all by looking and pointing, in your web browser",
		Long:    openHelp,
		Example: openExample,
		Args: func(cmd *cobra.Command, args []string) error {
			if o.port < 0 || o.port > 65535 {
				return usagef("--port %d: must be from 0 to 65535", o.port)
			}
			if len(args) == 0 {
				return nil
			}
			return bookAnd("nothing more", 0)(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return runOpen(cmd.Context(), o, append(args, "")[0], std)
		},
	}
	useGroups(cmd, []flagGroup{{"The page", f}})
	return cmd
}

// runOpen is the whole of the command; path is of the book, or "".
func runOpen(ctx context.Context, o openOptions, path string, std streams) (err error) {
	if o.folder == "" {
		if o.folder, err = homeFolder(); err != nil {
			return err
		}
	}
	if o.folder, err = filepath.Abs(o.folder); err != nil {
		return err
	}
	if path != "" {
		if path, err = filepath.Abs(path); err != nil {
			return err
		}
	}
	err = web.Serve(ctx, web.Config{
		Folder: o.folder, Book: path, Port: o.port, Version: version(), Now: time.Now, Lent: lent(), Errors: std.err,
		Ready: func(address func() string) { o.invite(ctx, address, std) },
	})
	if o.port != 0 && err != nil {
		return hint(err, "another program may use the port: leave out --port to take any that is free")
	}
	return err
}

// homeFolder is where the books are when nothing else is said.
func homeFolder() (string, error) {
	home, err := os.UserHomeDir()
	if err != nil {
		return "", hint(fmt.Errorf("no folder for the books: %w", err), "name one with --folder")
	}
	for _, name := range booksFolder {
		path := filepath.Join(home, name)
		if info, err := os.Stat(path); errors.Is(err, os.ErrNotExist) || err == nil && info.IsDir() {
			return path, nil
		}
	}
	return "", hint(errors.New("no folder for the books: both names for it in your home folder are those of files"), "name one with --folder")
}

// invite opens the page, and opens it again whenever Enter is pressed: an address lets
// in one browser, once.
func (o openOptions) invite(ctx context.Context, address func() string, std streams) {
	o.show(address(), std)
	fmt.Fprintf(std.err, "Books are in %s. Nothing leaves this computer.\n", o.folder)
	if !term.IsTerminal(int(os.Stdin.Fd())) {
		return
	}
	fmt.Fprintln(std.err, "Leave this window open while you work. Enter opens the page again, Ctrl-C ends untrod.")
	go func() {
		for lines := bufio.NewScanner(os.Stdin); lines.Scan() && ctx.Err() == nil; {
			o.show(address(), std)
		}
	}()
}

func (o openOptions) show(address string, std streams) {
	fmt.Fprintln(std.out, address)
	if o.noBrowser {
		return
	}
	if err := browse(address); err != nil {
		fmt.Fprintln(std.err, "The browser did not open by itself: open the address above in it.")
	}
}

// browse has the system open an address in the user's browser.
func browse(address string) error {
	command := map[string][]string{
		"windows": {"rundll32", "url.dll,FileProtocolHandler"},
		"darwin":  {"open"},
	}[runtime.GOOS]
	if command == nil {
		command = []string{"xdg-open"}
	}
	c := exec.Command(command[0], append(command[1:], address)...)
	if err := c.Start(); err != nil {
		return err
	}
	go func() { _ = c.Wait() }() // a browser may stay until it is closed
	return nil
}
