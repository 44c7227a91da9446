package server

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"

	"thwart"
	"thwart/internal/api"
)

// The forms of the first page work without a script. Each hands its fields, as JSON, to the operation of the API that does
// the thing, so that there is one set of rules, one count of tries and one line in the audit trail, whoever asks.

// maxForm is more than any form here can fill.
const maxForm = 64 << 10

// form is a form as it is shown: empty at first, and with what was typed and what is wrong with it after a refusal.
type form struct {
	Action, Do string
	Refusal    string // heads the problems
	Failed     bool
	Problem    string // one that belongs to no field
	Fields     []formField
}

type formField struct {
	ID, Name, Label, Hint string
	Type, Complete        string // of the input: its type and what a browser may fill in
	Plain                 bool   // typed letter by letter: no capitals, no spelling
	Accepted              string // what can be taken, as a person reads it
	Value, Problem        string
}

// DescribedBy lists the elements that explain the input, the problem first.
func (f formField) DescribedBy() string {
	var ids []string
	if f.Problem != "" {
		ids = append(ids, f.ID+"-problem")
	}
	if f.Hint != "" {
		ids = append(ids, f.ID+"-hint")
	}
	return strings.Join(ids, " ")
}

// HasFieldProblems reports whether some field is to be changed.
func (f *form) HasFieldProblems() bool {
	for i := range f.Fields {
		if f.Fields[i].Problem != "" {
			return true
		}
	}
	return false
}

func setupForm() *form {
	return &form{
		Action: "/setup", Do: "Make the account", Refusal: "The account was not made",
		Fields: []formField{
			{
				ID: "setup-code", Name: "code", Label: "Code", Type: "text", Complete: "off", Plain: true,
				Hint:     "The server printed it to its terminal when it started. Case, spaces and dashes do not matter.",
				Accepted: "the code that the server printed to its terminal",
			},
			{
				ID: "setup-name", Name: "name", Label: "Name", Type: "text", Complete: "name",
				Hint: "What colleagues call the manager.", Accepted: "1 to 200 characters",
			},
			{
				ID: "setup-login", Name: "login", Label: "Login", Type: "text", Complete: "username", Plain: true,
				Hint:     "2 to 40 letters a to z, digits, dots, dashes; begins with a letter or digit.",
				Accepted: "2 to 40 letters a to z, digits, dots, dashes or underscores, beginning with a letter or digit",
			},
			{
				ID: "setup-password", Name: "password", Label: "Password", Type: "password", Complete: "new-password",
				Hint:     fmt.Sprintf("At least %d characters. A few words that do not belong together are good.", api.MinPassword),
				Accepted: fmt.Sprintf("%d to %d characters", api.MinPassword, api.MaxPassword),
			},
		},
	}
}

func signInForm() *form {
	return &form{
		Action: "/sign-in", Do: "Sign in", Refusal: "You are not signed in",
		Fields: []formField{
			{ID: "sign-in-login", Name: "login", Label: "Login", Type: "text", Complete: "username", Plain: true, Accepted: "your login, at most 40 characters"},
			{ID: "sign-in-password", Name: "password", Label: "Password", Type: "password", Complete: "current-password", Accepted: fmt.Sprintf("your password, at most %d characters", api.MaxPassword)},
		},
	}
}

// read takes in what was typed. Passwords are given back to be passed on, and are never part of a page. status is 0 where
// all fields hold something.
func (f *form) read(w http.ResponseWriter, r *http.Request) (typed map[string]string, status int) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	if err := r.ParseForm(); err != nil {
		f.Failed = true
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			f.Problem = fmt.Sprintf("What was sent is too large. Accepted: at most %d bytes.", maxForm)
			return nil, http.StatusRequestEntityTooLarge
		}
		f.Problem = "What was sent could not be read. Send it again."
		return nil, http.StatusBadRequest
	}
	typed = map[string]string{}
	for i := range f.Fields {
		x := &f.Fields[i]
		v := r.PostForm.Get(x.Name)
		if x.Type != "password" {
			v = strings.TrimSpace(v)
			x.Value = v
		}
		if typed[x.Name] = v; v == "" {
			x.refuse("Nothing was given.", "")
			f.Failed, status = true, http.StatusUnprocessableEntity
		}
	}
	return typed, status
}

func (x *formField) refuse(why, accepted string) {
	if x.Problem != "" {
		return // one at a time for a field: the first is the one to mend first
	}
	if accepted == "" {
		accepted = x.Accepted
	}
	x.Problem = why + " Accepted: " + accepted + "."
}

func (f *form) field(name string) *formField {
	for i := range f.Fields {
		if f.Fields[i].Name == name {
			return &f.Fields[i]
		}
	}
	return nil
}

