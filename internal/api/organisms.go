package api

import (
	"context"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
	"thwart/refdata"
)

func (a *API) routeOrganisms() {
	route(a, huma.Operation{OperationID: "list-organisms", Method: http.MethodGet, Path: "/api/organisms", Tags: []string{"Library"},
		Summary:     "The organisms that the library knows",
		Description: "Their ids are those that the statuses of waters and findings name."}, signedIn(thwart.CanRead, thwart.CanRecord), a.organisms)
}

// OrganismRow is one organism of the library.
type OrganismRow struct {
	ID         string        `json:"id"`
	Name       string        `json:"name" doc:"common name"`
	Scientific string        `json:"scientific"`
	Group      refdata.Group `json:"group"`
}

func (a *API) organisms(context.Context, *none) (*list[OrganismRow], error) {
	known := refdata.Organisms()
	out := make([]OrganismRow, len(known))
	for i, o := range known {
		out[i] = OrganismRow{o.ID, o.Common, o.Scientific, o.Group}
	}
	return listOf(out), nil
}

// checkStatuses refuses an organism that the library does not know: no craft that comes from a water with such a status
// can be judged.
func checkStatuses(at string, statuses []thwart.DatedStatus) error {
	var errs thwart.FieldErrors
	for i, s := range statuses {
		errs = append(errs, checkOrganism(fmt.Sprintf("%s[%d].organism", at, i), s.Organism)...)
	}
	if len(errs) > 0 {
		return errs
	}
	return nil
}

func checkOrganism(at, id string) thwart.FieldErrors {
	hint, ok := refdata.KnownOrganism(id)
	if ok {
		return nil
	}
	return thwart.FieldErrors{{Field: at, Value: id, Accepted: "the id of an organism of the library, as GET /api/organisms lists them" + hint}}
}
