// Bigdemo makes the folder of a demo that has as many inspections as asked for, for measurements: the season of the demo, and its
// copies over the nine years before it. `thwart serve --demo --dir` serves it like any other demo.
//
//	go run ./internal/bigdemo -dir out/million -inspections 1000000
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"thwart"
	"thwart/internal/demo"
	"thwart/internal/demo/demotest"
	"thwart/internal/server"
	"thwart/internal/store"
)

func main() {
	dir := flag.String("dir", "", "the folder to make")
	n := flag.Int("inspections", 1_000_000, "about how many inspections it has, at least a season of some 15,000")
	flag.Parse()
	if err := run(*dir, *n); err != nil {
		fmt.Fprintln(os.Stderr, "bigdemo:", err)
		os.Exit(1)
	}
}

// run does nothing where the folder is there already. A folder that was not finished is made anew.
func run(dir string, n int) error {
	if dir == "" {
		return errors.New("-dir is empty; accepted: a folder that is not there")
	}
	if _, err := os.Stat(filepath.Join(dir, "demo.db")); err == nil {
		return nil
	}
	part := dir + ".part"
	if err := os.RemoveAll(part); err != nil {
		return err
	}
	start := time.Now()
	if err := begin(part); err != nil {
		return err
	}
	if err := multiply(filepath.Join(part, "demo.db"), n, start); err != nil {
		return err
	}
	return os.Rename(part, dir)
}

// begin lets the server make its own demo, accounts and all, and stops it when it answers.
func begin(dir string) error {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	err := server.Run(ctx, server.Config{Dir: dir, Addr: "127.0.0.1:0", Demo: true, DemoSeed: seed, Out: io.Discard, Log: log,
		Ready: func(string) { stop() }})
	if errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

const seed = 1 // of the server's demo where no other is asked for

// batch is how many entries are kept in one transaction: more than phones send, because nobody waits for any of them.
const batch = 5000

func multiply(file string, n int, start time.Time) error {
	ctx := context.Background()
	s, err := store.Open(ctx, file, store.Options{})
	if err != nil {
		return err
	}
	decade := demotest.NewDecade(demo.Options{Seed: seed, Scale: 1}, n)
	for at := decade.FirstSeason(); ; {
		entries, next, err := decade.Changes(ctx, nil, at, batch)
		if err != nil {
			return errors.Join(err, s.Close())
		}
		if len(entries) == 0 {
			break
		}
		answers, err := s.Put(ctx, entries)
		if err != nil {
			return errors.Join(err, s.Close())
		}
		for _, a := range answers {
			if a.Result == thwart.Refused {
				return errors.Join(fmt.Errorf("entry %s was refused: %w", a.ID, a.Errors), s.Close())
			}
		}
		if at = next; at/batch%20 == 0 {
			fmt.Fprintf(os.Stderr, "%d entries after %v\n", at, time.Since(start).Round(time.Second))
		}
	}
	return s.Close()
}
