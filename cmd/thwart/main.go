// Command thwart judges craft for aquatic invasive species, plans their treatment, proves a wash, and keeps the records of a
// programme's season.
//
// Run "thwart help" for the commands. All of them live in package cli; this file gives them the process's streams.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"thwart/internal/cli"
)

// version is set by the linker: go build -ldflags '-X main.version=v1.2.3'.
var version = "dev"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := cli.Main(ctx, os.Args[1:], cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}, version)
	stop()
	os.Exit(code)
}
