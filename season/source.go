package season

import (
	"context"

	"thwart"
)

// Source hands out entries in the order of their arrival; [thwart.Store] is one.
type Source interface {
	Changes(ctx context.Context, kinds []thwart.Kind, after int64, limit int) (entries []thwart.Kept, next int64, err error)
}

// readAtOnce is how many entries are asked of a source at a time.
const readAtOnce = 1000

// batch is an answer of a source, and what of it was read ahead.
type batch struct {
	entries []thwart.Kept
	opened  []any
	next    int64
	err     error
}

// ask puts the next question to a source, to be answered while the entries before are taken.
func ask(ctx context.Context, src Source, after int64) <-chan batch {
	answer := make(chan batch, 1)
	go func() {
		var b batch
		b.entries, b.next, b.err = src.Changes(ctx, Kinds(), after, readAtOnce)
		b.opened = open(b.entries)
		answer <- b
	}()
	return answer
}

// CatchUp takes every entry that arrived since the last one taken. Entries that cannot be read become faults of the Book and
// stop nothing.
func (b *Builder) CatchUp(ctx context.Context, src Source) error {
	for coming := ask(ctx, src, b.cursor); coming != nil; {
		got := <-coming
		if got.err != nil {
			return got.err
		}
		coming = nil
		if len(got.entries) == readAtOnce {
			coming = ask(ctx, src, got.next)
		}
		for i := range got.entries {
			_ = b.add(&got.entries[i], got.opened[i]) // noted among the faults
		}
		b.cursor = max(b.cursor, got.next)
	}
	return nil
}

// Read makes the Book of everything a source holds.
func Read(ctx context.Context, src Source, opt Options) (*Book, error) {
	b := New(opt)
	if err := b.CatchUp(ctx, src); err != nil {
		return nil, err
	}
	return b.Book(), nil
}
