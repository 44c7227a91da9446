package meta

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"thwart"
	"thwart/advice"
	"thwart/internal/cli"
	"thwart/refdata"
)

// The documentation is tested like code. Links lead somewhere, commands exist, and every ```console block is run: what
// stands below a command is what the command prints. A page's own files come from its blocks marked file=name.
//
// After a deliberate change of wording: go test ./internal/meta -run TestConsole -update, and read the difference.

var update = flag.Bool("update", false, "rewrite what stands below the commands of the documentation")

// page is one Markdown file cut into fenced blocks and the text between them.
type page struct {
	path   string
	blocks []block
}

// block is a fenced block (info is what follows the fence, such as console) or, with no info, prose.
type block struct {
	info  string
	fence bool
	text  string
}

func (b block) language() string { return strings.SplitN(b.info, " ", 2)[0] }

func (b block) file() string {
	_, name, _ := strings.Cut(b.info, "file=")
	return name
}

var root = filepath.Join("..", "..")

func pages(t *testing.T) []page {
	t.Helper()
	var all []page
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != root && (strings.HasPrefix(d.Name(), ".") || slices.Contains([]string{"bin", "out", "testdata", "node_modules"}, d.Name())) {
			return filepath.SkipDir
		}
		if d.IsDir() || filepath.Ext(path) != ".md" {
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		p := page{path: path}
		if p.blocks, err = cut(string(b)); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		all = append(all, p)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 10 {
		t.Fatalf("only %d pages found: the walk went wrong", len(all))
	}
	return all
}

func cut(text string) (blocks []block, err error) {
	var b block
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(line, "```") {
			b.text += line
			continue
		}
		blocks = append(blocks, b)
		b = block{fence: !b.fence}
		if b.fence {
			b.info = strings.TrimSpace(strings.TrimPrefix(line, "```"))
		}
	}
	if b.fence {
		return nil, fmt.Errorf("a fenced block does not end")
	}
	return append(blocks, b), nil
}

func (p page) String() string {
	var s strings.Builder
	for _, b := range p.blocks {
		if b.fence {
			s.WriteString("```" + b.info + "\n" + b.text + "```\n")
		} else {
			s.WriteString(b.text)
		}
	}
	return s.String()
}

var (
	links    = regexp.MustCompile(`\]\(([^)\s]+)\)`)
	headings = regexp.MustCompile(`(?m)^#+ +(.+)$`)
	notSlug  = regexp.MustCompile(`[^\p{L}\p{N} _-]`)
	named    = regexp.MustCompile(`<a id="([^"]+)">`)
)

// anchors lists the fragments of a page: those that its headings give, as the usual renderers make them, and named ones.
func (p page) anchors() (all []string) {
	for _, b := range p.blocks {
		if b.fence {
			continue
		}
		for _, m := range headings.FindAllStringSubmatch(b.text, -1) {
			slug := notSlug.ReplaceAllString(strings.ToLower(strings.TrimSpace(m[1])), "")
			all = append(all, strings.ReplaceAll(slug, " ", "-"))
		}
		for _, m := range named.FindAllStringSubmatch(b.text, -1) {
			all = append(all, m[1])
		}
	}
	return all
}

func TestLinksLeadSomewhere(t *testing.T) {
	all := pages(t)
	seen := 0
	for _, p := range all {
		for _, b := range p.blocks {
			if b.fence {
				continue
			}
			for _, m := range links.FindAllStringSubmatch(b.text, -1) {
				if strings.Contains(m[1], ":") {
					continue // another site; nothing here is fetched
				}
				seen++
				name, fragment, _ := strings.Cut(m[1], "#")
				target := p.path
				if name != "" {
					target = filepath.Join(filepath.Dir(p.path), filepath.FromSlash(name))
				}
				if _, err := os.Stat(target); err != nil {
					t.Errorf("%s links to %s, which does not exist", p.path, m[1])
					continue
				}
				i := slices.IndexFunc(all, func(q page) bool { return q.path == target })
				if fragment != "" && i >= 0 && !slices.Contains(all[i].anchors(), fragment) {
					t.Errorf("%s links to %s; the page has no such place", p.path, m[1])
				}
			}
		}
	}
	if seen < 50 {
		t.Errorf("only %d links seen", seen)
	}
}

// called finds the command after the program's name, wherever it stands on the line.
var called = regexp.MustCompile(`(?:^|[\s|/])thwart ([a-z]+)(?: ([a-z]+)\b)?`)

func TestCommandsOfThePagesExist(t *testing.T) {
	names := append(cli.Names(), "help", "completion")
	seen := 0
	for _, p := range pages(t) {
		for _, b := range p.blocks {
			if !slices.Contains([]string{"console", "sh"}, b.language()) {
				continue
			}
			for line := range strings.Lines(b.text) {
				if b.language() == "console" && !strings.HasPrefix(line, "$ ") {
					continue
				}
				for _, m := range called.FindAllStringSubmatch(line, -1) {
					seen++
					if !slices.Contains(names, m[1]) && !slices.Contains(names, m[1]+" "+m[2]) {
						t.Errorf("%s: %sthere is no command %q", p.path, line, m[1])
					}
				}
			}
		}
	}
	if seen < 30 {
		t.Errorf("only %d commands seen", seen)
	}
}

