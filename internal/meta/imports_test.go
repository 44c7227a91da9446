// Package meta holds tests on the shape of the repository itself.
package meta

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// allowed is the import table of the product: what each package may import besides the standard library and, below it,
// why. A package that is not in the table may not exist. Tests may import more.
var allowed = []struct {
	pkg  string
	may  []string
	note string
}{
	{"thwart", []string{"thwart/unit"}, "records know no equation, no number and no wire"},
	{"thwart/unit", nil, "quantities know nothing"},
	{"thwart/engine/num", []string{"thwart/unit", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/air", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/engine/heat", []string{"thwart/unit", "thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/lethal", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/engine/trace", []string{"thwart/unit", "thwart/engine/num", "thwart/engine/lethal"}, "a cleaned trace is fed to a dose"},
	{"thwart/engine/drying", []string{"thwart/unit", "thwart/engine/num", "thwart/engine/air"}, "drying runs on vapour pressure"},
	{"thwart/engine/search", []string{"thwart/unit", "thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/round", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/engine/risk", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/refdata", []string{"thwart/unit"}, "numbers and their sources, no equation"},
	{"thwart/intake", []string{"thwart/unit", "thwart/engine/trace", "thwart/engine/drying", "thwart/engine/air"}, "files from elsewhere become the engine's inputs"},
	{"thwart/advice", []string{"thwart", "thwart/unit", "thwart/engine", "thwart/refdata"}, "the one place that chooses"},
	{"thwart/schema", nil, "published descriptions of the files, embedded"},
	{"thwart/internal/cli", []string{
		"thwart", "thwart/unit", "thwart/advice", "thwart/engine", "thwart/intake", "thwart/refdata", "thwart/schema", "github.com/spf13",
		"thwart/internal/server", "thwart/internal/store", "thwart/internal/exchange",
	}, "flags and words, no rule of the trade"},
	{"thwart/cmd/thwart", []string{"thwart/internal/cli"}, "starts the command line"},
	{"thwart/merge", []string{"thwart"}, "rules for joining histories; no database, no clock"},
	{"thwart/internal/store", []string{"thwart", "thwart/merge", "modernc.org/sqlite", "github.com/jackc/pgx", "github.com/pressly/goose"}, "SQL, both dialects"},
	{"thwart/internal/store/storetest", []string{"thwart", "thwart/internal/store"}, "the promises every store is held to"},
	{"thwart/internal/api", []string{
		"thwart", "thwart/unit", "thwart/advice", "thwart/merge", "thwart/refdata", "thwart/schema", "github.com/danielgtaylor/huma",
		"github.com/alexedwards/argon2id", "github.com/prometheus/client_golang", "golang.org/x/time", "thwart/internal/exchange",
	}, "gets its store as a contract"},
	{"thwart/internal/demo", []string{"thwart", "thwart/unit", "thwart/engine/num", "thwart/advice", "thwart/refdata"}, "the invented region"},
	{"thwart/internal/exchange", []string{"thwart", "thwart/unit", "thwart/refdata", "thwart/merge", "github.com/xuri/excelize"}, "import and export"},
	{"thwart/internal/server", []string{
		"thwart", "thwart/internal/api", "thwart/internal/store", "thwart/internal/demo", "thwart/internal/exchange",
	}, "puts the parts together"},
	{"thwart/internal/docgen", []string{
		"thwart", "thwart/unit", "thwart/advice", "thwart/refdata", "thwart/schema", "thwart/internal/cli", "thwart/internal/api", "thwart/internal/store",
		"github.com/spf13", "github.com/invopop/jsonschema",
	}, "writes docs/reference and the schemas"},
	{"thwart/internal/faulttest", nil, "only tests: the built binary, ill-treated"},
	{"thwart/internal/refcheck", nil, "test helper: want, tolerance, source"},
	{"thwart/internal/vulngate", nil, "reads a report of the checkers"},
	{"thwart/internal/meta", nil, ""},
	{"thwart/examples", []string{"thwart"}, "run by a test"},
}

// pure lists the packages that must run anywhere the same: no file, no network, no clock, no global luck.
var pure = []string{"thwart", "thwart/unit", "thwart/engine/", "thwart/refdata", "thwart/advice", "thwart/merge"}

// worldly are direct imports that a pure package may not have, with the reason.
var worldly = map[string]string{
	"os": "no files", "os/exec": "no processes", "net": "no network", "net/http": "no network", "database/sql": "no database",
	"log": "answers are returned, not logged", "log/slog": "answers are returned, not logged", "math/rand": "use engine/num.Stream",
	"crypto/rand": "answers must be repeatable", "syscall": "no system calls", "unsafe": "no tricks",
}

// clockCalls are the calls into package time that read the wall clock.
var clockCalls = []string{"time.Now(", "time.Since(", "time.Until(", "time.Local"}

type file struct {
	path, pkg string
	imports   []string
	text      string
}

func goFiles(t *testing.T) []file {
	t.Helper()
	root := filepath.Join("..", "..")
	var files []file
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(root, path)
		if d.IsDir() {
			if name := d.Name(); rel != "." && (strings.HasPrefix(name, ".") || name == "testdata" || name == "node_modules" || name == "tools") {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), path, text, parser.ImportsOnly)
		if err != nil {
			return err
		}
		f := file{path: rel, pkg: "thwart", text: string(text)}
		if dir := filepath.ToSlash(filepath.Dir(rel)); dir != "." {
			f.pkg += "/" + dir
		}
		for _, i := range parsed.Imports {
			name, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			f.imports = append(f.imports, name)
		}
		files = append(files, f)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 20 {
		t.Fatalf("only %d Go files found: the walk went wrong", len(files))
	}
	return files
}

func TestImportTable(t *testing.T) {
	for _, f := range goFiles(t) {
		row := slices.IndexFunc(allowed, func(r struct {
			pkg  string
			may  []string
			note string
		}) bool {
			return r.pkg == f.pkg
		})
		if row < 0 {
			t.Errorf("%s: package %s is not in the import table", f.path, f.pkg)
			continue
		}
		for _, i := range f.imports {
			if outside := strings.Contains(strings.SplitN(i, "/", 2)[0], ".") || strings.HasPrefix(i, "thwart"); !outside {
				continue
			}
			ok := slices.ContainsFunc(allowed[row].may, func(m string) bool {
				return i == m || m != "thwart" && strings.HasPrefix(i, m+"/")
			})
			if !ok {
				t.Errorf("%s imports %s; %s may import %v (%s)", f.path, i, f.pkg, allowed[row].may, allowed[row].note)
			}
		}
	}
}

func TestPurePackagesTouchNothing(t *testing.T) {
	seen := 0
	for _, f := range goFiles(t) {
		if !slices.ContainsFunc(pure, func(p string) bool { return f.pkg == p || strings.HasSuffix(p, "/") && strings.HasPrefix(f.pkg, p) }) {
			continue
		}
		seen++
		for _, i := range f.imports {
			if why, bad := worldly[i]; bad {
				t.Errorf("%s imports %s: %s", f.path, i, why)
			}
		}
		for _, call := range clockCalls {
			if strings.Contains(f.text, call) {
				t.Errorf("%s calls %s…): the time is an argument", f.path, call)
			}
		}
	}
	if seen < 10 {
		t.Fatalf("only %d files of pure packages seen", seen)
	}
}
