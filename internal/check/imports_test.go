package check_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// rooms lists which of our packages each package may import, test files left
// out. A package that is not in the table may not exist.
var rooms = map[string][]string{
	"grid":                   {},
	"track":                  {"grid"},
	"site":                   {"grid", "track"},
	"coverage":               {"grid", "track", "site"},
	"plan":                   {"grid", "track", "site", "coverage"},
	"report":                 {"grid", "track", "site", "coverage", "plan"},
	"site/backdrop":          {"grid"},
	"site/book":              {"grid", "track", "site", "coverage"},
	"web":                    {"grid", "track", "site", "coverage", "plan", "report", "site/backdrop", "site/book"},
	"cmd/untrod":             {"grid", "track", "site", "coverage", "plan", "report", "site/book", "web", "internal/check"},
	"internal/check":         {"grid", "track"},
	"internal/check/browser": {},
	"internal/check/golden":  {},
	"examples/library":       {"grid", "track", "site", "coverage", "plan", "report"},
}

var (
	pure = []string{"grid", "track", "site", "site/backdrop", "coverage", "plan"}
	// What a pure package may not reach for: files, the network, logging, and
	// the calls that read the clock or print.
	impureImports = []string{"os", "os/exec", "io/ioutil", "net", "net/http", "log", "log/slog", "syscall"}
	impureCalls   = []string{"time.Now", "time.Since", "time.Until", "fmt.Print", "fmt.Printf", "fmt.Println"}
)

const root = "../.."

// TestRooms holds the import order: data flows one way through the packages.
func TestRooms(t *testing.T) {
	for path, f := range sources(t) {
		room := filepath.ToSlash(filepath.Dir(path))
		allowed, known := rooms[room]
		require.True(t, known, "%s: package not in the table of rooms", path)
		for _, imp := range importsOf(t, f) {
			ours, is := strings.CutPrefix(imp, "untrod/")
			if is && !slices.Contains(allowed, ours) {
				t.Errorf("%s: %s may not import %s", path, room, ours)
			}
			if slices.Contains(pure, room) && slices.Contains(impureImports, imp) {
				t.Errorf("%s: pure package imports %q", path, imp)
			}
		}
	}
}

// TestPureCalls holds that pure packages neither read the clock nor print.
func TestPureCalls(t *testing.T) {
	for path, f := range sources(t) {
		if !slices.Contains(pure, filepath.ToSlash(filepath.Dir(path))) {
			continue
		}
		ast.Inspect(f, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if pkg, ok := sel.X.(*ast.Ident); ok && slices.Contains(impureCalls, pkg.Name+"."+sel.Sel.Name) {
				t.Errorf("%s: pure package uses %s.%s", path, pkg.Name, sel.Sel.Name)
			}
			return true
		})
	}
}

// sources parses every Go file of the module that is not a test, by its path.
func sources(t *testing.T) map[string]*ast.File {
	t.Helper()
	var found []string
	for _, pattern := range []string{"*.go", "*/*.go", "*/*/*.go", "*/*/*/*.go"} {
		m, err := filepath.Glob(filepath.Join(root, pattern))
		require.NoError(t, err)
		found = append(found, slices.DeleteFunc(m, ofAnotherModule)...)
	}
	files := map[string]*ast.File{}
	for _, path := range found {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		require.NoError(t, err)
		rel, err := filepath.Rel(root, path)
		require.NoError(t, err)
		files[rel] = f
	}
	require.NotEmpty(t, files)
	return files
}

// ofAnotherModule reports whether a file lies in what makes the page, which is a module
// of its own.
func ofAnotherModule(path string) bool {
	rel, err := filepath.Rel(filepath.Join(root, "web", "ui"), path)
	return err == nil && !strings.HasPrefix(rel, "..")
}

func importsOf(t *testing.T, f *ast.File) []string {
	t.Helper()
	out := make([]string, len(f.Imports))
	for i, imp := range f.Imports {
		path, err := strconv.Unquote(imp.Path.Value)
		require.NoError(t, err)
		out[i] = path
	}
	return out
}