// TestConsole runs the pages. Each page gets a folder of its own with the files it defines and the examples beside them.
func TestConsole(t *testing.T) {
	here, err := filepath.Abs(root)
	if err != nil {
		t.Fatal(err)
	}
	bin := t.TempDir()
	build := exec.Command("go", "build", "-o", filepath.Join(bin, "thwart"), "./cmd/thwart")
	build.Dir = here
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	env := append(os.Environ(), "PATH="+bin+string(os.PathListSeparator)+os.Getenv("PATH"), "GOFLAGS=", "GOWORK=")
	commands := 0
	for _, p := range pages(t) {
		n := 0
		for _, b := range p.blocks {
			if b.language() == "console" {
				n += strings.Count("\n"+b.text, "\n$ ")
			}
		}
		if commands += n; n == 0 {
			continue
		}
		name, _ := filepath.Rel(root, p.path)
		t.Run(filepath.ToSlash(name), func(t *testing.T) { p.run(t, here, env) })
	}
	if commands < 30 {
		t.Errorf("only %d commands in all pages", commands)
	}
}

func (p page) run(t *testing.T, here string, env []string) {
	dir := filepath.Join(t.TempDir(), "work")
	write := func(name, text string) {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	mod, err := os.ReadFile(filepath.Join(here, "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	version := regexp.MustCompile(`(?m)^go .+$`).FindString(string(mod))
	write("go.work", fmt.Sprintf("%s\nuse .\nuse %s\n", version, strconv.Quote(filepath.ToSlash(here))))
	write("go.mod", "module example.org/page\n\n"+version+"\n")
	if err := os.Symlink(filepath.Join(here, "examples"), filepath.Join(dir, "examples")); err != nil {
		t.Fatal(err)
	}
	changed := false
	for i := range p.blocks {
		b := &p.blocks[i]
		if name := b.file(); name != "" {
			write(name, b.text)
		}
		if b.language() != "console" {
			continue
		}
		var fresh strings.Builder
		for line := range strings.Lines(b.text) {
			command, ok := strings.CutPrefix(strings.TrimSuffix(line, "\n"), "$ ")
			if !ok {
				continue
			}
			// A command may well end with a code of its own, such as 3 for --strict; what it prints is what counts.
			cmd := exec.Command("sh", "-c", command)
			cmd.Dir, cmd.Env = dir, env
			out, err := cmd.CombinedOutput()
			if _, exited := err.(*exec.ExitError); err != nil && !exited {
				t.Fatal(err)
			}
			fresh.WriteString("$ " + command + "\n")
			fresh.Write(bytes.TrimLeft(out, "\n"))
		}
		if got := fresh.String(); got != b.text {
			changed = true
			if !*update {
				t.Errorf("what stands on the page (-) and what the commands print (+) differ; after a deliberate change run with -update:\n%s", cmp.Diff(b.text, got))
			}
			b.text = got
		}
	}
	if changed && *update {
		if err := os.WriteFile(p.path, []byte(p.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestPagesCountRight holds the numbers that prose gives against what is counted.
func TestPagesCountRight(t *testing.T) {
	library := map[string]int{
		"organisms": len(refdata.Organisms()), "protocols": len(advice.Protocols()), "sources": len(refdata.Sources()),
		"craft classes": len(refdata.CraftClasses()),
	}
	holds := regexp.MustCompile(`The library holds [^.]*`)
	things := regexp.MustCompile(`(\d+)\s+(organisms|protocols|sources|craft classes)`)
	rows := regexp.MustCompile("`([\\w/.-]+\\.csv)` \\((\\d+) rows\\)")
	seen := 0
	count := func(path, what, said string, is int) {
		seen++
		if said != strconv.Itoa(is) {
			t.Errorf("%s says %s %s; there are %d", path, said, what, is)
		}
	}
	for _, p := range pages(t) {
		text := p.String()
		for _, sentence := range holds.FindAllString(text, -1) {
			for _, m := range things.FindAllStringSubmatch(sentence, -1) {
				count(p.path, m[2], m[1], library[m[2]])
			}
		}
		for _, m := range rows.FindAllStringSubmatch(text, -1) {
			b, err := os.ReadFile(filepath.Join(root, m[1]))
			if err != nil {
				t.Error(err)
				continue
			}
			count(p.path, "rows of "+m[1], m[2], bytes.Count(bytes.TrimSpace(b), []byte("\n")))
		}
	}
	picture, err := os.ReadFile(filepath.Join(root, "docs", "img", "round.svg"))
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile(`numbers of the (\d+) stops, seen from (\d+) stands`).FindSubmatch(picture)
	if m == nil {
		t.Fatal("the picture of the round does not say how many stops it shows")
	}
	plan := exampleRound(t)
	count("docs/img/round.svg", "stops", string(m[1]), len(plan.Stops))
	count("docs/img/round.svg", "stands", string(m[2]), plan.Stations)
	if seen < 10 {
		t.Errorf("only %d counts seen", seen)
	}
}

func exampleRound(t *testing.T) advice.RoundPlan {
	t.Helper()
	f, err := os.Open(filepath.Join(root, "examples", "cases", "02-wake-boat-from-mussel-water.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cs, err := thwart.ReadCase(f)
	if err != nil {
		t.Fatal(err)
	}
	places, err := advice.Places(cs.Inspection.Setup)
	if err != nil {
		t.Fatal(err)
	}
	plan, err := advice.Round(places, cs.Inspection.Setup, advice.RoundOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return plan
}
