package main

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thwart/refdata"
)

const root = "../.."

// The generated files are those that docgen would write.
func TestGeneratedFilesAreFresh(t *testing.T) {
	files, err := generate(root)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range files {
		got, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			t.Errorf("%s is missing; run: go run ./internal/docgen", name)
		case err != nil:
			t.Error(err)
		case !bytes.Equal(got, want):
			t.Errorf("%s is stale; run: go run ./internal/docgen", name)
		}
	}
}

// Nothing else lies among the generated files that would look generated and is not.
func TestNoOrphanPages(t *testing.T) {
	files, err := generate(root)
	if err != nil {
		t.Fatal(err)
	}
	list, err := filepath.Glob(filepath.Join(root, "docs", "reference", "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range list {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := files["docs/reference/"+filepath.Base(path)]; !ok && bytes.Contains(text, []byte(generated)) {
			t.Errorf("%s says that it is generated, and is not", path)
		}
	}
}

// Every table has as many cells in each line as in its head, and every link to a source leads somewhere.
func TestPagesAreWellFormed(t *testing.T) {
	sources := pages["sources.md"]()
	for name, page := range pages {
		text := page()
		cells := 0
		for i, line := range strings.Split(text, "\n") {
			if !strings.HasPrefix(line, "|") {
				cells = 0
				continue
			}
			n := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|")
			if cells != 0 && n != cells {
				t.Errorf("%s, line %d: %d cells, not %d", name, i+1, n, cells)
			}
			cells = n
		}
		for rest := text; ; {
			_, after, found := strings.Cut(rest, "(sources.md#")
			if !found {
				break
			}
			id, _, _ := strings.Cut(after, ")")
			if !strings.Contains(sources, `<a id="`+id+`">`) {
				t.Errorf("%s links to source %s, which is not on the page of sources", name, id)
			}
			rest = after
		}
	}
}

func TestEveryOrganismAndSourceHasItsRow(t *testing.T) {
	organisms, sources := pages["organisms.md"](), pages["sources.md"]()
	for _, o := range refdata.Organisms() {
		if !strings.Contains(organisms, code(o.ID)) {
			t.Errorf("%s is not on the page of organisms", o.ID)
		}
	}
	for _, s := range refdata.Sources() {
		if !strings.Contains(sources, anchor(s.ID)) {
			t.Errorf("%s is not on the page of sources", s.ID)
		}
	}
}
