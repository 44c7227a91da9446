package main

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"thwart": main})
}

// The scripts read like the documentation: a command, and what comes of it. They start in a folder that holds the files of
// testdata/files.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata",
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(env.WorkDir, os.DirFS(filepath.Join("testdata", "files")))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"field": field, "exits": exits},
	})
}

// field checks one field of a JSON answer on standard output: field verdict.outcome wash. Numbers in the path index lists;
// with one argument the field has to be there, and with ! it has to be absent or different.
func field(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 1 || len(args) > 2 {
		ts.Fatalf("usage: field path [value]")
	}
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile("stdout")), &v); err != nil {
		ts.Fatalf("standard output is not JSON: %v", err)
	}
	there := true
	for _, step := range strings.Split(args[0], ".") {
		switch node := v.(type) {
		case map[string]any:
			v, there = node[step]
		case []any:
			i, err := strconv.Atoi(step)
			there = err == nil && i < len(node)
			if there {
				v = node[i]
			}
		default:
			there = false
		}
		if !there {
			break
		}
	}
	text := ""
	if there {
		b, err := json.Marshal(v)
		ts.Check(err)
		text = strings.Trim(string(b), `"`)
	}
	ok := there && (len(args) == 1 || text == args[1])
	if ok == neg {
		ts.Fatalf("%s is %q (there: %v)", args[0], text, there)
	}
}

// exits runs a command that has to end with an exit code: exits 3 thwart assess case.json --strict.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits code command [argument …]")
	}
	err := ts.Exec(args[1], args[2:]...)
	code := 0
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		code = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if want := args[0]; strconv.Itoa(code) != want {
		ts.Fatalf("exit code %d, not %s", code, want)
	}
}
