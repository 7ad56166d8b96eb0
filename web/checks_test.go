package web

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestChecks holds which commands check what, on the open book and the file that came,
// and that a check that fails is answered all the same.
func TestChecks(t *testing.T) {
	var lines [][]string
	code := 0
	o := served(t, 1, func(c *Config) {
		c.Lent.Run = func(_ context.Context, args []string, out, errs io.Writer) int {
			lines = append(lines, args)
			if i := len(args) - 2; args[0] == "verify" {
				text, err := os.ReadFile(args[i])
				require.NoError(t, err)
				fmt.Fprintf(out, "read %q", text)
			}
			if code != 0 {
				fmt.Fprintln(errs, "untrod: the statement differs in 2 places")
			}
			return code
		}
	})
	var doc DoneDoc
	o.done(http.MethodPost, "/api/check", "", &doc)
	require.Equal(t, []string{"check", "--", o.path}, lines[0])
	require.Equal(t, DoneDoc{}, doc)

	code = 1
	status, text := o.upload("/api/verify", map[string][]byte{"../st\u202eatement.json": []byte("{}")})
	require.Equal(t, http.StatusOK, status, text)
	require.JSONEq(t, `{"text": "read \"{}\"", "problem": "the statement differs in 2 places"}`, text)
	require.Equal(t, o.path, lines[1][3])
	require.NoFileExists(t, lines[1][2], "what came is gone afterwards")
	require.Equal(t, os.TempDir(), filepath.Dir(filepath.Dir(lines[1][2])))

	code = 0
	status, text = o.upload("/api/walked", map[string][]byte{"next.json": []byte("{}")})
	require.Equal(t, http.StatusOK, status, text)
	require.Regexp(t, `^--walked=.*next\.json$`, lines[2][1])
	status, _ = o.ask(http.MethodPost, "/api/verify", "")
	require.Equal(t, http.StatusBadRequest, status, "no file came")
}
