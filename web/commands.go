package web

import (
	"bytes"
	"context"
	"net/http"
	"path/filepath"
	"strings"
)

// exitSkipped is the exit code of a command that was done without some of its files.
const exitSkipped = 3

// run carries out a command and returns what it printed. One that failed is a
// *problem made of what it printed as errors; where only some files could not be
// used, its partly is set and the text is there too. A command that changes a book is
// run within desk.change, one that reads it by runReading. Put "--" before what
// comes from outside.
func (s *server) run(ctx context.Context, args ...string) (text string, err error) {
	var out, errs bytes.Buffer
	code := s.cfg.Lent.Run(ctx, args, &out, &errs)
	plain := s.withoutFolders(args)
	text = plain.Replace(out.String())
	if ctx.Err() != nil {
		return text, ctx.Err()
	}
	if code == 0 {
		return text, nil
	}
	if cause, isBug := strings.CutPrefix(errs.String(), "untrod: bug: "); isBug {
		cause, stack, _ := strings.Cut(cause, ", please report")
		return text, s.bug(cause, []byte(stack))
	}
	return text, commandProblem(plain.Replace(errs.String()), code)
}

// runReading is run for a command that reads the book at path: nothing changes it
// meanwhile from here.
func (s *server) runReading(ctx context.Context, args ...string) (text string, err error) {
	s.desk.file.RLock()
	defer s.desk.file.RUnlock()
	return s.run(ctx, args...)
}

// withoutFolders takes the folders of the files on a command line out of what is
// said of them: the person at the page knows files by their names.
func (s *server) withoutFolders(args []string) *strings.Replacer {
	var pairs []string
	for _, a := range args {
		if _, value, is := strings.Cut(a, "="); is && strings.HasPrefix(a, "--") {
			a = value
		}
		if filepath.IsAbs(a) {
			pairs = append(pairs, filepath.Dir(a)+string(filepath.Separator), "")
		}
	}
	return strings.NewReplacer(pairs...)
}

// commandProblem makes a problem of what a command printed as errors: lines that
// begin with the program's name say what is wrong, indented ones are hints.
func commandProblem(errs string, code int) *problem {
	p := &problem{status: http.StatusUnprocessableEntity, partly: code == exitSkipped}
	var wrong []string
	for line := range strings.Lines(errs) {
		line = strings.TrimRight(line, "\r\n")
		switch {
		case strings.HasPrefix(line, "  "):
			p.hints = append(p.hints, strings.TrimSpace(line))
		case line != "":
			wrong = append(wrong, strings.TrimPrefix(line, "untrod: "))
		}
	}
	if p.text = strings.Join(wrong, "\n"); p.text == "" {
		p.text = "the command failed and did not say why"
	}
	return p
}
