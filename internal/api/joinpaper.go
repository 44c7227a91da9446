package api

import (
	"context"
	"encoding/json"
	"fmt"

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

// joinPaper gives every wash whose card names a boat's sheet the inspection that was keyed in from that sheet, once both are here. It is
// a correction like another one: the card stays readable as it was keyed. A sheet that was keyed in twice is left to a person.
func (a *API) joinPaper(ctx context.Context) error {
	a.joining.Lock()
	defer a.joining.Unlock()
	book, err := a.cfg.Live.Current(ctx)
	if err != nil {
		return err
	}
	boats := map[string][]string{}
	for i := range book.Encounters {
		if e := &book.Encounters[i]; e.Sheet != "" {
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
