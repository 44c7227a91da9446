// Package server runs a programme: it opens the store, sees to the first run or the demo, and serves the API until it is told
// to stop. Start with [Run].
//
// It refuses to start where starting would be unsafe, and says which setting is at fault: on a network without encryption,
// on records of the other sort (a demo opened as a programme or the other way round), with a key file that others can read.
package server

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/basemap"
	"thwart/internal/demo"
	"thwart/internal/store"
	"thwart/internal/work"
)

// Config is how a programme is served. The zero value serves dir "." on 127.0.0.1:8080.
type Config struct {
	Addr string // host:port to listen at; empty = 127.0.0.1:8080
	Dir  string // holds the database file and the server's key; made where it is missing
	DSN  string // of the database; empty = a file in Dir, another one for the demo than for a programme

	Demo      bool    // serve the invented season; fills an empty store
	DemoSeed  uint64  // 0 = 1
	DemoScale float64 // share of the season's shifts, in (0, 1]; 0 = all
	Fresh     bool    // serve a programme that is still empty; refuses one that is not

	TLSCert, TLSKey string // files; both or neither
	BehindTLS       bool   // a proxy in front encrypts and sets X-Forwarded-For and X-Forwarded-Proto
	PlainHTTP       bool   // listen on a network without encryption, knowingly

	// Basemap is a file of map tiles that the office's maps are drawn over; empty = none.
	Basemap string

	// Key signs sessions. Several servers of one programme need the same; empty = the file server.key in Dir, made at the first run.
	Key []byte

	Version string
	Out     io.Writer    // for the person at the terminal; nil = os.Stdout
	Log     *slog.Logger // nil = JSON lines on os.Stderr
	// Ready is called with the address once requests are answered; nil for none.
	Ready func(url string)
}

// sort is what a store holds.
type sort string

const (
	sortEmpty     sort = "empty"
	sortDemo      sort = "demo"
	sortProgramme sort = "programme"
)

// sortOf looks at the first entry ever kept: entries are only added, so it says for good what the store was begun as. A store
// without entries but with accounts has been set up for a programme.
func sortOf(ctx context.Context, s *store.Store) (sort, error) {
	entries, _, err := s.Changes(ctx, nil, 0, 1)
	if err != nil {
		return "", err
	}
	if len(entries) > 0 {
		if entries[0].Origin == thwart.OriginDemo {
			return sortDemo, nil
		}
		return sortProgramme, nil
	}
	has, err := s.HasAccounts(ctx)
	if err != nil {
		return "", err
	}
	if has {
		return sortProgramme, nil
	}
	return sortEmpty, nil
}

