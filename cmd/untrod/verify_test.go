package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/track"
)

// changes is how many random changes are tried: UNTROD_STUDY of them, or few.
func changes(t *testing.T, few int) int {
	if n, err := strconv.Atoi(os.Getenv("UNTROD_STUDY")); err == nil {
		return n
	}
	return few
}

// proved makes a folder with logs, a book of them, and statements of either.
func proved(t *testing.T) (dir string) {
	dir = t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS(exampleDir)))
	t.Chdir(dir)
	mustRun(t, "prove", "--site", "site.geojson", "--swath", "1.28m", "--canopy", "none", "--date", "2026-06-12", "--out", "st", "walks")
	mustRun(t, "new", "ford", "--site", "site.geojson", "swath", "1.28m", "canopy", "none")
	mustRun(t, "add", "ford.gpkg", "walks")
	return dir
}

// Random single-byte changes of the logs and of the statement are all found, but for
// white space of the statement.
func TestVerifyFindsChangedBytes(t *testing.T) {
	proved(t)
	files := []string{"st/statement.json"}
	walks, err := filepath.Glob("walks/*.gpx")
	require.NoError(t, err)
	files = append(files, walks...)
	rng := rand.New(rand.NewPCG(5, 5))
	spaces := 0
	for range changes(t, 30) {
		path := files[rng.IntN(len(files))]
		whole, err := os.ReadFile(path)
		require.NoError(t, err)
		bad := bytes.Clone(whole)
		at := rng.IntN(len(bad))
		bad[at] ^= byte(1 + rng.IntN(255))
		require.NoError(t, os.WriteFile(path, bad, 0o600))
		code, out, errs := tryRun(t.Context(), "verify", "st/statement.json", "walks")
		require.NoError(t, os.WriteFile(path, whole, 0o600))
		require.NotContains(t, errs, "bug")
		if code == exitDone {
			require.Equal(t, compacted(t, whole), compacted(t, bad), "%s: byte %d, %q for %q", path, at, bad[at], whole[at])
			spaces++
			continue
		}
		require.Equal(t, exitFailed, code, "%s\n%s", out, errs)
	}
	t.Logf("%d changes of white space", spaces)
}

func compacted(t *testing.T, b []byte) string {
	var out bytes.Buffer
	require.NoError(t, json.Compact(&out, b))
	return out.String()
}

// A byte changed in a book is found, or leaves all that the statement is made of as
// it was.
func TestVerifyDamagedBook(t *testing.T) {
	proved(t)
	whole, err := os.ReadFile("ford.gpkg")
	require.NoError(t, err)
	args := []string{"prove", "--date", "2026-06-12", "--json", "ford.gpkg"}
	code, want, errs := tryRun(t.Context(), args...)
	require.Zero(t, code, errs)
	require.NoError(t, os.WriteFile("booked.json", []byte(want), 0o600))
	rng, missed := rand.New(rand.NewPCG(6, 6)), 0
	for range changes(t, 10) {
		bad := bytes.Clone(whole)
		bad[rng.IntN(len(bad))] ^= byte(1 + rng.IntN(255))
		require.NoError(t, os.WriteFile("ford.gpkg", bad, 0o600))
		code, out, errs := tryRun(t.Context(), "verify", "booked.json", "ford.gpkg")
		require.NotContains(t, errs, "bug")
		if code != exitDone {
			require.Contains(t, []int{exitFailed, exitUsage}, code, "%s\n%s", out, errs)
			continue
		}
		missed++
		code, now, _ := tryRun(t.Context(), args...)
		require.Zero(t, code)
		require.Equal(t, want, now)
	}
	t.Logf("%d changes of bytes that hold nothing", missed)
}

// forged is a statement with one value changed and its SHA-256 made anew, as somebody
// would who knows the form.
func forged(t *testing.T, change func(content map[string]any)) {
	text, err := os.ReadFile("st/statement.json")
	require.NoError(t, err)
	var all map[string]any
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	require.NoError(t, d.Decode(&all))
	change(all["content"].(map[string]any))
	content, err := json.Marshal(all["content"])
	require.NoError(t, err)
	sum := sha256.Sum256(content)
	file := fmt.Sprintf(`{"schema":"untrod-statement-1","sha256":%q,"signature":null,"content":%s}`, hex.EncodeToString(sum[:]), content)
	require.NoError(t, os.WriteFile("forged.json", []byte(file), 0o600))
}

