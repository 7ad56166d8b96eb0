package report

import (
	"bytes"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"untrod/coverage"
	"untrod/internal/check/golden"
	"untrod/site"
)

var inlined = regexp.MustCompile(`src="[^"]*"`)

func pdfOf(t testing.TB, st *Statement, p Paper) []byte {
	var out bytes.Buffer
	require.NoError(t, st.WritePDF(&out, p))
	return out.Bytes()
}

// output is what a program prints of a PDF.
func output(t *testing.T, pdf []byte, program string, args ...string) string {
	t.Helper()
	needTool(t, program)
	path := filepath.Join(t.TempDir(), "statement.pdf")
	require.NoError(t, os.WriteFile(path, pdf, 0o600))
	for i, a := range args {
		if a == "FILE" {
			args[i] = path
		}
	}
	out, err := exec.Command(program, args...).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}

func TestPDFIsTheSameTwice(t *testing.T) {
	a, b := pdfOf(t, madeUp(t, nil, nil), A4), pdfOf(t, madeUp(t, nil, nil), A4)
	require.True(t, bytes.Equal(a, b))
	require.Contains(t, string(a), "/Producer (")
	require.NotContains(t, string(a), "FPDF")
	require.Contains(t, string(a), "/CreationDate (D:20310612000000)")
}

// What poppler's pdftotext reads, in the order it was written.
func TestPDFText(t *testing.T) {
	for _, c := range []struct {
		name  string
		paper Paper
	}{{"a4", A4}, {"letter", Letter}} {
		t.Run(c.name, func(t *testing.T) {
			text := output(t, pdfOf(t, madeUp(t, nil, testKey(1)), c.paper), "pdftotext", "-raw", "FILE", "-")
			golden.Bytes(t, "testdata/statement-"+c.name+".txt", []byte(strings.ReplaceAll(text, "\f", "\n-- page --\n")))
			for _, want := range []string{"m²", "Poláčková", "Ἑλένη", "°C", "At least"} {
				require.Contains(t, text, want)
			}
		})
	}
}

func TestPDFIsSound(t *testing.T) {
	for name, st := range hardStatements(t) {
		for _, p := range []Paper{A4, Letter} {
			t.Run(fmt.Sprint(name, " ", Papers[p]), func(t *testing.T) {
				pdf := pdfOf(t, st, p)
				require.Contains(t, output(t, pdf, "qpdf", "--check", "FILE"), "No syntax or stream encoding errors found")
				for _, l := range strings.Split(strings.TrimSpace(output(t, pdf, "pdffonts", "FILE")), "\n")[2:] {
					require.Regexp(t, `Identity-H +yes `, l, "a font that is not embedded")
				}
				size := map[Paper]string{A4: "595.28 x 841.89 pts (A4)", Letter: "612 x 792 pts (letter)"}
				require.Contains(t, output(t, pdf, "pdfinfo", "FILE"), size[p])
			})
		}
	}
}

// hardStatements are of much, of nothing, and of names in every script.
func hardStatements(t testing.TB) map[string]*Statement {
	hard := "Ωμέγα Поле שדה רחב (12 x 3) حقل واسع 広い野原 넓은 들 खेत 🌾 \u202eevil\u202c e\u0301 " + strings.Repeat("unbroken", 60)
	return map[string]*Statement{
		"names": madeUp(t, func(r *coverage.Result, s *Says) {
			r.Site.Name, s.Searcher, s.Owner, s.Note = hard, hard, hard, strings.Repeat(hard+" ", 20)
			for i := range r.Sessions {
				r.Sessions[i].Name, r.Sessions[i].Walker = hard, hard
				s.Inputs[i].Name = hard
			}
			for i := range r.Local.Landmarks {
				r.Local.Landmarks[i].Name = hard
			}
		}, testKey(3)),
		"300 visits": madeUp(t, func(r *coverage.Result, s *Says) {
			for i := range 300 {
				v := r.Sessions[i%3]
				v.Name, v.File = fmt.Sprintf("visit %d", i), fmt.Sprintf("w%03d.gpx", i)
				r.Sessions = append(r.Sessions, v)
				s.Inputs = append(s.Inputs, InputDoc{Name: v.File, SHA256: strings.Repeat("0f", 32)})
			}
		}, nil),
		"nothing": madeUp(t, func(r *coverage.Result, s *Says) {
			r.Certainty, r.Detection, r.Thoroughness, r.Gaps, r.Sessions, r.Lanes, r.LaidOut = nil, nil, nil, nil, nil, nil, nil
			r.Local, r.Site, r.OwnOutline = site.Local{}, site.Site{}, true
			r.Settings.Position = coverage.PositionSettings{Canopy: "none"}
			*s = Says{Issued: "2031-06-12", Settings: coverage.DefaultSettings()}
		}, nil),
	}
}

