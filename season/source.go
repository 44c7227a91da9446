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

// CatchUp takes every entry that arrived since the last one taken. Entries that cannot be read become faults of the Book and
// stop nothing.
func (b *Builder) CatchUp(ctx context.Context, src Source) error {
	after := b.cursor
	for {
		entries, next, err := src.Changes(ctx, Kinds(), after, readAtOnce)
		if err != nil {
			return err
		}
		for _, k := range entries {
			_ = b.Add(k) // noted among the faults
		}
		after = next
		b.cursor = max(b.cursor, next)
		if len(entries) < readAtOnce {
			return nil
		}
	}
}

// Read makes the Book of everything a source holds.
func Read(ctx context.Context, src Source, opt Options) (*Book, error) {
	b := New(opt)
	if err := b.CatchUp(ctx, src); err != nil {
		return nil, err
	}
	return b.Book(), nil
}
