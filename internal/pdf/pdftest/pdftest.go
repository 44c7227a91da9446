// Package pdftest looks at PDF files with programs that share no code with this one.
package pdftest

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// Tool runs a program of poppler or qpdf over a file, which stands in args as FILE, and gives what it printed; where it is not
// installed the test says so and is passed over.
func Tool(t *testing.T, pdf []byte, name string, args ...string) string {
	t.Helper()
	exe, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("NOT CHECKED from outside: %s is not installed", name)
	}
	file := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	for i, a := range args {
		if a == "FILE" {
			args[i] = file
		}
	}
	out, err := exec.CommandContext(t.Context(), exe, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}
