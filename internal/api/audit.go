package api

import (
	"context"

	"thwart"
)

// audit adds a line to the trail. Where the line cannot be kept the caller must not go on: an act without a trace is not done.
func (a *API) audit(ctx context.Context, whoID, what, about, detail string) error {
	now := a.cfg.Now()
	if whoID == "" {
		whoID = "-"
	}
	return a.cfg.Accounts.AddAudit(ctx, thwart.Audit{ID: NewID(now), At: now.UTC(), Who: whoID, What: what, About: about, Detail: detail})
}

func (a *API) listAudit(ctx context.Context, in *PageIn) (*struct{ Body thwart.Page[thwart.Audit] }, error) {
	page, err := a.cfg.Accounts.ListAudit(ctx, in.After, in.Limit)
	if page.Items == nil {
		page.Items = []thwart.Audit{}
	}
	return &struct{ Body thwart.Page[thwart.Audit] }{page}, err
}
