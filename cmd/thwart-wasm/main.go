//go:build !js

// Command thwart-wasm is the engine as a phone runs it, compiled by GOOS=js GOARCH=wasm.
//
// Compiled for a desk it answers the same calls, one JSON object a line, from standard input to standard output: for trying
// them out, and for holding the two builds against each other.
package main

import (
	"bufio"
	"fmt"
	"os"

	"thwart/phone"
)

func main() {
	if err := answer(); err != nil {
		fmt.Fprintln(os.Stderr, "thwart-wasm:", err)
		os.Exit(1)
	}
}

func answer() error {
	engine := phone.New()
	in := bufio.NewScanner(os.Stdin)
	in.Buffer(make([]byte, 1<<20), phone.MaxCallBytes)
	out := bufio.NewWriter(os.Stdout)
	for in.Scan() {
		if _, err := out.Write(append(engine.Call(in.Bytes()), '\n')); err != nil {
			return err
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	return out.Flush()
}
