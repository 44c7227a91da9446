package api

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"thwart"
	"thwart/advice"
)

// VerdictCheck compares the verdict that a phone computed with the server's own computation from the record. It never changes
// the record.
type VerdictCheck struct {
	Sent     thwart.Outcome `json:"sent"`
	Computed thwart.Outcome `json:"computed,omitempty"`
	Resolved bool           `json:"resolved" doc:"false: the protocol or the answers could not be judged again here"`
	Agrees   bool           `json:"agrees"`
	Note     string         `json:"note"`
}

func (c VerdictCheck) result() string {
	switch {
	case !c.Resolved:
		return "unresolved"
	case c.Agrees:
		return "agrees"
	}
	return "differs"
}

// resolver turns the ids of an encounter into what the judgement needs, and remembers them for the rest of a request.
type resolver struct {
	ctx       context.Context
	store     thwart.Store
	waters    map[string]*thwart.WaterBody
	protocols map[string]*thwart.Protocol // the programme's own, by id@version
	kits      []thwart.Kit
	kitsRead  bool
	instead   *thwart.Protocol // judged under in place of each encounter's own; nil: its own
}

// units gives the programme's wash units. A craft that is to be washed where there is hot water has to be dried where there
// is none, and the record does not say which unit the phone had at hand.
func (r *resolver) units() ([]thwart.Kit, error) {
	if r.kitsRead {
		return r.kits, nil
	}
	page, err := r.store.Subjects(r.ctx, thwart.SubjectQuery{Kind: thwart.KindUnit, Limit: MaxPage})
	if err != nil {
		return nil, err
	}
	for _, s := range page.Items {
		if b, err := s.Decode(); err == nil {
			r.kits = append(r.kits, *b.(*thwart.Kit))
		}
	}
	r.kitsRead = true
	return r.kits, nil
}

func (r *resolver) water(id string) (*thwart.WaterBody, error) {
	if w, ok := r.waters[id]; ok {
		return w, nil
	}
	if r.waters == nil {
		r.waters = map[string]*thwart.WaterBody{}
	}
	s, err := subjectOf(r.ctx, r.store, id, thwart.KindWater)
	if err != nil {
		return nil, err
	}
	var w *thwart.WaterBody
	if s != nil {
		b, err := s.Decode()
		if err == nil {
			w = b.(*thwart.WaterBody)
		}
	}
	r.waters[id] = w
	return w, nil
}

// subjectOf gives a subject of a kind, nil where there is none.
func subjectOf(ctx context.Context, store thwart.Store, id string, kind thwart.Kind) (*thwart.Subject, error) {
	if !thwart.IsID(id) {
		return nil, nil
	}
	s, err := store.Subject(ctx, id)
	if errors.Is(err, thwart.ErrNotFound) || err == nil && (s.Kind != kind || s.Removed) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &s, nil
}

// library holds the published protocols by id@version. Filling in their tables takes long; they never change while the
// program runs.
var library = sync.OnceValue(func() map[string]*thwart.Protocol {
	m := map[string]*thwart.Protocol{}
	for _, p := range advice.Protocols() {
		m[p.ID+"@"+p.Version] = &p
	}
	return m
})

// protocol finds the edition a verdict was made under: one of the library, or any that the programme has ever kept.
func (r *resolver) protocol(ref string) (*thwart.Protocol, error) {
	if p := library()[ref]; p != nil {
		return p, nil
	}
	if r.protocols == nil {
		r.protocols = map[string]*thwart.Protocol{}
		for after := int64(0); ; {
			entries, next, err := r.store.Changes(r.ctx, []thwart.Kind{thwart.KindProtocol}, after, MaxPage)
			if err != nil {
				return nil, err
			}
			for _, e := range entries {
				b, err := e.Decode()
				if err != nil || e.Removed {
					continue
				}
				p, err := advice.Expand(*b.(*thwart.Protocol))
				if err != nil {
					continue // an edition that names a table this program does not have: its verdicts stay unresolved
				}
				r.protocols[p.ID+"@"+p.Version] = &p
			}
			if len(entries) == 0 || next <= after {
				break
			}
			after = next
		}
	}
	return r.protocols[ref], nil
}

