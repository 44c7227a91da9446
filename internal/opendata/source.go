package opendata

import (
	"context"
	"time"

	"thwart"
	"thwart/internal/exchange"
)

// Source hands out every record of a kind as it stands, removed ones left out. [Of] makes one of a store.
type Source interface {
	Each(ctx context.Context, kind thwart.Kind, do func(*thwart.Subject, thwart.Body) error) error
}

type storeSource struct{ store thwart.Store }

// Of reads from a store, a page at a time.
func Of(store thwart.Store) Source { return storeSource{store} }

func (s storeSource) Each(ctx context.Context, kind thwart.Kind, do func(*thwart.Subject, thwart.Body) error) error {
	return exchange.Each(ctx, s.store, kind, do)
}

func each[B thwart.Body](ctx context.Context, src Source, kind thwart.Kind, do func(id string, body B) error) error {
	return src.Each(ctx, kind, func(s *thwart.Subject, body thwart.Body) error { return do(s.Kept.Subject, body.(B)) })
}

// region is what every record refers to; it is held in memory.
type region struct {
	waters    map[string]*thwart.WaterBody
	launches  map[string]*thwart.Ramp
	waterIDs  []string // in the order of the source
	launchIDs []string
	protocols map[string]*thwart.Protocol // by id@version
	zones     map[string]*time.Location
	targets   []string // organisms that some water has a status of, in the order of the library
}

func readRegion(ctx context.Context, src Source) (*region, error) {
	r := &region{waters: map[string]*thwart.WaterBody{}, launches: map[string]*thwart.Ramp{}, protocols: map[string]*thwart.Protocol{}, zones: map[string]*time.Location{}}
	named := map[string]bool{}
	err := each(ctx, src, thwart.KindWater, func(id string, w *thwart.WaterBody) error {
		r.waters[id] = w
		r.waterIDs = append(r.waterIDs, id)
		for _, s := range w.Statuses {
			named[s.Organism] = true
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = each(ctx, src, thwart.KindLaunch, func(id string, l *thwart.Ramp) error {
		r.launches[id] = l
		r.launchIDs = append(r.launchIDs, id)
		if z, err := time.LoadLocation(l.Zone); err == nil && l.Zone != "" {
			r.zones[id] = z
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = each(ctx, src, thwart.KindProtocol, func(_ string, p *thwart.Protocol) error {
		r.protocols[p.ID+"@"+p.Version] = p
		return nil
	})
	r.targets = targetsOf(named)
	return r, err
}

// local puts a time on the wall clock of a launch, or leaves it on the one it was written with.
func (r *region) local(launch string, t time.Time) time.Time {
	if z := r.zones[launch]; z != nil {
		return t.In(z)
	}
	return t
}

// Defaults gives options with what the programme's own record says: its name, the licence and citation its manager chose, and
// a title. What the record does not say is left empty.
func Defaults(ctx context.Context, src Source) (Options, error) {
	var o Options
	err := each(ctx, src, thwart.KindProgramme, func(_ string, p *thwart.Programme) error {
		o.Publisher, o.Licence, o.Citation = p.Name, p.Licence, p.Citation
		return nil
	})
	if o.Publisher != "" {
		o.Title = "Inspections of trailered craft, " + o.Publisher
	}
	return o, err
}
