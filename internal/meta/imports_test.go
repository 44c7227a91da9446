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
	{"thwart/form", nil, "forms of short texts know nothing"},
	{"thwart/tongue", nil, "sentences and the book they are looked up in; no language"},
	{"thwart/lean", nil, "the code of generic helpers once"},
	{"thwart", []string{"thwart/unit", "thwart/form", "thwart/tongue"}, "records know no equation, no number and no wire"},
	{"thwart/unit", []string{"thwart/tongue"}, "quantities know nothing but how they are said"},
	{"thwart/engine/num", []string{"thwart/unit", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/air", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/engine/heat", []string{"thwart/unit", "thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/queue", []string{"thwart/engine/num"}, ""},
	{"thwart/engine/spread", []string{"thwart/engine/num"}, ""},
	{"thwart/engine/lethal", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/engine/trace", []string{"thwart/unit", "thwart/lean", "thwart/engine/num", "thwart/engine/lethal", "thwart/tongue"}, "a cleaned trace is fed to a dose"},
	{"thwart/engine/drying", []string{"thwart/unit", "thwart/engine/num", "thwart/engine/air", "thwart/tongue"}, "drying runs on vapour pressure"},
	{"thwart/engine/search", []string{"thwart/unit", "thwart/lean", "thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/round", []string{"thwart/unit", "thwart/lean", "thwart/engine/num"}, ""},
	{"thwart/engine/risk", []string{"thwart/unit", "thwart/lean", "thwart/engine/num"}, ""},
	{"thwart/engine/skill", []string{"thwart/unit", "thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/recall", []string{"thwart/unit", "thwart/engine/num"}, ""},
	{"thwart/engine/cut", []string{"thwart/engine/num"}, ""},
	{"thwart/engine/siting", []string{"thwart/engine/num", "thwart/engine/mip"}, "a solver is handed in"},
	{"thwart/season/plan", []string{"thwart", "thwart/season", "thwart/season/flows", "thwart/engine", "thwart/refdata"}, "records and wishes become a plan; a solver is handed in"},
	{"thwart/engine/roster", []string{"thwart/engine/num", "thwart/engine/mip"}, "a solver is handed in"},
	{"thwart/season/roster", []string{"thwart", "thwart/season", "thwart/engine"}, "the programme's people and dated shifts; a solver is handed in"},
	{"thwart/internal/calendar", []string{"thwart/season/roster", "github.com/arran4/golang-ical", "github.com/google/uuid"}, "rosters as iCalendar"},
	{"thwart/engine/mip", nil, "models by name; solves nothing"},
	{"thwart/solver", []string{"thwart/engine/mip", "thwart/solver/highs", "github.com/tetratelabs/wazero"}, "a WebAssembly module and its cage"},
	{"thwart/solver/highs", nil, "the module, embedded"},
	{"thwart/internal/highsgen", nil, "takes the module out of its package"},
	{"thwart/engine/geo", []string{"thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/engine/traffic", []string{"thwart/engine/num", "thwart/engine/glm", "gonum.org/v1/gonum"}, "a gravity model is a regression of counts"},
	{"thwart/engine/arrivals", []string{"thwart/engine/num", "thwart/engine/glm"}, "days are a regression of counts"},
	{"thwart/engine/flows", []string{"thwart/engine/num", "thwart/engine/risk"}, "a Beta distribution of a chance is the risk's"},
	{"thwart/engine/glm", []string{"thwart/engine/num", "gonum.org/v1/gonum"}, ""},
	{"thwart/refdata", []string{"thwart/unit", "thwart/form", "thwart/lean", "thwart/tongue"}, "numbers and their sources, no equation"},
	{"thwart/intake", []string{"thwart/unit", "thwart/lean", "thwart/engine/trace", "thwart/engine/drying", "thwart/engine/air", "thwart/tongue"}, "files from elsewhere become the engine's inputs"},
	{"thwart/advice", []string{"thwart", "thwart/unit", "thwart/form", "thwart/lean", "thwart/engine", "thwart/refdata", "thwart/tongue"}, "the one place that chooses"},
	{"thwart/practice", []string{"thwart", "thwart/unit", "thwart/engine", "thwart/refdata", "thwart/advice", "thwart/tongue"}, "drills and questions, judged by the same advice"},
	{"thwart/season/skill", []string{"thwart", "thwart/season", "thwart/engine", "thwart/refdata", "thwart/practice"}, "what the records say of what people find"},
	{"thwart/draw", nil, "a drawing knows nothing of what is drawn"},
	{"thwart/draw/craft", []string{"thwart", "thwart/draw", "thwart/advice", "thwart/refdata", "thwart/tongue"}, "craft and the walk round them"},
	{"thwart/names", []string{"thwart/lean"}, "finding a name knows no record"},
	{"thwart/boater", []string{"thwart", "thwart/lean"}, "a verdict in the boater's words"},
	{"thwart/receipt", []string{"thwart", "thwart/form", "thwart/draw", "rsc.io/qr", "thwart/tongue"}, "keys and texts, no clock and no luck; a code to draw"},
	{"thwart/handover", []string{"thwart", "thwart/advice", "thwart/receipt", "thwart/tongue", "thwart/form"}, "what two phones tell each other; the places of a craft are the engine's"},
	{"thwart/phone", []string{
		"thwart", "thwart/handover", "thwart/unit", "thwart/advice", "thwart/intake", "thwart/merge", "thwart/names", "thwart/refdata",
		"thwart/draw", "thwart/practice", "thwart/receipt", "thwart/boater", "thwart/tongue",
	}, "one call in, one answer out: nothing that only a server has"},
	{"thwart/cmd/thwart-wasm", []string{"thwart/phone"}, "the engine for a browser"},
	{"thwart/schema", nil, "published descriptions of the files, embedded"},
	{"thwart/season/spreading", []string{"thwart", "thwart/season", "thwart/season/flows", "thwart/engine", "thwart/refdata"}, "fitted traffic and statuses become years"},
	{"thwart/season/waiting", []string{"thwart", "thwart/season", "thwart/season/flows", "thwart/engine"}, "fitted arrivals and timed looks become a queue"},
	{"thwart/season/today", []string{"thwart", "thwart/season", "thwart/engine/num"}, "how the day stands"},
	{"thwart/season/figures", []string{"thwart", "thwart/season", "thwart/engine/num"}, "the one source of a season's numbers"},
	{"thwart/internal/cli", []string{
		"thwart", "thwart/unit", "thwart/advice", "thwart/engine", "thwart/intake", "thwart/refdata", "thwart/schema", "thwart/season", "github.com/spf13",
		"thwart/internal/server", "thwart/internal/store", "thwart/internal/exchange", "thwart/internal/opendata", "thwart/internal/phonecopy",
		"thwart/season", "thwart/internal/report", "thwart/internal/pdf",
		"thwart/practice", "thwart/internal/handbook", "thwart/internal/paper", "thwart/receipt",
		"thwart/internal/calendar", "thwart/solver",
	}, "flags and words, no rule of the trade"},
	{"thwart/internal/basemap", []string{"golang.org/x/net"}, "what a file of map tiles says of itself; its attribution is HTML"},
	{"thwart/internal/basemap/basemaptest", nil, "test helper: small archives of tiles"},
	{"thwart/internal/phonecopy", []string{"thwart"}, "opens what a phone has encrypted"},
	{"thwart/cmd/thwart", []string{"thwart/internal/cli"}, "starts the command line"},
	{"thwart/merge", []string{"thwart", "thwart/lean"}, "rules for joining histories; no database, no clock"},
	{"thwart/season", []string{"thwart", "thwart/merge"}, "records typed and indexed for computation"},
	{"thwart/season/flows", []string{"thwart", "thwart/season", "thwart/season/skill", "thwart/advice", "thwart/refdata", "thwart/engine", "gonum.org/v1/gonum"}, "the records chained with what is known of organisms"},
	{"thwart/internal/store", []string{"thwart", "thwart/merge", "modernc.org/sqlite", "github.com/jackc/pgx", "github.com/pressly/goose"}, "SQL, both dialects"},
	{"thwart/internal/store/storetest", []string{"thwart", "thwart/internal/store"}, "the promises every store is held to"},
	{"thwart/internal/api", []string{
		"thwart/receipt",
		"thwart", "thwart/unit", "thwart/advice", "thwart/merge", "thwart/refdata", "thwart/schema", "thwart/season", "github.com/danielgtaylor/huma",
		"github.com/alexedwards/argon2id", "github.com/prometheus/client_golang", "golang.org/x/time", "thwart/internal/exchange",
		"thwart/internal/work", "thwart/internal/opendata", "thwart/internal/report", "thwart/practice", "thwart/internal/handbook",
		"thwart/internal/calendar", "thwart/engine/mip", "thwart/internal/paper", "thwart/internal/pdf", "thwart/draw", "thwart/internal/basemap",
	}, "gets its store as a contract"},
	{"thwart/internal/work", []string{"thwart"}, "a queue of long computations; gets its store as a contract"},
	{"thwart/internal/demo", []string{"thwart", "thwart/unit", "thwart/engine/heat", "thwart/engine/num", "thwart/advice", "thwart/practice", "thwart/refdata"}, "the invented region"},
	{"thwart/internal/demo/demotest", []string{"thwart", "thwart/internal/demo", "thwart/season"}, "test helper: an invented season as records"},
	{"thwart/internal/bigdemo", []string{"thwart", "thwart/internal/demo", "thwart/internal/server", "thwart/internal/store"}, "makes a demo of many years, for measurements"},
	{"thwart/internal/exchange", []string{"thwart", "thwart/unit", "thwart/refdata", "thwart/merge", "github.com/xuri/excelize"}, "import and export"},
	{"thwart/internal/opendata", []string{"thwart", "thwart/engine/num", "thwart/refdata", "thwart/internal/exchange", "github.com/parquet-go/parquet-go"}, "copies for others, checked before they go out"},
	{"thwart/draw/chart", []string{"thwart/draw"}, "plots and maps of a season"},
	{"thwart/internal/report", []string{
		"thwart", "thwart/unit", "thwart/draw", "thwart/engine/num", "thwart/refdata", "thwart/season", "thwart/internal/exchange", "thwart/internal/pdf",
		"thwart/boater",
	}, "one content, set as PDF and as HTML; months as the boater's card has them"},
	{"thwart/internal/pdf", []string{"thwart/draw", "codeberg.org/go-pdf/fpdf"}, "drawings and text as PDF"},
	{"thwart/internal/server", []string{
		"thwart", "thwart/internal/api", "thwart/internal/store", "thwart/internal/demo", "thwart/internal/exchange", "thwart/internal/webui",
		"thwart/internal/work", "thwart/internal/report", "thwart/solver", "thwart/engine/mip", "thwart/internal/basemap",
	}, "puts the parts together"},
	{"thwart/internal/webui", nil, "the built web app, embedded"},
	{"thwart/internal/docgen", []string{
		"thwart", "thwart/unit", "thwart/advice", "thwart/refdata", "thwart/schema", "thwart/internal/cli", "thwart/internal/api", "thwart/internal/store",
		"thwart/phone", "github.com/spf13", "github.com/invopop/jsonschema",
	}, "writes docs/reference and the schemas"},
	{"thwart/internal/paper", []string{"thwart", "thwart/unit", "thwart/advice", "thwart/refdata", "thwart/draw", "thwart/receipt", "thwart/internal/pdf"}, "forms to fill in by hand; gets the records as a contract"},
	{"thwart/internal/handbook", []string{"thwart", "thwart/unit", "thwart/advice", "thwart/refdata", "thwart/practice", "thwart/draw", "thwart/internal/pdf"}, "the field guide, printed"},
	{"thwart/internal/faulttest", nil, "only tests: the built binary, ill-treated"},
	{"thwart/internal/faulttest/badline", nil, "test helper: a line that loses, delays, repeats and cuts"},
	{"thwart/internal/casegen", []string{"thwart", "thwart/unit", "thwart/advice", "thwart/refdata"}, "test helper: cases from a seed"},
	{"thwart/internal/wasmbuild", []string{"thwart/refdata"}, "builds the engine for a browser, with the version of all data"},
	{"thwart/solver/solvertest", []string{"thwart/solver"}, "test helper: one solver for the tests of a package"},
	{"thwart/internal/pdf/pdftest", nil, "test helper: PDF files seen from outside"},
	{"thwart/internal/refcheck", nil, "test helper: want, tolerance, source"},
	{"thwart/internal/vulngate", nil, "reads a report of the checkers"},
	{"thwart/internal/meta", nil, ""},
	{"thwart/examples", []string{"thwart"}, "run by a test"},
}

// pure lists the packages that must run anywhere the same: no file, no network, no clock, no global luck.
var pure = []string{
	"thwart", "thwart/unit", "thwart/engine/", "thwart/refdata", "thwart/advice", "thwart/merge", "thwart/season", "thwart/season/",
	"thwart/form", "thwart/lean", "thwart/names", "thwart/phone", "thwart/draw", "thwart/draw/", "thwart/tongue",
}

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
