package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"thwart/internal/api"
	"thwart/internal/store"
)

// openAPI gives the description of the server's API. The operations are registered on a server that never listens, over an
// empty store that is removed again; nothing of either is in the document, so it is the same at every run.
func openAPI() (doc []byte, err error) {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "thwart-docgen-")
	if err != nil {
		return nil, err
	}
	defer func() {
		if e := os.RemoveAll(dir); err == nil {
			err = e
		}
	}()
	s, err := store.Open(ctx, filepath.Join(dir, "empty.db"), store.Options{})
	if err != nil {
		return nil, fmt.Errorf("an empty store for the description of the API: %w", err)
	}
	defer func() {
		if e := s.Close(); err == nil {
			err = e
		}
	}()
	// The version is fixed: the document would otherwise change with every commit. The key signs nothing here.
	a, err := api.New(ctx, api.Config{Store: s, Accounts: s, Version: "dev", Key: make([]byte, 32)})
	if err != nil {
		return nil, err
	}
	return append(a.OpenAPI(), '\n'), nil
}
