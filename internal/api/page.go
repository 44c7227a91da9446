package api

import (
	"bytes"
	"cmp"
	_ "embed"
	"html/template"
	"maps"
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
	Request, Answer           string
	Status                    []string
	tag                       string
}

type docField struct {
	Name, In, Type, Doc string
	Required            bool
}

type docSchema struct {
	Name    string
	Fields  []docField
	Meaning bool // some field needs more words than its name
}

type docGroup struct {
	Name string
	Ops  []docOp
}

// docPage writes the API down for people, from the same description that machines get.
func (a *API) docPage() ([]byte, error) {
	oapi := a.huma.OpenAPI()
	var ops []docOp
	for path, item := range oapi.Paths {
		for method, op := range map[string]*huma.Operation{"GET": item.Get, "POST": item.Post} {
			if op == nil {
				continue
			}
			d := docOp{ID: op.OperationID, Method: method, Path: path, Summary: op.Summary, Text: strings.Split(op.Description, "\n\n"), tag: op.Tags[0]}
			for _, p := range op.Parameters {
				d.Params = append(d.Params, docField{Name: p.Name, In: p.In, Type: typeName(p.Schema), Doc: p.Description, Required: p.Required})
				d.Meaning = d.Meaning || p.Description != ""
			}
			if op.RequestBody != nil {
				for _, m := range op.RequestBody.Content {
					d.Request = typeName(m.Schema)
				}
			}
			for status, r := range op.Responses {
				d.Status = append(d.Status, status)
				if strings.HasPrefix(status, "2") {
					for _, m := range r.Content {
						d.Answer = typeName(m.Schema)
					}
				}
			}
			slices.Sort(d.Status)
			ops = append(ops, d)
		}
	}
	slices.SortFunc(ops, func(x, y docOp) int {
		return cmp.Or(strings.Compare(x.tag, y.tag), strings.Compare(x.Path, y.Path), strings.Compare(x.Method, y.Method))
	})
	var groups []docGroup
	for _, d := range ops {
		if len(groups) == 0 || groups[len(groups)-1].Name != d.tag {
			groups = append(groups, docGroup{Name: d.tag})
		}
		g := &groups[len(groups)-1]
		g.Ops = append(g.Ops, d)
	}
	var schemas []docSchema
	all := maps.Clone(oapi.Components.Schemas.Map())
	maps.Copy(all, a.described.records)
	for name, s := range all {
		d := docSchema{Name: name}
		for f, p := range s.Properties {
			d.Fields = append(d.Fields, docField{Name: f, Type: typeName(p), Doc: p.Description, Required: slices.Contains(s.Required, f)})
			d.Meaning = d.Meaning || p.Description != ""
		}
		slices.SortFunc(d.Fields, func(x, y docField) int { return strings.Compare(x.Name, y.Name) })
		schemas = append(schemas, d)
	}
	slices.SortFunc(schemas, func(x, y docSchema) int { return strings.Compare(x.Name, y.Name) })
	t, err := template.New("api").Parse(pageHTML)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = t.Execute(&b, map[string]any{
		"Version": a.cfg.Version, "Demo": a.cfg.Demo, "Intro": oapi.Info.Description, "Groups": groups, "Schemas": schemas,
		"Headers": []string{HeaderDevice, HeaderNow, HeaderSignature}, "Prefix": signedPrefix,
	})
	return b.Bytes(), err
}

// typeName says a schema in a few letters: text, number, list of …, or the name of a schema further down the page.
func typeName(s *huma.Schema) string {
	switch {
	case s == nil:
		return ""
	case s.Ref != "":
		return s.Ref[strings.LastIndexByte(s.Ref, '/')+1:]
	case s.Type == "array":
		return "list of " + typeName(s.Items)
	case s.Type == "string" && s.Format != "":
		return "text (" + s.Format + ")"
	case s.Type == "string":
		return "text"
	case s.Type == "boolean":
		return "true or false"
	case s.Type == "integer":
		return "whole number"
	case s.Type == "":
		return "any JSON"
	}
	return s.Type
}