// caseOf makes the case of an encounter as the programme's records have it. missing names the waters that are not known here
// and are taken as unknown, which is how the judgement takes them at their worst. A nil case says that the protocol is not
// known here.
func (r *resolver) caseOf(enc *thwart.Encounter) (cs *thwart.Case, missing []string, err error) {
	p := r.instead
	if p == nil {
		if p, err = r.protocol(enc.Protocol); err != nil || p == nil {
			return nil, nil, err
		}
	}
	cs = &thwart.Case{Inspection: enc.Inspection, Protocol: p}
	if library()[p.ID+"@"+p.Version] == p {
		cs.Protocol, cs.ProtocolID = nil, p.ID // the library's own is kept ready and need not be checked again
	}
	add := func(id string, at time.Time) (bool, error) {
		for i := range cs.Waters {
			if cs.Waters[i].ID == id {
				return true, nil
			}
		}
		w, err := r.water(id)
		if err != nil || w == nil {
			return false, err
		}
		cs.Waters = append(cs.Waters, w.At(id, at))
		return true, nil
	}
	visits := make([]thwart.Visit, len(enc.Inspection.LastWaters))
	for i, v := range enc.Inspection.LastWaters {
		if v.Water != "" {
			at := enc.Inspection.StartedAt
			if v.OutAt != nil {
				at = *v.OutAt
			}
			ok, err := add(v.Water, at)
			if err != nil {
				return nil, nil, err
			}
			if !ok {
				missing, v.Water = append(missing, short(v.Water)), ""
			}
		}
		visits[i] = v
	}
	cs.Inspection.LastWaters = visits
	for _, id := range []string{enc.Inspection.Water, enc.Inspection.NextWater} {
		if id != "" {
			if _, err := add(id, enc.Inspection.StartedAt); err != nil {
				return nil, nil, err
			}
		}
	}
	return cs, missing, nil
}

// check judges an encounter again: without a wash unit, and where that differs with each unit of the programme. The record
// holds no weather, so a difference is something to look at, not a fault.
func (r *resolver) check(enc *thwart.Encounter) (VerdictCheck, error) {
	c := VerdictCheck{Sent: enc.Verdict.Outcome}
	cs, missing, err := r.caseOf(enc)
	if err != nil {
		return c, err
	}
	if cs == nil {
		c.Note = "the protocol " + short(enc.Protocol) + " is not known here"
		return c, nil
	}
	v, err := advice.Judge(*cs)
	if err != nil {
		c.Note = "cannot be judged again here: " + short(err.Error())
		return c, nil
	}
	c.Computed, c.Resolved, c.Agrees = v.Outcome, true, v.Outcome == c.Sent
	with := ""
	if !c.Agrees {
		kits, err := r.units()
		if err != nil {
			return c, err
		}
		for i := range kits {
			cs.Unit = &kits[i].Unit
			if v, err := advice.Judge(*cs); err == nil && v.Outcome == c.Sent {
				c.Computed, c.Agrees, with = v.Outcome, true, ", given the wash unit "+short(kits[i].Name)
				break
			}
		}
	}
	switch {
	case len(missing) > 0:
		c.Note = "taken as unknown: " + strings.Join(missing, ", ")
	case c.Agrees:
		c.Note = "the server comes to the same outcome" + with
	default:
		c.Note = fmt.Sprintf("the server comes to “%s” from the record, without the weather that the phone may have known", strings.ReplaceAll(string(v.Outcome), "_", " "))
	}
	if len(missing) > 0 && !c.Agrees {
		c.Resolved = false
	}
	return c, nil
}
