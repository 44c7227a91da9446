package paper

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"thwart"
)

// Records are a programme's records, as far as taking numbers needs them; a [thwart.Store] is one.
type Records interface {
	Put(ctx context.Context, batch []thwart.Kept) ([]thwart.PutAnswer, error)
	Changes(ctx context.Context, kinds []thwart.Kind, after int64, limit int) (entries []thwart.Kept, next int64, err error)
}

// maker makes the envelope of an entry of the office.
type maker func(body json.RawMessage) thwart.Kept

// tries is how often a block is taken again because somebody else took the same numbers at the same moment.
const tries = 50

// Claim takes the next free numbers of want.Form for want.Count sheets and notes the block in the records before anything is
// printed. Two who print at the same moment, even at two servers, get different numbers: the block that arrived first stands, and
// the other is corrected to the next free one. Numbers of a block that was given up stay unused.
func Claim(ctx context.Context, records Records, want thwart.Sheets, envelope maker) (thwart.Sheets, error) {
	want.First = 1
	if err := want.Validate(); err != nil {
		return want, err
	}
	blocks, err := printed(ctx, records)
	if err != nil {
		return want, err
	}
	var last thwart.Kept
	for range tries {
		if want.First = 1 + highest(blocks, want.Form); want.Last() > thwart.MaxSheet {
			return want, thwart.FieldErrors{{Field: "count", Value: fmt.Sprint(want.Count), Accepted: fmt.Sprintf("at most the %d numbers that are left of this form", thwart.MaxSheet-want.First+1)}}
		}
		body, err := json.Marshal(want)
		if err != nil {
			return want, err
		}
		mine := envelope(body)
		if last.ID != "" {
			mine.Entry.Subject, mine.Supersedes, mine.Why = last.Subject, last.ID, "the numbers were taken at the same moment"
		}
		if err := keep(ctx, records, mine); err != nil {
			return want, err
		}
		if blocks, err = until(ctx, records, mine.ID); err != nil {
			return want, err
		}
		if !taken(blocks, mine.ID, want) {
			return want, nil
		}
		last = mine
	}
	return want, fmt.Errorf("no free numbers after %d tries; print again in a moment", tries)
}

func keep(ctx context.Context, records Records, k thwart.Kept) error {
	answers, err := records.Put(ctx, []thwart.Kept{k})
	if err != nil {
		return err
	}
	if len(answers) != 1 || answers[0].Result == thwart.Refused {
		return fmt.Errorf("%w: the block of numbers was not taken", thwart.ErrStorage)
	}
	return nil
}

// block is a block that was noted at some time, whether it was corrected since or not.
type block struct {
	entry  string
	sheets thwart.Sheets
}

// printed lists every block ever noted, in the order of arrival.
func printed(ctx context.Context, records Records) ([]block, error) {
	var out []block
	for after := int64(0); ; {
		entries, next, err := records.Changes(ctx, []thwart.Kind{thwart.KindSheets}, after, 1000)
		if err != nil {
			return nil, err
		}
		for _, k := range entries {
			if k.Removed && len(k.Body) == 0 {
				continue
			}
			b := block{entry: k.ID}
			if err := json.Unmarshal(k.Body, &b.sheets); err != nil {
				return nil, fmt.Errorf("block %s: %w", k.ID, err)
			}
			out = append(out, b)
		}
		if len(entries) == 0 || next == after {
			return out, nil
		}
		after = next
	}
}

// until lists the blocks once an entry is among them: an entry is not given before all that arrived earlier are.
func until(ctx context.Context, records Records, entry string) ([]block, error) {
	for {
		blocks, err := printed(ctx, records)
		if err != nil {
			return nil, err
		}
		for _, b := range blocks {
			if b.entry == entry {
				return blocks, nil
			}
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func highest(blocks []block, form thwart.SheetForm) int {
	n := 0
	for _, b := range blocks {
		if b.sheets.Form == form {
			n = max(n, b.sheets.Last())
		}
	}
	return n
}

// taken reports whether a block that arrived before an entry has numbers of its block.
func taken(blocks []block, entry string, want thwart.Sheets) bool {
	for _, b := range blocks {
		if b.entry == entry {
			return false
		}
		if b.sheets.Form == want.Form && b.sheets.First <= want.Last() && want.First <= b.sheets.Last() {
			return true
		}
	}
	return false
}
