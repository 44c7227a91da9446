// Command wasmbuild compiles the engine for the browser into a folder: engine.wasm, practice.wasm and the wasm_exec.js of
// the same Go.
//
//	go run ./internal/wasmbuild web/app/public/engine
//
// What a phone has to load is kept small: functions are not copied into their callers, and what only a debugger would read is
// blanked (see [Slim]), so that it compresses to nothing.
package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"thwart/refdata"
)

func main() {
	if len(os.Args) != 2 || strings.HasPrefix(os.Args[1], "-") {
		fmt.Fprintln(os.Stderr, "wasmbuild: give one folder, such as web/app/public/engine")
		os.Exit(2)
	}
	if err := build(".", os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "wasmbuild:", err)
		os.Exit(1)
	}
}

// Programs: what every phone loads at the ramp, and the same with practice craft and questions, loaded when somebody practises.
var programs = []struct{ file, tags string }{{"engine.wasm", "ramp"}, {"practice.wasm", ""}}

// build compiles the engine of the repository at root into dir. Each file is written whole or not at all.
func build(root, dir string) error {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := copyRuntime(dir); err != nil {
		return err
	}
	for _, p := range programs {
		if err := compile(root, filepath.Join(dir, p.file), p.tags); err != nil {
			return err
		}
	}
	return nil
}

func compile(root, file, tags string) error {
	part := file + ".part"
	defer os.Remove(part)
	cmd := exec.Command("go", "build", "-trimpath", "-tags="+tags, "-gcflags=all=-l", "-ldflags=-s -w -X thwart/refdata.version="+refdata.Version(), "-o", part, "./cmd/thwart-wasm")
	cmd.Dir, cmd.Env = root, append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("go build: %w\n%s", err, out)
	}
	wasm, err := os.ReadFile(part)
	if err != nil {
		return err
	}
	if _, err := Slim(wasm); err != nil {
		return err
	}
	return write(file, wasm)
}

// copyRuntime brings the script that starts a program of the same Go.
func copyRuntime(dir string) error {
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return fmt.Errorf("go env GOROOT: %w", err)
	}
	js, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(goroot)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return err
	}
	return write(filepath.Join(dir, "wasm_exec.js"), js)
}

func write(name string, b []byte) error {
	if err := os.WriteFile(name+".new", b, 0o644); err != nil {
		return err
	}
	return os.Rename(name+".new", name)
}
