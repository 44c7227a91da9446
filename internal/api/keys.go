package api

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/receipt"
)

// Receipts are read without the server, so what a reader needs travels as key records: the programme's public key, and for each
// phone its public key with the programme's word for it. The programme's private key never leaves the server.

// vouch sees to it that a phone's key has the programme's word, as a record that every phone pulls. Calling it again adds nothing.
func (a *API) vouch(ctx context.Context, d *thwart.Device) error {
	if a.cfg.SigningKey == nil || len(d.PublicKey) != ed25519.PublicKeySize {
		return nil
	}
	a.vouching.Lock()
	defer a.vouching.Unlock()
	key, err := a.cfg.SigningKey()
	if err != nil {
		return err
	}
	known, err := a.keyRecords(ctx)
	if err != nil {
		return err
	}
	has := func(use, id string) bool {
		return slices.ContainsFunc(known, func(k keyRecord) bool { return k.key.Use == use && k.key.KeyID == id })
	}
	now := a.cfg.Now().UTC().Truncate(time.Second)
	if own := receipt.KeyIDOf(key.Public().(ed25519.PublicKey)); !has(thwart.KeyProgramme, own) {
		if err := a.introduce(ctx, known, key, false); err != nil {
			return err
		}
	}
	if has(thwart.KeyDevice, receipt.KeyIDOf(d.PublicKey)) {
		return nil
	}
	return a.putKey(ctx, receipt.Vouch(thwart.Key{Use: thwart.KeyDevice, Public: d.PublicKey, Device: d.ID, From: now}, key), nil, "")
}

// introduce makes the record of the programme's own key. Where there was a key before, each vouches for the other; where that one
// was lost, nothing of it counts any more.
func (a *API) introduce(ctx context.Context, known []keyRecord, key ed25519.PrivateKey, lost bool) error {
	now := a.cfg.Now().UTC().Truncate(time.Second)
	var before ed25519.PrivateKey
	if a.cfg.PreviousKey != nil {
		var err error
		if before, err = a.cfg.PreviousKey(); err != nil {
			return err
		}
	}
	if before == nil {
		public := key.Public().(ed25519.PublicKey)
		return a.putKey(ctx, thwart.Key{Use: thwart.KeyProgramme, KeyID: receipt.KeyIDOf(public), Public: public, From: now}, nil, "")
	}
	heads := make([]thwart.Key, len(known))
	for i := range known {
		heads[i] = known[i].key
	}
	r := receipt.Rotate(heads, before, key, now, lost)
	for i, k := range r.Corrected {
		if err := a.putKey(ctx, k, &known[i].head, "the programme has a new key"); err != nil {
			return err
		}
	}
	// The new key's own record comes last: as long as it is missing, the next call makes up what was cut short.
	for _, k := range slices.Backward(r.Added) {
		if err := a.putKey(ctx, k, nil, ""); err != nil {
			return err
		}
	}
	return nil
}

func (a *API) routeKeys() {
	route(a, huma.Operation{OperationID: "rotate-receipt-key", Method: http.MethodPost, Path: "/api/receipt-key/rotate", Tags: []string{"Receipts"},
		Summary: "Gives the programme a new key for receipts",
		Description: "The old key and the new one vouch for each other. Receipts that were signed before stay readable until they expire, no phone enrols anew, " +
			"and revocations stay. Phones take the new list when they next have signal. With lost, the old key is not trusted any more: receipts from before " +
			"count for nothing, and phones in service get the new key's word.",
		Errors: []int{http.StatusServiceUnavailable}}, inOffice(thwart.CanManage), a.rotateKey)
}

type rotateIn struct {
	Body struct {
		Confirm string `json:"confirm" doc:"the id of the key in use, as a slip guard; the answer to a wrong one names it"`
		Lost    bool   `json:"lost,omitempty" doc:"somebody else may have the old key"`
	}
}

// RotatedKey is what a change of keys came to.
type RotatedKey struct {
	Before string `json:"before" doc:"id of the key that was in use"`
	KeyID  string `json:"keyId" doc:"id of the key in use now"`
}

func (a *API) rotateKey(ctx context.Context, in *rotateIn) (*struct{ Body RotatedKey }, error) {
	if a.cfg.NextKey == nil || a.cfg.SigningKey == nil {
		return nil, problem(http.StatusServiceUnavailable, "this server keeps no key for receipts")
	}
	if own := a.receiptKey(); in.Body.Confirm != own {
		return nil, field("body.confirm", short(in.Body.Confirm), own+", the id of the key in use")
	}
	out, err := a.Rotate(ctx, in.Body.Lost)
	if err != nil {
		return nil, err
	}
	return &struct{ Body RotatedKey }{out}, a.audit(ctx, who(ctx).account, "rotate_receipt_key", out.KeyID, fmt.Sprintf("before %s, lost %t", out.Before, in.Body.Lost))
}

// Rotate gives the programme a new key for receipts and makes the records that say so.
func (a *API) Rotate(ctx context.Context, lost bool) (RotatedKey, error) {
	a.vouching.Lock()
	defer a.vouching.Unlock()
	before, next, err := a.cfg.NextKey()
	if err != nil {
		return RotatedKey{}, err
	}
	id := func(k ed25519.PrivateKey) string { return receipt.KeyIDOf(k.Public().(ed25519.PublicKey)) }
	known, err := a.keyRecords(ctx)
	if err != nil {
		return RotatedKey{}, err
	}
	return RotatedKey{Before: id(before), KeyID: id(next)}, a.introduce(ctx, known, next, lost)
}

// receiptKey names the programme's key, for a phone to hold on to: only what it vouches for counts.
func (a *API) receiptKey() string {
	if a.cfg.SigningKey == nil {
		return ""
	}
	key, err := a.cfg.SigningKey()
	if err != nil {
		return ""
	}
	return receipt.KeyIDOf(key.Public().(ed25519.PublicKey))
}

// revokeKeys takes back the programme's word for a phone's keys.
func (a *API) revokeKeys(ctx context.Context, device string, at time.Time) error {
	known, err := a.keyRecords(ctx)
	if err != nil {
		return err
	}
	for _, k := range known {
		if k.key.Use != thwart.KeyDevice || k.key.Device != device || k.key.RevokedAt != nil {
			continue
		}
		k.key.RevokedAt = &at
		if err := a.putKey(ctx, k.key, &k.head, "the phone is no longer trusted"); err != nil {
			return err
		}
	}
	return nil
}

type keyRecord struct {
	head thwart.Subject
	key  thwart.Key
}

func (a *API) keyRecords(ctx context.Context) (list []keyRecord, err error) {
	q := thwart.SubjectQuery{Kind: thwart.KindKey, Limit: 1000}
	for {
		page, err := a.cfg.Store.Subjects(ctx, q)
		if err != nil {
			return nil, err
		}
		for _, s := range page.Items {
			r := keyRecord{head: s}
			if err := json.Unmarshal(s.Body, &r.key); err != nil {
				return nil, err
			}
			list = append(list, r)
		}
		if q.After = page.Next; q.After == "" {
			return list, nil
		}
	}
}

// putKey keeps a key record, or the correction of one.
func (a *API) putKey(ctx context.Context, k thwart.Key, corrects *thwart.Subject, why string) error {
	if err := k.Validate(); err != nil {
		return err
	}
	body, err := json.Marshal(k)
	if err != nil {
		return err
	}
	e := a.newEntry(a.cfg.Now().UTC(), thwart.KindKey, body)
	if corrects != nil {
		e.Subject, e.Supersedes, e.Why = corrects.Subject, corrects.ID, why
	}
	return a.put(ctx, e)
}
