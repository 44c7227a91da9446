package api

import (
	"cmp"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"thwart"
	"thwart/internal/opendata"
)

// openDataPath is read from a file as it is sent and never held in memory.
const openDataPath = "/api/open-data"

func (a *API) routeOpenData() {
	route(a, huma.Operation{OperationID: "publish-open-data", Method: http.MethodGet, Path: openDataPath, Tags: []string{"Season"},
		Summary: "A copy of the season for others to use, as one zip",
		Description: "The zip is read again from the outside before it is given: sums, types, keys, references, and for an archive the rules of the Darwin " +
			"Core text guide. Name, licence and citation come from the programme's record where they are not given. A public copy hides single craft; " +
			"its ids stay the same as long as the server's key does.",
		Responses: map[string]*huma.Response{"200": {Description: "the zip", Content: map[string]*huma.MediaType{"application/zip": {}}}},
		Errors:    []int{http.StatusUnprocessableEntity}},
		inOffice(thwart.CanExport), a.openData)
}

type openDataIn struct {
	Form       string    `query:"form" required:"true" enum:"darwin-core,csv,spreadsheet,parquet,geojson" doc:"what it is written as"`
	For        string    `query:"for" default:"public" enum:"public,agency" doc:"public hides single craft; agency is exact, for the manager to hand out"`
	Vocabulary string    `query:"vocabulary" default:"2026-05-26" enum:"2026-05-26,2023-06-28" doc:"edition of Darwin Core's words for found and not found"`
	Title      string    `query:"title" maxLength:"200"`
	Contact    string    `query:"contact" maxLength:"200" doc:"address that users of the data can write to"`
	Licence    string    `query:"licence" maxLength:"40" doc:"SPDX id of the licence"`
	Citation   string    `query:"citation" maxLength:"500"`
	From       time.Time `query:"from"`
	To         time.Time `query:"to"`
}

// openData writes the copy beside, checks it, and only then begins to answer.
func (a *API) openData(ctx context.Context, in *openDataIn) (*huma.StreamResponse, error) {
	if in.For == string(opendata.Agency) && !who(ctx).may(thwart.CanManage) {
		return nil, problem(http.StatusForbidden, "the exact copy is the manager's to hand out")
	}
	src := opendata.Of(a.cfg.Store)
	o, err := opendata.Defaults(ctx, src)
	if err != nil {
		return nil, err
	}
	o.Form, o.Copy, o.Vocabulary = opendata.Form(in.Form), opendata.Copy(in.For), opendata.Vocabulary(in.Vocabulary)
	o.Publisher = cmp.Or(o.Publisher, "A programme that inspects trailered craft")
	o.Title = cmp.Or(in.Title, o.Title, "Inspections of trailered craft")
	o.Contact, o.Licence, o.Citation = in.Contact, cmp.Or(in.Licence, o.Licence), cmp.Or(in.Citation, o.Citation)
	o.From, o.To, o.MadeAt, o.App, o.Demo = in.From, in.To, a.cfg.Now().UTC(), a.cfg.Version, a.cfg.Demo
	h := hmac.New(sha256.New, a.cfg.Key)
	h.Write([]byte("ids of open data"))
	o.Key = h.Sum(nil)

	f, err := os.CreateTemp("", "thwart-open-data-*.zip")
	if err != nil {
		return nil, err
	}
	drop := func() {
		f.Close()           //nolint:errcheck // it is thrown away
		os.Remove(f.Name()) //nolint:errcheck // the system clears its temporary files
	}
	r, err := opendata.Publish(ctx, src, o, f)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err == nil {
		err = a.audit(ctx, who(ctx).account, "publish_open_data", in.Form, fmt.Sprintf("%s copy, %d inspections", in.For, r.Counts.Inspections))
	}
	if err != nil {
		drop()
		return nil, err
	}
	return &huma.StreamResponse{Body: func(hc huma.Context) {
		defer drop()
		req, w := humago.Unwrap(hc)
		w.Header().Set("Content-Type", "application/zip")
		w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", in.Form+"-"+in.For+".zip"))
		http.ServeContent(w, req, "", o.MadeAt, f)
	}}, nil
}
