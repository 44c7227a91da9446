// Package solvertest gives the tests of a package one solver, opened once; compiling it takes seconds.
package solvertest

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"thwart/solver"
)

// Main runs a package's tests with a solver that is opened before them and closed after. Call it from TestMain.
func Main(m *testing.M, engine **solver.Engine) {
	ctx := context.Background()
	var err error
	if *engine, err = solver.Open(ctx, solver.Settings{CacheDir: filepath.Join(os.TempDir(), "thwart-solver-cache")}); err != nil {
		panic(err)
	}
	code := m.Run()
	if err := (*engine).Close(ctx); err != nil {
		panic(err)
	}
	os.Exit(code)
}
