package report

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check/golden"
	"untrod/site"
	"untrod/track"
)

// says is what a made-up statement says.
func says(r *coverage.Result) Says {
	s := Says{Issued: "2031-06-12", Searcher: "Ana Poláčková", Owner: "permit 17/b, Ἑλένη", Note: "north field only", Program: "test",
		Settings: coverage.DefaultSettings(), Site: &site.Site{Name: r.Site.Name}}
	s.Settings.SwathM = 1.5
	for _, v := range r.Sessions {
		s.Inputs = append(s.Inputs, InputDoc{Name: v.File, SHA256: strings.Repeat("ab", 32), Visits: []VisitDoc{{v.Name, v.Fixes, strings.Repeat("cd", 32)}}})
	}
	return s
}

// madeUp is the statement of the field that most tests draw.
func madeUp(t testing.TB, change func(*coverage.Result, *Says), key ed25519.PrivateKey) *Statement {
	r, p := field().makeUnsure(t)
	s := says(r)
	if change != nil {
		change(r, &s)
	}
	var pic bytes.Buffer
	require.NoError(t, mapPNG(&pic, newSheet(r, p, s.Units), 40))
	st, err := newStatement(r, s, key, pic.Bytes())
	require.NoError(t, err)
	return st
}

func testKey(seed byte) ed25519.PrivateKey {
	return ed25519.NewKeyFromSeed(bytes.Repeat([]byte{seed}, ed25519.SeedSize))
}

func jsonOf(t testing.TB, s *Statement) []byte {
	var out bytes.Buffer
	require.NoError(t, s.WriteJSON(&out))
	return out.Bytes()
}

func TestStatementGolden(t *testing.T) {
	st := madeUp(t, nil, testKey(1))
	golden.Bytes(t, "testdata/statement.json", jsonOf(t, st))
	var page bytes.Buffer
	require.NoError(t, st.WriteHTML(&page))
	golden.Bytes(t, "testdata/statement.html", inlined.ReplaceAll(page.Bytes(), []byte(`src=""`)))
}

func TestStatementReadsBack(t *testing.T) {
	st := madeUp(t, nil, nil)
	back, err := ReadStatement(jsonOf(t, st))
	require.NoError(t, err)
	require.True(t, back.Unchanged)
	require.Empty(t, back.Signer)
	require.Equal(t, st.SHA256, back.SHA256)
	lines, err := back.Differences(st.Content)
	require.NoError(t, err)
	require.Empty(t, lines)
	again := st.Content
	again.Summary.Coverage.AtLeastPercent++
	again.Inputs = again.Inputs[:2]
	lines, err = back.Differences(again)
	require.NoError(t, err)
	require.Len(t, lines, 1+7, "%q", lines)
	require.Contains(t, lines[0], "inputs[2].name: stated \"walk3.gpx\", not there now")
	require.Regexp(t, `^summary.coverage.at_least_percent: stated [0-9.]+, now [0-9.]+$`, lines[len(lines)-1])
}

// Every field of the settings comes back as it was given: a new one has to be carried.
func TestSettingsComeBack(t *testing.T) {
	n := 0.0
	var fill func(v reflect.Value)
	fill = func(v reflect.Value) {
		n++
		switch v.Kind() {
		case reflect.Struct:
			for i := range v.NumField() {
				fill(v.Field(i))
			}
		case reflect.Slice:
			v.Set(reflect.MakeSlice(v.Type(), 2, 2))
			fill(v.Index(0))
			fill(v.Index(1))
		case reflect.Float64:
			v.SetFloat(n + 1/n)
		case reflect.Int:
			v.SetInt(int64(n))
		case reflect.Uint64:
			v.SetUint(1<<63 + uint64(n))
		case reflect.Uint8: // coil shape, kind of leg
			v.SetUint(1)
		case reflect.Bool:
			v.SetBool(true)
		case reflect.String:
			v.SetString(fmt.Sprint("word ", n))
		default:
			t.Fatalf("no value for %s", v.Type())
		}
	}
	var want coverage.Settings
	fill(reflect.ValueOf(&want).Elem())
	text, err := json.Marshal(given(want))
	require.NoError(t, err)
	var doc GivenDoc
	require.NoError(t, json.Unmarshal(text, &doc))
	got, err := doc.Settings()
	require.NoError(t, err)
	require.Equal(t, want, got)
	doc.CoilShape = "square"
	_, err = doc.Settings()
	require.ErrorContains(t, err, `"square"`)
}

