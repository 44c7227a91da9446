package api

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
)

//go:embed paper.css
var paperCSS []byte

//go:embed page.html
var pageHTML string

type docOp struct {
	ID, Method, Path, Summary string
	Text                      []string
	Params                    []docField
	Meaning                   bool // some parameter needs more words than its name
	Request, Answer           docKind
	Status                    []string
	tag                       string
}

// docKind says a schema in a few letters. Record is the name of the record that it ends with, where that has a page of its own.
type docKind struct{ Words, Record string }

type docField struct {
	Name, In, Doc string
	Kind          docKind
	Required      bool
}

type docRecord struct {
	Name    string
	Fields  []docField
	Meaning bool // some field needs more words than its name
}

type docGroup struct {
	Name string
	Ops  []docOp
}

// docs writes the API down for people, from the same description that machines get. The operations are one page. Each record is a
// page of its own: there are hundreds, of more than six thousand cells, and nobody who wants one should wait for all.
type docs struct {
	pages   *template.Template
	records map[string]*huma.Schema // those that have fields
	head    map[string]any          // what every page shows
}

func (a *API) docs() (*docs, error) {
	pages, err := template.New("pages").Parse(pageHTML)
	if err != nil {
		return nil, err
	}
	all := maps.Clone(a.huma.OpenAPI().Components.Schemas.Map())
	maps.Copy(all, a.described.records)
	maps.DeleteFunc(all, func(_ string, s *huma.Schema) bool { return len(s.Properties) == 0 })
	return &docs{pages: pages, records: all, head: map[string]any{"Version": a.cfg.Version, "Demo": a.cfg.Demo}}, nil
}

func (d *docs) page(name string, more map[string]any) ([]byte, error) {
	maps.Copy(more, d.head)
	var b bytes.Buffer
	err := d.pages.ExecuteTemplate(&b, name, more)
	return b.Bytes(), err
}

func (d *docs) operations(oapi *huma.OpenAPI) ([]byte, error) {
	var ops []docOp
	for path, item := range oapi.Paths {
		for method, op := range map[string]*huma.Operation{"GET": item.Get, "POST": item.Post} {
			if op == nil {
				continue
			}
			o := docOp{ID: op.OperationID, Method: method, Path: path, Summary: op.Summary, Text: strings.Split(op.Description, "\n\n"), tag: op.Tags[0]}
			for _, p := range op.Parameters {
				o.Params = append(o.Params, docField{Name: p.Name, In: p.In, Kind: d.kind(p.Schema), Doc: p.Description, Required: p.Required})
				o.Meaning = o.Meaning || p.Description != ""
			}
			if op.RequestBody != nil {
				for _, m := range op.RequestBody.Content {
					o.Request = d.kind(m.Schema)
				}
			}
			for status, r := range op.Responses {
				o.Status = append(o.Status, status)
				if strings.HasPrefix(status, "2") {
					for _, m := range r.Content {
						o.Answer = d.kind(m.Schema)
					}
				}
			}
			slices.Sort(o.Status)
			ops = append(ops, o)
		}
	}
	slices.SortFunc(ops, func(x, y docOp) int {
		return cmp.Or(strings.Compare(x.tag, y.tag), strings.Compare(x.Path, y.Path), strings.Compare(x.Method, y.Method))
	})
	var groups []docGroup
	for _, o := range ops {
		if len(groups) == 0 || groups[len(groups)-1].Name != o.tag {
			groups = append(groups, docGroup{Name: o.tag})
		}
		g := &groups[len(groups)-1]
		g.Ops = append(g.Ops, o)
	}
	return d.page("operations", map[string]any{
		"Intro": oapi.Info.Description, "Groups": groups, "Records": slices.Sorted(maps.Keys(d.records)),
		"Headers": []string{HeaderDevice, HeaderNow, HeaderSignature}, "Prefix": signedPrefix,
	})
}

// record writes the page of a record down. What has no page is an error of status 404.
func (d *docs) record(name string) ([]byte, error) {
	s, ok := d.records[name]
	if !ok {
		return nil, problem(http.StatusNotFound, fmt.Sprintf("name: there is no record %q; accepted: a name listed at /api", name))
	}
	r := docRecord{Name: name}
	for f, p := range s.Properties {
		r.Fields = append(r.Fields, docField{Name: f, Kind: d.kind(p), Doc: p.Description, Required: slices.Contains(s.Required, f)})
		r.Meaning = r.Meaning || p.Description != ""
	}
	slices.SortFunc(r.Fields, func(x, y docField) int { return strings.Compare(x.Name, y.Name) })
	return d.page("record", map[string]any{"Record": r})
}

func (d *docs) kind(s *huma.Schema) docKind {
	switch {
	case s == nil:
		return docKind{}
	case s.Ref != "":
		name := s.Ref[strings.LastIndexByte(s.Ref, '/')+1:]
		if _, ok := d.records[name]; !ok {
			return docKind{Words: name}
		}
		return docKind{Record: name}
	case s.Type == "array":
		of := d.kind(s.Items)
		of.Words = "list of " + of.Words
		return of
	case s.Type == "string" && s.Format != "":
		return docKind{Words: "text (" + s.Format + ")"}
	case s.Type == "string":
		return docKind{Words: "text"}
	case s.Type == "boolean":
		return docKind{Words: "true or false"}
	case s.Type == "integer":
		return docKind{Words: "whole number"}
	case s.Type == "":
		return docKind{Words: "any JSON"}
	}
	return docKind{Words: s.Type}
}
