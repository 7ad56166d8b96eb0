package book_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/site/book"
)

const killFiles = 50

// TestMain lets the test binary be the program that is killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("UNTROD_TEST_TAKE"); path != "" {
		if err := takeFolder(path, os.Getenv("UNTROD_TEST_FOLDER"), func(name string) { fmt.Println(name) }); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Println("closed")
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// takeFolder takes all files of a folder, and says of each when it is safe.
func takeFolder(path, folder string, safe func(name string)) error {
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	if err := b.Begin("added files"); err != nil {
		return err
	}
	for i := range killFiles {
		name := fmt.Sprintf("%02d.gpx", i)
		data, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			return err
		}
		p, err := book.Prepare(context.Background(), fileOf(name, data))
		if err != nil {
			return err
		}
		if _, err := b.Take(context.Background(), p); err != nil {
			return err
		}
		safe(name)
	}
	return b.Close()
}

// runChild takes the folder in another process, killed after the delay, and returns
// what it acknowledged.
func runChild(t testing.TB, path, folder string, kill time.Duration) (safe []string) {
	exe, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(exe)
	c.Env = append(os.Environ(), "UNTROD_TEST_TAKE="+path, "UNTROD_TEST_FOLDER="+folder)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	killer := time.AfterFunc(kill, func() { _ = c.Process.Kill() })
	defer killer.Stop()
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		safe = append(safe, lines.Text())
	}
	_ = c.Wait()
	return safe
}

// TestKill kills a program at random moments while it takes 50 files. After each:
// the book is sound, every acknowledged file is whole in it, none is half there,
// and taking the folder again completes it and changes nothing that was there.
func TestKill(t *testing.T) {
	folder := t.TempDir()
	for i := range killFiles {
		require.NoError(t, os.WriteFile(filepath.Join(folder, fmt.Sprintf("%02d.gpx", i)), walkFile(t, i, 120), 0o600))
	}
	empty, err := os.ReadFile(newBook(t, plainSite()))
	require.NoError(t, err)
	fresh := func() string {
		path := filepath.Join(t.TempDir(), "b.gpkg")
		require.NoError(t, os.WriteFile(path, empty, 0o600))
		return path
	}
	whole := fresh()
	start := time.Now()
	require.Len(t, runChild(t, whole, folder, time.Minute), killFiles+1)
	took := time.Since(start)
	want := namesAndFixes(t, whole)
	require.Len(t, want, killFiles)

	rng := rand.New(rand.NewPCG(9, 9))
	var acknowledged, extra, finished int
	var slowest time.Duration
	for range study(2) {
		path := fresh()
		safe := runChild(t, path, folder, time.Duration(rng.Int64N(int64(took))))
		if slices.Contains(safe, "closed") {
			finished++
			safe = safe[:len(safe)-1]
		}
		reopen := time.Now()
		writing(t, path, func(b *book.Book) {
			slowest = max(slowest, time.Since(reopen))
			requireSound(t, b)
		})
		got := namesAndFixes(t, path)
		require.Subset(t, want, got, "each whole")
		for _, name := range safe {
			require.True(t, slices.ContainsFunc(got, func(s string) bool { return strings.HasPrefix(s, name) }), "%s was acknowledged", name)
		}
		require.LessOrEqual(t, len(got), len(safe)+1)
		acknowledged, extra = acknowledged+len(safe), extra+len(got)-len(safe)

		require.NoError(t, takeFolder(path, folder, func(string) {}))
		requireAlone(t, path)
		require.Equal(t, want, namesAndFixes(t, path), "completed")
		viewing(t, path, func(b *book.Book) { requireSound(t, b) })
	}
	t.Logf("a whole run takes %v; %d files acknowledged before the kill, all there; %d more there; %d runs ended before the kill; slowest reopening %v",
		took, acknowledged, extra, finished, slowest)
}

// namesAndFixes are the sessions without what depends on the order of taking.
func namesAndFixes(t testing.TB, path string) (out []string) {
	viewing(t, path, func(b *book.Book) {
		all, err := b.Sessions()
		require.NoError(t, err)
		for _, s := range all {
			out = append(out, fmt.Sprintf("%s %s %d %d %d", s.File, s.SHA256, s.Start, s.End, s.Fixes))
		}
	})
	return out
}