// A changed byte of the file is found, unless it is white space outside strings that
// stays white space.
func TestChangedBytesAreFound(t *testing.T) {
	file := jsonOf(t, madeUp(t, nil, testKey(1)))
	flat := func(b []byte) string {
		var out bytes.Buffer
		require.NoError(t, json.Compact(&out, b))
		return out.String()
	}
	want := flat(file)
	rng := rand.New(rand.NewPCG(7, 7))
	harmless := 0
	for range 2000 {
		bad := bytes.Clone(file)
		at := rng.IntN(len(bad))
		bad[at] ^= byte(1 + rng.IntN(255))
		back, err := ReadStatement(bad)
		if err != nil || !back.Unchanged || !back.Signed {
			continue
		}
		require.Equal(t, want, flat(bad), "byte %d, %q for %q", at, bad[at], file[at])
		harmless++
	}
	require.Less(t, harmless, 60)
}

func TestSignatures(t *testing.T) {
	st := madeUp(t, nil, testKey(1))
	file := jsonOf(t, st)
	back, err := ReadStatement(file)
	require.NoError(t, err)
	require.True(t, back.Signed)
	require.Equal(t, PublicKey(testKey(1)), back.Signer)
	other := madeUp(t, func(_ *coverage.Result, s *Says) { s.Note = "another" }, testKey(1))
	other.Signature = st.Signature // of another statement
	back, err = ReadStatement(jsonOf(t, other))
	require.NoError(t, err)
	require.True(t, back.Unchanged)
	require.False(t, back.Signed)
	st.Signature.PublicKey = PublicKey(testKey(2))
	back, err = ReadStatement(jsonOf(t, st))
	require.NoError(t, err)
	require.False(t, back.Signed)
}

// RFC 8032, section 7.1, TEST 1: the public key of a secret one.
func TestPublicKeyPublished(t *testing.T) {
	seed := make([]byte, 32)
	_, err := fmt.Sscanf("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "%x", &seed)
	require.NoError(t, err)
	require.Equal(t, "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", PublicKey(ed25519.NewKeyFromSeed(seed)))
}

func TestNotAStatement(t *testing.T) {
	file := string(jsonOf(t, madeUp(t, nil, nil)))
	for _, c := range []struct{ name, file, says string }{
		{"empty", "", "not a statement"},
		{"cut short", file[:len(file)/2], "not a statement, or a damaged one"},
		{"a list", "[]", "no JSON object"},
		{"a summary", `{"schema":"untrod-coverage-1"}`, "not a statement"},
		{"newer", strings.Replace(file, StatementSchema, "untrod-statement-2", 1), "a statement of a newer untrod"},
		{"older than any", strings.Replace(file, StatementSchema, "untrod-statement-0", 1), "not a statement: schema"},
		{"a part too many", strings.Replace(file, "{", `{"x":1,`, 1), "its parts are"},
		{"a part twice", strings.Replace(file, "{", `{"schema":"untrod-statement-1",`, 1), `"schema" twice`},
		{"a part in capitals", strings.Replace(file, `"content"`, `"Content"`, 1), "its parts are"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadStatement([]byte(c.file))
			require.ErrorContains(t, err, c.says)
		})
	}
	var newer *NewerError
	_, err := ReadStatement([]byte(`{"schema":"untrod-statement-7","and":"what it likes"}`))
	require.ErrorAs(t, err, &newer)
}

