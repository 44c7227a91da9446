package cli

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func run(t *testing.T, in string, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = Main(context.Background(), args, Streams{In: strings.NewReader(in), Out: &o, Err: &e}, "test")
	return code, o.String(), e.String()
}

// brokenPipe takes nothing.
type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }

func TestAnAnswerThatCannotBeWrittenIsAFailure(t *testing.T) {
	var e bytes.Buffer
	code := Main(t.Context(), []string{"version"}, Streams{Out: brokenPipe{}, Err: &e}, "test")
	if code != ExitRefused || !strings.Contains(e.String(), "the disk is full") {
		t.Errorf("exit code %d, message %q", code, e.String())
	}
}

// Whatever is wrong with a file, nothing of an answer is written, and the message ends with a next step.
func TestNothingHalfWritten(t *testing.T) {
	dir := t.TempDir()
	broken := filepath.Join(dir, "broken.json")
	if err := os.WriteFile(broken, []byte(`{"inspection": {"startedAt": "yesterday"}}`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"assess", broken}, {"assess", broken, "--json"}, {"verdict", broken}, {"risk", broken}, {"treat", broken}, {"dry", broken},
		{"round", broken}, {"assess", filepath.Join(dir, "none.json")}, {"protocols", "check", broken}, {"protocols", "nowhere"},
		{"wash", broken, "--protocol", "regional-minimum", "--part", "hull"}, {"organisms", "kraken"}, {"craft", "kraken"},
		{"heat", "spray", "--near", "0.5m=50C", "--far", "0.1m=60C", "--air", "20C", "--at", "0.2m"},
	} {
		code, out, errs := run(t, "", args...)
		if code != ExitRefused || out != "" {
			t.Errorf("%v: exit code %d, wrote %q", args, code, out)
		}
		if !strings.HasPrefix(errs, "thwart ") || !strings.Contains(errs, "\nnext: ") {
			t.Errorf("%v: message %q", args, errs)
		}
	}
}

func TestExitCodesAreDocumented(t *testing.T) {
	_, out, _ := run(t, "", "help", "exit-codes")
	for _, c := range ExitCodes {
		if !strings.Contains(out, c.Example) {
			t.Errorf("the help topic does not tell of code %d: %s", c.Code, c.Example)
		}
	}
	if len(ExitCodes) != 4 {
		t.Errorf("%d exit codes are documented, 4 are used", len(ExitCodes))
	}
}

func TestEveryCommandExplainsItself(t *testing.T) {
	for _, name := range Names() {
		cmd, _, err := Root().Find(strings.Fields(name))
		if err != nil {
			t.Fatal(err)
		}
		if cmd.Short == "" || cmd.Long == "" || cmd.Example == "" {
			t.Errorf("%s lacks a short text, a long text or an example", name)
		}
		if strings.HasSuffix(cmd.Short, ".") {
			t.Errorf("%s: the short text ends with a full stop", name)
		}
		for _, l := range strings.Split(cmd.Long, "\n") {
			if len([]rune(l)) > helpWidth {
				t.Errorf("%s: a help line is longer than %d columns: %s", name, helpWidth, l)
			}
		}
	}
}

func TestStandardInputNeedsAPipe(t *testing.T) {
	a := newApp(Streams{In: strings.NewReader("")}, "test")
	if _, err := a.files(Root(), []string{"-", "-"}); err == nil {
		t.Error("standard input was taken twice")
	}
	names, err := a.files(Root(), nil)
	if err != nil || len(names) != 1 || names[0] != stdinName {
		t.Errorf("got %v, %v", names, err)
	}
}
