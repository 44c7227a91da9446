package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"thwart"
)

// Problem says why a request was not carried out (RFC 9457). Errors names every field that cannot be taken.
type Problem struct {
	Type   string             `json:"type" doc:"always about:blank: the title says it"`
	Title  string             `json:"title" doc:"the words of the HTTP status"`
	Status int                `json:"status"`
	Detail string             `json:"detail,omitempty" doc:"what happened and what to do, for a person"`
	Errors thwart.FieldErrors `json:"errors,omitempty" doc:"fields that cannot be taken: where, what was given, what is accepted"`

	header http.Header
}

func problem(status int, detail string) *Problem {
	return &Problem{Type: "about:blank", Title: http.StatusText(status), Status: status, Detail: detail}
}

// Error gives the detail.
func (p *Problem) Error() string { return p.Detail }

// GetStatus is for the HTTP library.
func (p *Problem) GetStatus() int { return p.Status }

// GetHeaders is for the HTTP library.
func (p *Problem) GetHeaders() http.Header { return p.header }

// ContentType gives the media type of problem details.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

func (p *Problem) with(name, value string) *Problem {
	if p.header == nil {
		p.header = http.Header{}
	}
	p.header.Set(name, value)
	return p
}

func (p *Problem) retryAfter(seconds int) *Problem {
	return p.with("Retry-After", strconv.Itoa(max(seconds, 1)))
}

// field is a problem with one field.
func field(name string, value any, accepted string) *Problem {
	p := problem(http.StatusUnprocessableEntity, "a field cannot be taken")
	p.Errors = thwart.FieldErrors{{Field: name, Value: short(fmt.Sprint(value)), Accepted: accepted}}
	return p
}

func short(s string) string {
	if len(s) > 80 {
		return s[:80] + "…"
	}
	return s
}

func writeProblem(w http.ResponseWriter, p *Problem) {
	for k, vs := range p.header {
		w.Header()[k] = vs
	}
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.Status)
	// The client may be gone; there is nobody left to tell.
	_ = json.NewEncoder(w).Encode(p)
}

// The HTTP library is set up through variables, and offers no other way. They are set before any API exists.
func init() {
	huma.DefaultArrayNullable = false // a list without anything is [], see TestListsAreNeverNull
	huma.NewError = func(status int, msg string, errs ...error) huma.StatusError {
		p := problem(status, msg)
		if status == http.StatusUnprocessableEntity {
			p.Detail = "some fields cannot be taken"
		}
		if status >= 500 {
			// What went wrong inside is for the log.
			p.Detail = "the server failed; nothing of the request is to be taken as done"
			return p
		}
		for _, err := range errs {
			if d, ok := err.(huma.ErrorDetailer); ok {
				e := d.ErrorDetail()
				fe := thwart.FieldError{Field: e.Location, Accepted: acceptedOf(e.Message)}
				if e.Value != nil {
					fe.Value = shortValue(e.Location, e.Value)
				}
				p.Errors = append(p.Errors, fe)
			} else if err != nil {
				p.Errors = append(p.Errors, thwart.FieldError{Field: "body", Accepted: err.Error()})
			}
		}
		return p
	}
}

// acceptedOf turns what the HTTP library says of a field into what would be accepted.
func acceptedOf(message string) string {
	switch {
	case strings.HasPrefix(message, "invalid date/time"):
		return "a time such as 2026-07-04T18:00:00Z"
	case message == "invalid integer":
		return "a whole number"
	case message == "invalid float":
		return "a number"
	case message == "invalid boolean":
		return "true or false"
	}
	return strings.TrimPrefix(message, "expected ")
}

// shortValue writes a value of a request as text. A password or a code is never said back.
func shortValue(location string, v any) string {
	if l := strings.ToLower(location); strings.HasSuffix(l, "password") || strings.HasSuffix(l, "code") || strings.HasSuffix(l, "registration") {
		return "(not shown)"
	}
	if text, ok := v.(string); ok && location == "body" {
		return fmt.Sprintf("%d bytes", len(text)) // a broken body may hold anything
	}
	if m, ok := v.(map[string]any); ok {
		return fmt.Sprintf("an object with %d fields", len(m))
	}
	return short(fmt.Sprint(v))
}

// fail turns an error of the store or the rules into a problem, and logs what is not the caller's to know.
func (a *API) fail(ctx context.Context, err error) error {
	var p *Problem
	var fields thwart.FieldErrors
	switch {
	case err == nil:
		return nil
	case errors.As(err, &p):
		return p
	case errors.As(err, &fields):
		p := problem(http.StatusUnprocessableEntity, "some fields cannot be taken")
		p.Errors = fields
		return p
	case errors.Is(err, thwart.ErrNotFound):
		return problem(http.StatusNotFound, "there is no such thing here")
	case errors.Is(err, thwart.ErrConflict):
		return problem(http.StatusConflict, thwart.ErrConflict.Error()+"; read it again and decide anew")
	case ctx.Err() != nil:
		return problem(http.StatusServiceUnavailable, "the request was given up").retryAfter(1)
	}
	a.cfg.Log.ErrorContext(ctx, "the storage failed", "error", err, "request", requestID(ctx))
	return problem(http.StatusServiceUnavailable, "the storage failed: nothing of the request is to be taken as kept; send it again").retryAfter(5)
}