func FuzzReadStatement(f *testing.F) {
	f.Add(jsonOf(f, madeUp(f, nil, testKey(1))))
	f.Add([]byte(`{"schema":"untrod-statement-1","content":{},"sha256":"","signature":{"kind":1}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		if back, err := ReadStatement(b); err == nil {
			if says, err := back.Content.Says(); err == nil {
				_ = says
			}
			_, _ = back.Differences(back.Content)
		}
	})
}

func TestClaim(t *testing.T) {
	visit := func(from, to string) coverage.Session {
		at := func(s string) track.Instant {
			d, err := time.Parse(time.DateOnly, s)
			require.NoError(t, err)
			return track.At(d)
		}
		return coverage.Session{Start: at(from), End: at(to)}
	}
	none := coverage.Session{Start: track.NoTime, End: track.NoTime}
	r := &coverage.Result{AsLoggedPercent: 88.2, SearchableM2: 12_412}
	for _, c := range []struct {
		name   string
		sure   *coverage.Certainty
		own    bool
		visits []coverage.Session
		u      Units
		want   string
	}{
		{"two months", &coverage.Certainty{AtLeastPercent: 71.98}, false, []coverage.Session{visit("2026-04-02", "2026-04-02"), visit("2026-06-09", "2026-06-09")}, Metric,
			"At least 71 % of 1.24 ha swept, as logged 88 %, 2 visits, 2 April to 9 June 2026."},
		{"one day", &coverage.Certainty{AtLeastPercent: 71}, false, []coverage.Session{visit("2026-04-02", "2026-04-02")}, Imperial,
			"At least 71 % of 3.07 acres swept, as logged 88 %, 1 visit, 2 April 2026."},
		{"one month", &coverage.Certainty{AtLeastPercent: 71}, false, []coverage.Session{visit("2026-04-02", "2026-04-20")}, Metric,
			"At least 71 % of 1.24 ha swept, as logged 88 %, 1 visit, 2 to 20 April 2026."},
		{"two years", &coverage.Certainty{AtLeastPercent: 71}, false, []coverage.Session{visit("2025-12-31", "2026-01-01"), none}, Metric,
			"At least 71 % of 1.24 ha swept, as logged 88 %, 2 visits, 31 December 2025 to 1 January 2026."},
		{"no times, no site, as logged", nil, true, []coverage.Session{none}, Metric,
			"As logged 88 % of 1.24 ha within an outline drawn round the searched ground itself swept, with every position taken as true, 1 visit."},
	} {
		t.Run(c.name, func(t *testing.T) {
			r.Certainty, r.OwnOutline, r.Sessions = c.sure, c.own, c.visits
			require.Equal(t, c.want, claim(r, c.u))
		})
	}
}

// The ground near landmarks, against a look at every cell and every edge.
func TestGroundNearTwin(t *testing.T) {
	r, _ := field().makeUnsure(t)
	rapid.Check(t, func(rt *rapid.T) {
		l := site.LocalLandmark{}
		l.Shape = site.Shape(rapid.IntRange(0, 2).Draw(rt, "shape"))
		n := []int{1, 5, 5}[l.Shape]
		for range n {
			l.XY = append(l.XY, grid.XY{X: rapid.Float64Range(-60, 60).Draw(rt, "x"), Y: rapid.Float64Range(-30, 30).Draw(rt, "y")})
		}
		got := groundNear(r.Searchable, l)
		want := 0
		r.Searchable.Cells(func(c grid.Cell) {
			q, off := r.Spec.Centre(c), 1e9
			for i, a := range l.XY {
				if i > 0 || l.Shape == site.AreaShape {
					off = min(off, offEdge(q, l.XY[(i+n-1)%n], a))
				}
				off = min(off, offEdge(q, a, a))
			}
			near := off < nearM || l.Shape == site.AreaShape && within(l.XY, q)
			if near {
				want++
			}
			if near != got.Has(c) && off < nearM-1e-9 {
				rt.Fatalf("cell %v, %g m off, has %v", c, off, got.Has(c))
			}
		})
		require.InDelta(rt, want, got.Count(), 3) // edges through centres of cells
	})
}

// The site a statement carries is the same when carried again.
func TestCarriedSite(t *testing.T) {
	file := `{"type":"Polygon","coordinates":[[[12.123456789012,51.1],[12.1245,51.1],[12.1245,51.1009],[12.123456789012,51.1]]]}`
	s, err := site.Read(strings.NewReader(file), "field.geojson")
	require.NoError(t, err)
	once, err := CarriedSite(s)
	require.NoError(t, err)
	twice, err := CarriedSite(once)
	require.NoError(t, err)
	require.Equal(t, once, twice)
	require.Equal(t, s.Name, once.Name)
	none, err := CarriedSite(nil)
	require.NoError(t, err)
	require.Nil(t, none)
}