// explain says a refusal of the API beside the fields it is about.
func (f *form) explain(p *api.Problem, retryAfter string) {
	f.Failed = true
	rest := thwart.FieldErrors{}
	for _, e := range p.Errors {
		x := f.field(strings.TrimPrefix(e.Field, "body."))
		switch {
		case x == nil:
			rest = append(rest, e)
		case x.Type == "password" && e.Value == "(the login)":
			x.refuse("This is the login.", e.Accepted)
		case x.Type == "password":
			x.refuse("This is too short or too long.", "")
		default:
			x.refuse("“"+x.Value+"” cannot be taken.", "")
		}
	}
	switch {
	case len(rest) > 0:
		f.Problem = sentence(rest.Error())
	case len(p.Errors) > 0:
	case p.Status == http.StatusTooManyRequests:
		f.Problem = "Too many tries. Wait " + retryAfter + " seconds, then send it again."
	default:
		f.Problem = sentence(p.Detail)
	}
}

// sentence makes a detail of the API one.
func sentence(s string) string {
	if s == "" {
		return "The server did not say why. Look at its log."
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// answer holds what the API says to a form.
type answer struct {
	status int
	header http.Header
	body   bytes.Buffer
}

func (a *answer) Header() http.Header { return a.header }

func (a *answer) WriteHeader(status int) {
	if a.status == 0 {
		a.status = status
	}
}

func (a *answer) Write(b []byte) (int, error) {
	a.WriteHeader(http.StatusOK)
	return a.body.Write(b)
}

// ask carries out an operation of the API for the caller of r: with the same cookie, address and origin, so that the same
// limits and protections hold. Cookies that the API sets are set on w. refusal is nil where it was done.
func (h *home) ask(w http.ResponseWriter, r *http.Request, path string, body any) (refusal *api.Problem, retryAfter string) {
	b, err := json.Marshal(body)
	if err != nil {
		return &api.Problem{Status: http.StatusInternalServerError, Detail: "the server failed; nothing was done"}, ""
	}
	in := r.Clone(r.Context())
	in.Method, in.URL, in.RequestURI = http.MethodPost, &url.URL{Path: path}, path
	in.Body, in.ContentLength, in.TransferEncoding = io.NopCloser(bytes.NewReader(b)), int64(len(b)), nil
	in.Form, in.PostForm, in.MultipartForm = nil, nil, nil
	in.Header.Set("Content-Type", "application/json")
	for _, k := range []string{"Accept", "Accept-Encoding", "Content-Length"} {
		in.Header.Del(k)
	}
	out := &answer{header: http.Header{}}
	h.api.ServeHTTP(out, in)
	for _, c := range out.header.Values("Set-Cookie") {
		w.Header().Add("Set-Cookie", c)
	}
	if out.status < 300 {
		return nil, ""
	}
	refusal = &api.Problem{}
	if err := json.Unmarshal(out.body.Bytes(), refusal); err != nil {
		refusal.Detail = "the server failed; nothing was done"
	}
	refusal.Status = out.status
	if retryAfter = out.header.Get("Retry-After"); retryAfter != "" {
		w.Header().Set("Retry-After", retryAfter)
	}
	return refusal, retryAfter
}

// begin takes the form that makes the first account.
func (h *home) begin(w http.ResponseWriter, r *http.Request) {
	f := setupForm()
	typed, status := f.read(w, r)
	if typed == nil {
		h.page(w, r, status, shown{setup: f})
		return
	}
	login := f.field("login")
	login.Value = strings.ToLower(login.Value) // as the store compares them
	typed["login"] = login.Value
	if n := len(typed["password"]); n > 0 && n < api.MinPassword {
		f.field("password").refuse("This is too short.", "")
	} else if n > api.MaxPassword {
		f.field("password").refuse("This is too long.", "")
	}
	// Asked even where something is known to be wrong, so that every field's problem is said at once: the API refuses all
	// that is refused here.
	p, wait := h.ask(w, r, "/api/setup", typed)
	if p == nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	if p.Status == http.StatusForbidden {
		// The one thing that set-up forbids is a wrong code.
		f.Failed = true
		f.field("code").refuse("This is not the code.", "")
	} else {
		f.explain(p, wait)
	}
	if p.Status == http.StatusConflict {
		in := signInForm()
		in.Failed, in.Problem, in.Refusal = true, f.Problem, f.Refusal
		in.field("login").Value = login.Value
		h.page(w, r, p.Status, shown{signIn: in})
		return
	}
	h.page(w, r, p.Status, shown{setup: f})
}

// enter takes the form that signs in.
func (h *home) enter(w http.ResponseWriter, r *http.Request) {
	f := signInForm()
	typed, status := f.read(w, r)
	if status != 0 {
		h.page(w, r, status, shown{signIn: f})
		return
	}
	p, wait := h.ask(w, r, "/api/sign-in", typed)
	if p == nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	f.explain(p, wait)
	h.page(w, r, p.Status, shown{signIn: f})
}

// leave signs out. Whoever is not signed in has nothing to leave.
func (h *home) leave(w http.ResponseWriter, r *http.Request) {
	p, _ := h.ask(w, r, "/api/sign-out", struct{}{})
	if p == nil || p.Status == http.StatusUnauthorized {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	h.page(w, r, p.Status, shown{alert: "You are still signed in. " + sentence(p.Detail)})
}

// back answers somebody who opens a form's address by hand.
func back(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/", http.StatusSeeOther) }
