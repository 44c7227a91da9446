// Command thwart judges craft for aquatic invasive species, plans their treatment, and proves a wash.
//
// Run "thwart help" for the commands. All of them live in package cli; this file gives them the process's streams.
package main

import (
	"os"

	"thwart/internal/cli"
)

// version is set by the linker: go build -ldflags '-X main.version=v1.2.3'.
var version = "dev"

func main() {
	os.Exit(cli.Main(os.Args[1:], cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}, version))
}