func (c *Config) fill() error {
	if c.Addr == "" {
		c.Addr = "127.0.0.1:8080"
	}
	if c.Dir == "" {
		c.Dir = "."
	}
	if c.Out == nil {
		c.Out = os.Stdout
	}
	if c.Log == nil {
		c.Log = slog.New(slog.NewJSONHandler(os.Stderr, nil))
	}
	if c.DemoSeed == 0 {
		c.DemoSeed = 1
	}
	var errs thwart.FieldErrors
	fail := func(name, value, accepted string) {
		errs = append(errs, thwart.FieldError{Field: name, Value: value, Accepted: accepted})
	}
	host, _, err := net.SplitHostPort(c.Addr)
	if err != nil {
		fail("addr", c.Addr, "host:port, such as 127.0.0.1:8080 or :8080 for every network")
	}
	if (c.TLSCert == "") != (c.TLSKey == "") {
		fail("tls", c.TLSCert+c.TLSKey, "a certificate and its key, or neither")
	}
	if ip := net.ParseIP(host); err == nil && host != "localhost" && (ip == nil || !ip.IsLoopback()) && c.TLSCert == "" && !c.BehindTLS && !c.PlainHTTP {
		fail("addr", c.Addr, "an address of this machine only; for a network give a certificate and key, say that a proxy in front encrypts, or say that passwords may cross the network in clear")
	}
	if c.Demo && c.Fresh {
		fail("fresh", "true", "left out with the demo: the demo is an invented season, fresh is an empty programme")
	}
	if len(c.Key) > 0 && len(c.Key) < 32 {
		fail("key", fmt.Sprintf("%d bytes", len(c.Key)), "at least 32 secret bytes")
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

// Run serves until ctx ends, then lets requests in hand finish and closes the store.
func Run(ctx context.Context, c Config) (err error) {
	if err := c.fill(); err != nil {
		return err
	}
	var ground *basemap.File
	if c.Basemap != "" {
		if ground, err = basemap.Open(c.Basemap); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, ground.Close()) }()
	}
	if err := os.MkdirAll(c.Dir, 0o700); err != nil {
		return fmt.Errorf("the folder for the records: %w", err)
	}
	key := c.Key
	if len(key) == 0 {
		if key, err = readKey(filepath.Join(c.Dir, "server.key")); err != nil {
			return err
		}
	}
	dsn := c.DSN
	if dsn == "" {
		dsn = filepath.Join(c.Dir, "programme.db")
		if c.Demo {
			dsn = filepath.Join(c.Dir, "demo.db")
		}
	}
	notes := ""
	if strings.Contains(dsn, "://") {
		notes = filepath.Join(c.Dir, "purges.jsonl")
	}
	s, err := store.Open(ctx, dsn, store.Options{PurgeNotes: notes})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()

	code, err := c.prepare(ctx, s)
	if err != nil {
		return err
	}
	again, err := s.Reapply(ctx)
	if err != nil {
		return fmt.Errorf("purging again what was ordered: %w", err)
	}
	for _, r := range again {
		c.Log.Warn("purged again: these records are older than the order", "by", r.By, "at", r.At, "removed", r.Removed)
	}
	tools := &solvers{dir: c.Dir}
	defer func() { err = errors.Join(err, tools.close(context.WithoutCancel(ctx))) }()
	live := api.NewLiveBook(s, nil)
	runner := work.Start(s, computations(s, live, c.Version, c.Demo, tools), c.Log, nil)
	defer func() {
		stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
		defer cancel()
		err = errors.Join(err, runner.Close(stop))
	}()
	signing := &markKeys{path: filepath.Join(c.Dir, "signing.key")}
	first := &home{store: s, demo: c.Demo, log: c.Log}
	a, err := api.New(ctx, api.Config{
		Store: s, Accounts: s, Healthy: func(context.Context) error { return s.Healthy() }, Version: c.Version, Demo: c.Demo,
		SetupCode: code, Key: key, Log: c.Log, TrustProxy: c.BehindTLS, Jobs: s, Work: runner, Live: live, Pictures: s, MarkKey: (&markKeys{path: filepath.Join(c.Dir, "marks.key")}).of,
		SigningKey: signing.signing, NextKey: signing.next, PreviousKey: signing.previous,
		Pages: first.pages(), Basemap: ground,
	})
	if err != nil {
		return err
	}
	first.api = a.Handler()
	var warming sync.WaitGroup
	warming.Go(func() {
		if err := a.Warm(ctx); err != nil && ctx.Err() == nil {
			c.Log.Warn("the season could not be read ahead", "error", err)
		}
	})
	defer warming.Wait() // before the store is closed
	ln, err := (&net.ListenConfig{}).Listen(ctx, "tcp", c.Addr)
	if err != nil {
		return fmt.Errorf("listening at %s: %w", c.Addr, err)
	}
	return c.serve(ctx, ln, a, code)
}

// prepare makes sure that the store is of the sort asked for. code is what the first account is made with, empty where there
// is one already.
func (c *Config) prepare(ctx context.Context, s *store.Store) (code string, err error) {
	is, err := sortOf(ctx, s)
	if err != nil {
		return "", err
	}
	switch {
	case c.Demo && is == sortProgramme:
		return "", errors.New("this store holds a programme's records and is not opened as a demo; give the demo a folder of its own")
	case !c.Demo && is == sortDemo:
		return "", errors.New("this store holds the demo's invented records and is not opened as a programme; give the programme a folder of its own")
	case c.Fresh && is != sortEmpty:
		return "", errors.New("this store is not empty; a fresh programme needs a folder of its own (nothing is ever deleted to make room)")
	}
	if is == sortEmpty {
		want := sortProgramme
		if c.Demo {
			want = sortDemo
		}
		now := time.Now().UTC()
		line := thwart.Audit{ID: api.NewID(now), At: now, Who: "-", What: "begin", About: string(want), Detail: c.Version}
		if err := s.AddAudit(ctx, line); err != nil {
			return "", err
		}
	}
	if c.Demo {
		return "", c.fillDemo(ctx, s)
	}
	has, err := s.HasAccounts(ctx)
	if err != nil || has {
		return "", err
	}
	return api.NewCode(), nil
}