// Whoever changes a setting or a number and makes the SHA-256 fit is found out by the
// logs. Names, the day and the note are the issuer's word: only a signature holds them.
func TestVerifyFindsForgeries(t *testing.T) {
	proved(t)
	const walk = "walks/3-well.gpx"
	mustRun(t, "prove", "--site", "site.geojson", "--swath", "1.28m", "--canopy", "open", "--draws", "20", "--out", "st", walk)
	for _, path := range [][]string{
		{"claim"}, {"seed"}, {"units"},
		{"settings", "swath_m"}, {"settings", "receiver", "white_sd_m"}, {"settings", "position", "canopy"}, {"settings", "legs", "search_max_ms"}, {"settings", "position", "draws"}, {"settings", "track", "far_m"},
		{"summary", "coverage", "as_logged_percent"}, {"summary", "coverage", "swept_m2"}, {"summary", "search", "effort_m2"}, {"summary", "site", "name"},
		{"site", "name"},
	} {
		forged(t, func(c map[string]any) {
			for _, p := range path[:len(path)-1] {
				c = c[p].(map[string]any)
			}
			last := path[len(path)-1]
			switch v := c[last].(type) {
			case json.Number:
				x, err := v.Float64()
				require.NoError(t, err)
				c[last] = json.Number(strconv.FormatFloat(x+1, 'f', -1, 64))
			case string:
				c[last] = v + "x"
			default:
				t.Fatalf("%v: %T", path, v)
			}
		})
		code, out, errs := tryRun(t.Context(), "verify", "forged.json", walk)
		require.Equal(t, exitFailed, code, "%v: %s\n%s", path, out, errs)
		require.NotContains(t, out, "SHA-256 it states", "%v", path)
	}
	forged(t, func(map[string]any) {})
	code, out, errs := tryRun(t.Context(), "verify", "forged.json", walk)
	require.Zero(t, code, "%s\n%s", out, errs)
}

// Every field of a fix is in the fingerprint of a visit.
func TestVisitFingerprint(t *testing.T) {
	base := visitDoc(coverage.Visit{Segments: [][]track.Fix{{track.NoFix, {}}}})
	require.Equal(t, 2, base.Fixes)
	seen := map[string]bool{base.SHA256: true}
	for i := range reflect.TypeFor[track.Fix]().NumField() {
		f := track.Fix{}
		switch v := reflect.ValueOf(&f).Elem().Field(i); v.Kind() {
		case reflect.Struct:
			v.Field(0).SetFloat(1)
		case reflect.Float32:
			v.SetFloat(1)
		case reflect.Int16, reflect.Int64:
			v.SetInt(1)
		case reflect.Uint8:
			v.SetUint(1)
		default:
			t.Fatalf("no value for field %d", i)
		}
		d := visitDoc(coverage.Visit{Segments: [][]track.Fix{{track.NoFix, f}}})
		require.False(t, seen[d.SHA256], "field %d", i)
		seen[d.SHA256] = true
	}
	parted := visitDoc(coverage.Visit{Segments: [][]track.Fix{{track.NoFix}, {{}}}})
	require.False(t, seen[parted.SHA256])
	marked := visitDoc(coverage.Visit{Segments: [][]track.Fix{{track.NoFix, {}}}, Waypoints: []track.Waypoint{{Name: "gate"}}})
	require.False(t, seen[marked.SHA256])
}

// A key of another program: openssl genpkey -algorithm ed25519.
func TestOpensslKey(t *testing.T) {
	if _, err := exec.LookPath("openssl"); err != nil {
		t.Skip("openssl is not installed")
	}
	path := filepath.Join(t.TempDir(), "key.pem")
	out, err := exec.Command("openssl", "genpkey", "-algorithm", "ed25519", "-out", path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	_, err = readKey(path)
	require.NoError(t, err)
	out, err = exec.Command("openssl", "genpkey", "-algorithm", "x25519", "-out", path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	_, err = readKey(path)
	require.ErrorContains(t, err, "not for Ed25519")
}

func TestNewKeyIsSecret(t *testing.T) {
	path := filepath.Join(t.TempDir(), "club.key")
	mustRun(t, "prove", "--new-key", path)
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Zero(t, info.Mode().Perm()&0o077)
}
