package server

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"thwart"
	"thwart/internal/api"
	"thwart/internal/demo"
	"thwart/internal/store"
)

// demoPassword is no secret: the demo holds nothing that needs one.
const demoPassword = "withy lakes demo"

// demoAccounts is one sign-in for each role.
var demoAccounts = []struct {
	login string
	role  thwart.AccessRole
}{
	{"marit", thwart.AccessManager},
	{"steward", thwart.AccessSteward},
	{"technician", thwart.AccessTechnician},
	{"biologist", thwart.AccessBiologist},
	{"auditor", thwart.AccessAuditor},
}

// demoBatch is how many entries are kept in one transaction.
const demoBatch = 500

// fillDemo puts the invented season into the store and makes the accounts. It makes the same entries each time, so a start
// that was cut off is simply gone on with; once the manager's account is there it is done.
func (c *Config) fillDemo(ctx context.Context, s *store.Store) error {
	if _, err := s.AccountByLogin(ctx, demoAccounts[0].login); !errors.Is(err, thwart.ErrNotFound) {
		return err
	}
	world, entries, err := demo.Generate(demo.Options{Seed: c.DemoSeed, Scale: c.DemoScale})
	if err != nil {
		return err
	}
	start := time.Now()
	n := 0
	var batch []thwart.Kept
	flush := func() error {
		if err := ctx.Err(); err != nil {
			return err
		}
		ans, err := s.Put(ctx, batch)
		if err != nil {
			return err
		}
		for _, x := range ans {
			if x.Result == thwart.Refused {
				return fmt.Errorf("the demo's own entry %s was refused: %w", x.ID, x.Errors)
			}
		}
		n += len(batch)
		batch = batch[:0]
		return nil
	}
	for e := range entries {
		skew := world.Truth.ClockSkewMS[e.Device]
		// As if the phone had signal at once: a minute after the entry, by the server's clock.
		received := e.MadeAt.Add(time.Minute - time.Duration(skew)*time.Millisecond)
		if batch = append(batch, thwart.Kept{Entry: e, ReceivedAt: received, SkewMS: skew}); len(batch) == demoBatch {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	auditor, err := demoAuditor(world)
	if err != nil {
		return err
	}
	batch = append(batch, auditor)
	if err := flush(); err != nil {
		return err
	}
	people := map[thwart.AccessRole]string{
		thwart.AccessManager: world.Manager.ID, thwart.AccessBiologist: world.Biologist.ID, thwart.AccessAuditor: auditor.Subject,
		thwart.AccessSteward: world.Stewards[0].ID, thwart.AccessTechnician: world.Technicians[0].ID,
	}
	hash, err := api.HashPassword(demoPassword)
	if err != nil {
		return err
	}
	// The manager's comes last: it marks the demo as whole.
	now := time.Now().UTC()
	for i := len(demoAccounts) - 1; i >= 0; i-- {
		d := demoAccounts[i]
		acc := thwart.Account{ID: api.NewID(now), Person: people[d.role], Login: d.login, PasswordHash: hash, Role: d.role, CreatedAt: now}
		if err := s.CreateAccount(ctx, acc); err != nil && !errors.Is(err, thwart.ErrConflict) {
			return err
		}
	}
	c.Log.Info("the demo was made", "entries", n, "seconds", time.Since(start).Seconds())
	return nil
}

// demoAuditor is a person for the auditor's sign-in; the season itself has none. Her id is the same at every start.
func demoAuditor(w *demo.World) (thwart.Kept, error) {
	body, err := json.Marshal(thwart.Person{Name: "Auditor (demo)", Roles: []thwart.Role{thwart.RoleAgency}})
	if err != nil {
		return thwart.Kept{}, err
	}
	const id = "019b0000-0000-7000-8000-0000000a0d17"
	e := thwart.Entry{ID: id, Kind: thwart.KindPerson, Subject: id, MadeAt: w.Opened, Origin: thwart.OriginDemo, Person: w.Manager.ID, Body: body}
	return thwart.Kept{Entry: e, ReceivedAt: w.Opened}, nil
}
