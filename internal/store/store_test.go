package store_test

import (
	"context"
	"path/filepath"
	"testing"

	"thwart/internal/store"
	"thwart/internal/store/storetest"
)

var ctx = context.Background()

func open(t testing.TB, dsn string) *store.Store {
	t.Helper()
	s, err := store.Open(ctx, dsn, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestSQLite(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t *testing.T) storetest.Keeper { return open(t, filepath.Join(t.TempDir(), "with space?#%.db")) })
}

func TestPostgres(t *testing.T) {
	t.Parallel()
	server := storetest.Postgres(t)
	storetest.Run(t, func(t *testing.T) storetest.Keeper { return open(t, server.DSN(t)) })
}
