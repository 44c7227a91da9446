// Package demotest gives tests an invented season as a store would hold it. It is for tests only: what cannot be made panics.
package demotest

import (
	"context"
	"slices"
	"sync"
	"time"

	"thwart"
	"thwart/internal/demo"
	"thwart/season"
)

type made struct {
	once  sync.Once
	world *demo.World
	kept  []thwart.Kept

	bookOnce sync.Once
	book     *season.Book
}

var (
	mu  sync.Mutex
	all = map[demo.Options]*made{}
)

func of(o demo.Options) *made {
	mu.Lock()
	m := all[o]
	if m == nil {
		m = &made{}
		all[o] = m
	}
	mu.Unlock()
	m.once.Do(func() {
		w, entries, err := demo.Generate(o)
		if err != nil {
			panic(err)
		}
		m.world = w
		for e := range entries {
			k := thwart.Kept{Entry: e, Cursor: int64(len(m.kept) + 1), SkewMS: w.Truth.ClockSkewMS[e.Device]}
			k.ReceivedAt = k.At().Add(time.Minute)
			m.kept = append(m.kept, k)
		}
	})
	return m
}

// Season gives an invented world and its entries in the order of their arrival. It is made once for all tests of a package; the
// slice is the caller's own.
func Season(o demo.Options) (*demo.World, []thwart.Kept) {
	m := of(o)
	return m.world, slices.Clone(m.kept)
}

// Book gives an invented world and its season as it is computed with, made once.
func Book(o demo.Options) (*demo.World, *season.Book) {
	m := of(o)
	m.bookOnce.Do(func() { m.book = Read(m.kept) })
	return m.world, m.book
}

// Read makes a Book of entries.
func Read(kept []thwart.Kept) *season.Book {
	b := season.New(season.Options{Zone: time.LoadLocation})
	for _, k := range kept {
		if err := b.Add(k); err != nil {
			panic(err)
		}
	}
	return b.Book()
}

// Fill puts entries into a store.
func Fill(ctx context.Context, s thwart.Store, kept []thwart.Kept) error {
	for batch := range slices.Chunk(kept, 500) {
		if _, err := s.Put(ctx, batch); err != nil {
			return err
		}
	}
	return nil
}
