// Command vulngate reads govulncheck's JSON from standard input, prints every advisory whose code is called, and exits 1
// if one of them is in a module other than the Go standard library.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"sort"
	"strings"
)

type message struct {
	Finding *struct {
		OSV   string `json:"osv"`
		Fixed string `json:"fixed_version"`
		Trace []struct {
			Module   string `json:"module"`
			Function string `json:"function"`
		} `json:"trace"`
	} `json:"finding"`
}

const oursToMend = " (ours to mend)"

func main() {
	called := map[string]string{}
	d := json.NewDecoder(os.Stdin)
	for {
		var m message
		err := d.Decode(&m)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, "vulngate: reading govulncheck's report:", err)
			os.Exit(1)
		}
		if f := m.Finding; f != nil && len(f.Trace) > 0 && f.Trace[0].Function != "" {
			called[f.OSV] = fmt.Sprintf("%s in %s, mended in %s", f.OSV, f.Trace[0].Module, f.Fixed)
			if f.Trace[0].Module != "stdlib" {
				called[f.OSV] += oursToMend
			}
		}
	}
	lines := make([]string, 0, len(called))
	ours := false
	for _, l := range called {
		lines = append(lines, l)
		ours = ours || strings.HasSuffix(l, oursToMend)
	}
	sort.Strings(lines)
	fmt.Printf("known vulnerabilities in code that is called: %d\n", len(lines))
	for _, l := range lines {
		fmt.Println(" ", l)
	}
	if ours {
		os.Exit(1)
	}
}
