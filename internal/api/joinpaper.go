package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"thwart"
	"thwart/season"
)

// namesPaper reports whether a body may bring a wash card and a boat's sheet together.
func namesPaper(body thwart.Body) bool {
	switch b := body.(type) {
	case *thwart.WashDone:
		return b.Encounter == "" && b.BoatSheet != ""
	case *thwart.Encounter:
		return b.Sheet != ""
	}
	return false
}

// paperAfter joins what entries of the office may have brought together: by what they say, by taking out one of two boats of one sheet,
// or by a person's word that two records are of one craft.
func (a *API) paperAfter(ctx context.Context, entries ...thwart.Kept) error {
	for i := range entries {
		if may, err := a.bringsPaper(ctx, &entries[i]); err != nil {
			return err
		} else if may {
			return a.joinPaper(ctx)
		}
	}
	return nil
}

func (a *API) bringsPaper(ctx context.Context, k *thwart.Kept) (bool, error) {
	if k.Removed {
		history, err := a.cfg.Store.History(ctx, k.Entry.Subject)
		return slices.ContainsFunc(history, func(was thwart.Kept) bool {
			body, err := was.Decode()
			return err == nil && body != nil && namesPaper(body)
		}), err
	}
	body, err := k.Decode()
	if err != nil || body == nil {
		return false, nil // made by a newer program
	}
	pair, ok := body.(*thwart.Pairing)
	if !ok {
		return namesPaper(body), nil
	}
	for _, id := range []string{pair.A, pair.B} {
		s, err := a.cfg.Store.Subject(ctx, id)
		if errors.Is(err, thwart.ErrNotFound) {
			continue
		}
		if err != nil {
			return false, err
		}
		if body, err := s.Decode(); err == nil && body != nil && namesPaper(body) {
			return true, nil
		}
	}
	return false, nil
}

// joinPaper gives every wash whose card names a boat's sheet the inspection that was keyed in from that sheet, once both are here. It is
// a correction like another one: the card stays readable as it was keyed. A sheet that was keyed in twice is left to a person; of two that a
// person has said are one craft, the first counts.
func (a *API) joinPaper(ctx context.Context) error {
	a.joining.Lock()
	defer a.joining.Unlock()
	book, err := a.cfg.Live.Current(ctx)
	if err != nil {
		return err
	}
	boats := map[string][]string{}
	for i := range book.Encounters {
		if e := &book.Encounters[i]; e.Sheet != "" && e.Twin == season.None {
			boats[e.Sheet] = append(boats[e.Sheet], e.Subject)
		}
	}
	for i := range book.Washes {
		x := &book.Washes[i]
		if found := boats[x.BoatSheet]; x.Encounter == season.None && x.BoatSheet != "" && len(found) == 1 {
			if err := a.joinWash(ctx, x.Subject, x.BoatSheet, found[0]); err != nil {
				return err
			}
		}
	}
	return nil
}

func (a *API) joinWash(ctx context.Context, wash, sheet, encounter string) error {
	s, err := a.cfg.Store.Subject(ctx, wash)
	if err != nil {
		return err
	}
	var fields map[string]json.RawMessage // what this program does not know stays
	if err := json.Unmarshal(s.Body, &fields); err != nil {
		return fmt.Errorf("wash %s: %w", wash, err)
	}
	fields["encounter"], _ = json.Marshal(encounter)
	body, err := json.Marshal(fields)
	if err != nil {
		return err
	}
	k := a.newEntry(a.cfg.Now().UTC(), thwart.KindWash, body)
	k.Entry.Subject, k.Supersedes, k.Person = wash, s.ID, s.Person
	k.Why = "the boat's sheet " + sheet + " is keyed in"
	if err := checkOwn(k); err != nil {
		return err
	}
	if err := a.put(ctx, k); err != nil {
		return err
	}
	return a.audit(ctx, "", "join_sheets", wash, sheet)
}