func TestHardStatementsAsPages(t *testing.T) {
	for name, st := range hardStatements(t) {
		t.Run(name, func(t *testing.T) {
			var page bytes.Buffer
			require.NoError(t, st.WriteHTML(&page))
			require.NotContains(t, page.String(), "http:")
			require.NotContains(t, page.String(), "https:")
			require.NotContains(t, page.String(), "<script")
			require.NotContains(t, page.String(), "\u202e")
		})
	}
}

// In headless Chromium no page is wider than its window. Windows are frames in a page,
// since Chromium makes no window of a phone's width.
func TestPagesFitTheWindow(t *testing.T) {
	needTool(t, "chromium")
	dir := t.TempDir()
	var frames strings.Builder
	want := ""
	for name, st := range hardStatements(t) {
		var page bytes.Buffer
		require.NoError(t, st.WriteHTML(&page))
		for _, w := range []int{360, 900, 1920} {
			probe := strings.Replace(page.String(), "style-src", "script-src 'unsafe-inline'; style-src", 1)
			probe = strings.Replace(probe, "</body>", fmt.Sprintf(`<script>parent.document.title += "[%s %d: " + document.documentElement.scrollWidth + "]"</script></body>`, name, w), 1)
			fmt.Fprintf(&frames, `<iframe style="border:0;width:%dpx;height:600px" srcdoc="%s"></iframe>`, w, html.EscapeString(probe))
			want += fmt.Sprintf("[%s %d: %d]", name, w, w)
		}
	}
	path := filepath.Join(dir, "frames.html")
	require.NoError(t, os.WriteFile(path, []byte("<!DOCTYPE html><title></title><body>"+frames.String()), 0o600))
	out, err := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
		"--user-data-dir="+filepath.Join(dir, "profile"), "--dump-dom", "file://"+path).Output()
	require.NoError(t, err)
	found := regexp.MustCompile(`<title>(.*?)</title>`).FindStringSubmatch(string(out))
	require.NotNil(t, found)
	got := strings.SplitAfter(found[1], "]")
	require.ElementsMatch(t, strings.SplitAfter(want, "]"), got)
}

func TestDrawnOrder(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"left to right", "by the gate", "by the gate"},
		{"a name apart", "visit " + asName("north") + ", 3", "visit north, 3"},
		{"Hebrew", asName("שדה"), "הדש"},
		{"Hebrew in a sentence", "In " + asName("שדה רחב") + ", 12", "In בחר הדש, 12"},
		{"a number in Hebrew", asName("שדה 12"), "12 הדש"},
		{"brackets turn", asName("(שדה) ב"), "ב (הדש)"},
		{"Latin first", asName("field שדה"), "field הדש"},
	} {
		t.Run(c.name, func(t *testing.T) { require.Equal(t, c.want, drawnOrder(c.in)) })
	}
}

func TestDrawable(t *testing.T) {
	for _, c := range []struct {
		name, in, want string
		lacking        bool
	}{
		{"in the font", "m² Ω Поле č °", "m² Ω Поле č °", false},
		{"not in it", "広 🌾", "□ □", true},
		{"a mark that combines", "ख\u0947त", "□□", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, lacking := drawable(c.in)
			require.Equal(t, c.want, got)
			require.Equal(t, c.lacking, lacking)
		})
	}
	require.True(t, inFont(noGlyph))
}

// Rows stay whole, and the heads stand again on every page.
func TestTableOverPages(t *testing.T) {
	d := newPDF(A4, "t", "foot", time.Unix(0, 0).UTC())
	var rows [][]string
	for i := range 200 {
		rows = append(rows, []string{fmt.Sprint("row ", i), strings.Repeat("word ", i%60)})
	}
	d.table([]tableColumn{{"Left", 1, false}, {"Right", 1, true}}, rows)
	var out bytes.Buffer
	require.NoError(t, d.write(&out))
	pages := strings.Split(strings.TrimSuffix(output(t, out.Bytes(), "pdftotext", "-layout", "FILE", "-"), "\f"), "\f")
	require.Greater(t, len(pages), 5)
	all := ""
	for i, p := range pages {
		require.Regexp(t, `(?s)^\s*Left\s+Right\s`, p)
		require.Contains(t, p, fmt.Sprintf("page %d of %d", i+1, len(pages)))
		all += p
	}
	for i := range 200 {
		require.Regexp(t, fmt.Sprintf(`(?m)^ *row %d( |$)`, i), all)
	}
}

// TestStatementGallery writes hard statements to the folder named by UNTROD_GALLERY,
// to be looked at.
func TestStatementGallery(t *testing.T) {
	dir := os.Getenv("UNTROD_GALLERY")
	if dir == "" {
		t.Skip("UNTROD_GALLERY is not set")
	}
	all := hardStatements(t)
	all["field"] = madeUp(t, nil, testKey(1))
	for name, st := range all {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".pdf"), pdfOf(t, st, A4), 0o600))
		var page bytes.Buffer
		require.NoError(t, st.WriteHTML(&page))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+".html"), page.Bytes(), 0o600))
	}
}