// serve answers requests until ctx ends.
func (c *Config) serve(ctx context.Context, ln net.Listener, a *api.API, code string) error {
	srv := &http.Server{
		Handler: a.Handler(),
		// A full batch of 8 MiB takes 80 s over a line of 100 kB a second.
		ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute, WriteTimeout: 3 * time.Minute, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 32 << 10,
		ErrorLog:       slog.NewLogLogger(c.Log.Handler(), slog.LevelWarn),
	}
	scheme := "http"
	if c.TLSCert != "" {
		scheme = "https"
	}
	url := scheme + "://" + strings.Replace(ln.Addr().String(), "127.0.0.1", "localhost", 1)
	failed := make(chan error, 1)
	go func() {
		if c.TLSCert != "" {
			failed <- srv.ServeTLS(ln, c.TLSCert, c.TLSKey)
		} else {
			failed <- srv.Serve(ln)
		}
	}()
	c.greet(url, code)
	if c.Ready != nil {
		c.Ready(url)
	}
	select {
	case err := <-failed:
		return fmt.Errorf("serving at %s: %w", ln.Addr(), err)
	case <-ctx.Done():
	}
	c.Log.Info("stopping")
	a.Drain()
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), 20*time.Second)
	defer cancel()
	if err := srv.Shutdown(stop); err != nil {
		return errors.Join(fmt.Errorf("some requests were cut off: %w", err), srv.Close())
	}
	return nil
}

// greet tells the person at the terminal what to open. A failing terminal stops no server.
func (c *Config) greet(url, code string) {
	var b strings.Builder
	switch {
	case c.Demo:
		fmt.Fprintf(&b, "DEMO: every record is invented (%s).\nOpen %s\nSign in as:\n", demo.Name, url)
		for _, d := range demoAccounts {
			fmt.Fprintf(&b, "  %-12s %s\n", d.login, d.role)
		}
		fmt.Fprintf(&b, "Password of each: %s\n", demoPassword)
	case code != "":
		fmt.Fprintf(&b, "This programme has no account yet. Whoever has this code can make the first one, the manager's, once:\n\n    %s\n\n"+
			"Open %s\n", code, url)
	default:
		fmt.Fprintf(&b, "Open %s\n", url)
	}
	_, _ = io.WriteString(c.Out, b.String())
}

// readKey reads the key that signs sessions, or makes one that only the owner of the file can read.
func readKey(path string) ([]byte, error) {
	key, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		key = make([]byte, 32)
		rand.Read(key)
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if errors.Is(err, fs.ErrExist) {
			return readKey(path) // another server was first
		}
		if err != nil {
			return nil, fmt.Errorf("the server's key: %w", err)
		}
		_, err = f.Write(key)
		if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
			return nil, fmt.Errorf("the server's key: %w", err)
		}
		return key, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the server's key: %w", err)
	}
	if len(key) < 32 {
		return nil, fmt.Errorf("%s holds %d bytes; accepted: 32 secret bytes (remove the file and a new one is made; sessions end)", path, len(key))
	}
	return key, ownersOnly(path)
}

// ownersOnly refuses a file that others can read.
func ownersOnly(path string) error {
	if info, err := os.Stat(path); err == nil && info.Mode().Perm()&0o077 != 0 && os.PathSeparator == '/' {
		return fmt.Errorf("%s can be read by others (%v); accepted: only its owner (chmod 600)", path, info.Mode().Perm())
	}
	return nil
}
