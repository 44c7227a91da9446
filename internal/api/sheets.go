package api

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
	"thwart/advice"
	"thwart/internal/paper"
	"thwart/unit"
)

func (a *API) routeSheets() {
	content := map[string]*huma.MediaType{"application/pdf": {}}
	route(a, huma.Operation{OperationID: "print-sheets", Method: http.MethodPost, Path: "/api/sheets", Tags: []string{"Paper"},
		Summary: "Forms to fill in by hand, as PDF: boat sheet, tally sheet, wash card",
		Description: "Takes the next free numbers of the form and notes the block before it prints, so that no number is printed twice; each call prints new " +
			"sheets. A specimen is one sheet without a number and takes none. Whoever may record may have a specimen; numbered sheets are the manager's to print.",
		Errors:    []int{http.StatusNotFound, http.StatusUnprocessableEntity},
		Responses: map[string]*huma.Response{"200": {Description: "the file", Content: content}}}, inOffice(thwart.CanRead, thwart.CanRecord), a.printSheets)
}

type sheetsIn struct {
	Body struct {
		Form     string `json:"form" enum:"B,T,W" doc:"B one boat, T tally, W wash card"`
		Protocol string `json:"protocol" maxLength:"120" doc:"id@version, as /api/protocols lists them"`
		Class    string `json:"class,omitempty" maxLength:"60" doc:"craft class of a boat sheet"`
		Count    int    `json:"count,omitempty" doc:"sheets, 1 to 500; left out: 20"`
		Paper    string `json:"paper,omitempty" enum:"a4,letter"`
		Units    string `json:"units,omitempty" enum:"metric,us"`
		Specimen bool   `json:"specimen,omitempty" doc:"one sheet without a number"`
	}
}

func (a *API) printSheets(ctx context.Context, in *sheetsIn) (*huma.StreamResponse, error) {
	b := &in.Body
	if !b.Specimen && !who(ctx).may(thwart.CanManage) {
		return nil, problem(http.StatusForbidden, "the role "+string(who(ctx).role)+" may print specimens; numbered sheets are the manager's to print")
	}
	p, err := a.protocolByRef(ctx, b.Protocol)
	if err != nil {
		return nil, err
	}
	now := a.cfg.Now().UTC()
	o := paper.Options{
		Form: thwart.SheetForm(b.Form), Class: b.Class, Count: cmp.Or(b.Count, 20), Units: unit.System(cmp.Or(b.Units, string(unit.Metric))),
		Paper: paper.Sizes[cmp.Or(b.Paper, "a4")], Made: now,
	}
	if o.Protocol, err = advice.Expand(*p); err != nil {
		return nil, field("body.protocol", b.Protocol, short(err.Error()))
	}
	if o.Name, err = a.programmeName(ctx); err != nil {
		return nil, err
	}
	if err := o.Check(); err != nil {
		return nil, err
	}
	if !b.Specimen {
		if o.First, err = a.claimSheets(ctx, &o, now); err != nil {
			return nil, err
		}
	}
	var file bytes.Buffer
	if err := paper.Write(&file, o); err != nil {
		return nil, err
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		_, w := humago.Unwrap(hc)
		w.Header().Set("Content-Type", "application/pdf")
		w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", "sheets-"+b.Form+".pdf"))
		w.Write(file.Bytes()) //nolint:errcheck // the caller has gone
	}}, nil
}

// claimSheets takes the numbers and writes the trail.
func (a *API) claimSheets(ctx context.Context, o *paper.Options, now time.Time) (first int, err error) {
	block, err := paper.Claim(ctx, a.cfg.Store, thwart.Sheets{
		Form: o.Form, Count: o.Count, Class: o.Class, Protocol: o.Protocol.ID + "@" + o.Protocol.Version, At: now.Truncate(time.Second),
	}, func(body json.RawMessage) thwart.Kept {
		k := a.newEntry(now, thwart.KindSheets, body)
		k.Person = who(ctx).person
		return k
	})
	if err != nil {
		return 0, err
	}
	a.wrote()
	detail := thwart.SheetNumber(block.Form, block.First) + " to " + thwart.SheetNumber(block.Form, block.Last())
	return block.First, a.audit(ctx, who(ctx).account, "print_sheets", string(block.Form), detail)
}

func (a *API) programmeName(ctx context.Context) (string, error) {
	list, err := itemsOf[thwart.Programme](ctx, a, thwart.KindProgramme)
	if err != nil || len(list) == 0 {
		return "", err
	}
	return list[0].Body.Name, nil
}
