package main

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"thwart"
	"thwart/internal/cli"
	"thwart/receipt"
)

// Every example in a help text works as it stands, in a folder with the files it names.
func TestHelpExamplesWork(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("testdata", "files"))); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	// The commands that keep records work on a short season of the demo.
	serveUntilItAnswers(t, []string{"serve", "--demo", "--scale", "0.02", "--store", "demo.db"})
	if err := os.Rename("demo.db", "programme.db"); err != nil {
		t.Fatal(err)
	}
	writeReceipt(t)
	ran := 0
	for _, name := range append(cli.Names(), "") {
		cmd, _, err := cli.Root().Find(strings.Fields(name))
		if err != nil {
			t.Fatal(err)
		}
		if cmd.Example == "" {
			t.Errorf("%s has no example", cmd.CommandPath())
		}
		for _, line := range strings.Split(cmd.Example, "\n") {
			if line == "" {
				continue
			}
			ran++
			t.Run(strings.TrimSpace(line), func(t *testing.T) { runExample(t, line) })
		}
	}
	if ran < 30 {
		t.Fatalf("only %d examples ran", ran)
	}
}

// writeReceipt leaves a receipt, the keys that vouch for it, and the programme's own key where the commands about receipts look.
func writeReceipt(t *testing.T) {
	t.Helper()
	at := time.Date(2026, 7, 4, 12, 0, 0, 0, time.UTC)
	key := func(letter string) (ed25519.PrivateKey, []byte) {
		k := ed25519.NewKeyFromSeed([]byte(strings.Repeat(letter, ed25519.SeedSize)))
		return k, k.Public().(ed25519.PublicKey)
	}
	programme, programmePublic := key("a")
	phone, phonePublic := key("b")
	code, err := receipt.Issue(receipt.Facts{ID: "0123456789ab", What: receipt.Washed, Outcome: thwart.Launch, IssuedAt: at, ValidH: 24,
		Launch: "01234567", Protocol: "012345"}, phone)
	if err != nil {
		t.Fatal(err)
	}
	keys := []thwart.Key{
		{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(programmePublic), Public: programmePublic, From: at.Add(-time.Hour)},
		receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: phonePublic, Device: "01980d5e-6a00-7000-8000-00000000beef",
			From: at.Add(-time.Hour)}, programme),
	}
	list, err := json.Marshal(keys)
	if err != nil {
		t.Fatal(err)
	}
	own, err := json.Marshal(map[string][]byte{"programme": programme.Seed()})
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string][]byte{"receipt.txt": []byte(code), "keys.json": list, "signing.key": own} {
		if err := os.WriteFile(name, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

func runExample(t *testing.T, line string) {
	words := shellWords(line)
	if len(words) < 2 || words[0] != "thwart" {
		t.Fatalf("an example is a command of thwart: %q", line)
	}
	var in, out, errs bytes.Buffer
	args := words[1:]
	if args[0] == "serve" {
		serveUntilItAnswers(t, args)
		return
	}
	if n := len(args); n > 2 && args[n-2] == "<" {
		b, err := os.ReadFile(args[n-1])
		if err != nil {
			t.Fatal(err)
		}
		in.Write(b)
		args = args[:n-2]
	}
	code := cli.Main(t.Context(), args, cli.Streams{In: &in, Out: &out, Err: &errs}, "test")
	strict := strings.Contains(line, "--strict") && code == cli.ExitNotMet
	if code != cli.ExitAnswered && !strict {
		t.Fatalf("exit code %d\n%s", code, errs.String())
	}
	if out.Len() == 0 {
		t.Fatal("no answer")
	}
	if strings.Contains(line, "--json") || strings.Contains(line, " schema ") {
		return
	}
	readsWell(t, out.String())
}

// serveUntilItAnswers starts a server at a free port and ends it as an interrupt would once it says where to open it.
func serveUntilItAnswers(t *testing.T, args []string) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var out, errs bytes.Buffer
	watch := writer(func(b []byte) (int, error) {
		if bytes.Contains(b, []byte("Open http://")) {
			cancel()
		}
		return out.Write(b)
	})
	args = append(args, "--addr", "127.0.0.1:0", "--log", "error")
	if code := cli.Main(ctx, args, cli.Streams{Out: watch, Err: &errs}, "test"); code != cli.ExitAnswered || errs.Len() > 0 {
		t.Fatalf("exit code %d\n%s%s", code, out.String(), errs.String())
	}
	if !strings.Contains(out.String(), "Open http://") {
		t.Fatalf("it never answered: %s", out.String())
	}
}

type writer func([]byte) (int, error)

func (w writer) Write(b []byte) (int, error) { return w(b) }

// readsWell holds a text to what a page and a terminal take.
func readsWell(t *testing.T, text string) {
	t.Helper()
	for _, l := range strings.Split(text, "\n") {
		switch n := utf8.RuneCountInString(l); {
		case n > 100 && strings.Contains(strings.TrimSpace(l), " "):
			t.Errorf("%d columns: %s", n, l)
		case strings.TrimRight(l, " ") != l:
			t.Errorf("spaces at the end: %q", l)
		case strings.Contains(l, "%!"):
			t.Errorf("a slip of formatting: %s", l)
		}
	}
}

// Every example case can be read in both systems of units, and answers as JSON.
func TestExampleCasesReadWell(t *testing.T) {
	cases, err := filepath.Glob(filepath.Join("..", "..", "examples", "cases", "*.json"))
	if err != nil {
		t.Fatal(err)
	}
	if len(cases) < 3 {
		t.Fatalf("only %d example cases found", len(cases))
	}
	for _, path := range cases {
		t.Run(filepath.Base(path), func(t *testing.T) {
			for _, flags := range [][]string{{"--full", "--round"}, {"--units", "us"}, {"--width", "40"}, {"--json"}} {
				var out, errs bytes.Buffer
				code := cli.Main(t.Context(), append([]string{"assess", path}, flags...), cli.Streams{Out: &out, Err: &errs}, "test")
				if code != cli.ExitAnswered {
					t.Fatalf("%v: exit code %d\n%s", flags, code, errs.String())
				}
				if flags[0] == "--json" {
					if !json.Valid(out.Bytes()) {
						t.Error("the answer is not JSON")
					}
					continue
				}
				readsWell(t, out.String())
			}
		})
	}
}

// shellWords splits a line as a shell does, as far as examples need it: spaces, and double quotes around words with spaces.
func shellWords(line string) []string {
	var words []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			words = append(words, part)
			continue
		}
		words = append(words, strings.Fields(part)...)
	}
	return words
}
