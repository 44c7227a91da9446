package opendata

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"thwart/internal/exchange"
)

// Frictionless Data Package, version 1 (specs.frictionlessdata.io): what the tables hold, for programs and people.
type (
	dataPackage struct {
		Profile      string     `json:"profile"`
		Name         string     `json:"name"`
		Title        string     `json:"title"`
		Description  string     `json:"description"`
		Created      string     `json:"created"`
		Licenses     []dpNamed  `json:"licenses"`
		Contributors []dpNamed  `json:"contributors"`
		Citation     string     `json:"citation"`
		Resources    []resource `json:"resources"`
	}
	dpNamed struct {
		Name  string `json:"name,omitempty"`
		Title string `json:"title"`
		Path  string `json:"path,omitempty"`
		Role  string `json:"role,omitempty"`
	}
	resource struct {
		Name        string      `json:"name"`
		Path        string      `json:"path"`
		Profile     string      `json:"profile"`
		Format      string      `json:"format"`
		MediaType   string      `json:"mediatype"`
		Encoding    string      `json:"encoding,omitempty"`
		Bytes       int64       `json:"bytes"`
		Hash        string      `json:"hash"`
		Rows        int64       `json:"rows"`
		Description string      `json:"description"`
		Schema      tableSchema `json:"schema"`
	}
	tableSchema struct {
		Fields        []dpField    `json:"fields"`
		MissingValues []string     `json:"missingValues"`
		PrimaryKey    []string     `json:"primaryKey"`
		ForeignKeys   []foreignKey `json:"foreignKeys,omitempty"`
	}
	dpField struct {
		Name        string         `json:"name"`
		Type        string         `json:"type"`
		Unit        string         `json:"unit,omitempty"`
		Description string         `json:"description"`
		Constraints map[string]any `json:"constraints,omitempty"`
	}
	foreignKey struct {
		Fields    string            `json:"fields"`
		Reference map[string]string `json:"reference"`
	}
)

func (w *walker) describe(t *tabular, form Form) dataPackage {
	o, l := w.opt, w.opt.licence()
	d := dataPackage{
		Profile: "tabular-data-package", Name: "inspections-of-watercraft", Title: o.Title, Created: o.MadeAt.UTC().Format(time.RFC3339),
		Description:  strings.Join(append(w.cautions(), "Empty cell: not asked, not known or left out. unknown: asked and not known. Metric units, the unit in the name of the column."), " "),
		Licenses:     []dpNamed{{Name: l.ID, Title: l.Name, Path: l.URL}},
		Contributors: []dpNamed{{Title: o.Publisher, Path: o.Contact, Role: "publisher"}}, Citation: o.citation(),
	}
	for i, one := range t.tables {
		part := t.parts[i]
		r := resource{
			Name: one.name, Path: part.Name, Profile: "tabular-data-resource", Format: "csv", MediaType: "text/csv", Encoding: "utf-8", Bytes: part.Bytes,
			Hash: "sha256:" + part.SHA256, Rows: part.Rows, Description: one.about, Schema: tableSchema{MissingValues: []string{""}, PrimaryKey: one.key},
		}
		if form == Parquet {
			r.Profile, r.Format, r.MediaType, r.Encoding = "data-resource", "parquet", "application/vnd.apache.parquet", ""
		}
		for _, c := range one.columns {
			f := dpField{Name: c.Name, Type: c.Type, Unit: c.Unit, Description: c.Description}
			if len(c.Accepted) > 0 {
				f.Constraints = map[string]any{"enum": c.Accepted}
			}
			r.Schema.Fields = append(r.Schema.Fields, f)
			if to, ok := one.refers[c.Name]; ok {
				r.Schema.ForeignKeys = append(r.Schema.ForeignKeys, foreignKey{c.Name, map[string]string{"resource": to, "fields": "id"}})
			}
		}
		d.Resources = append(d.Resources, r)
	}
	return d
}

// csvw gives the same as W3C Metadata for Tabular Data (Recommendation of 17 December 2015).
func (w *walker) csvw(t *tabular) map[string]any {
	var tables []map[string]any
	for i, one := range t.tables {
		var columns []map[string]any
		for _, c := range one.columns {
			columns = append(columns, csvwColumn(c))
		}
		var keys []map[string]any
		for _, c := range one.columns {
			if to, ok := one.refers[c.Name]; ok {
				keys = append(keys, map[string]any{"columnReference": c.Name, "reference": map[string]any{"resource": to + ".csv", "columnReference": "id"}})
			}
		}
		schema := map[string]any{"columns": columns, "primaryKey": one.key}
		if keys != nil {
			schema["foreignKeys"] = keys
		}
		tables = append(tables, map[string]any{"url": t.parts[i].Name, "dc:description": one.about, "tableSchema": schema})
	}
	return map[string]any{
		"@context": "http://www.w3.org/ns/csvw", "dc:title": w.opt.Title, "dc:publisher": w.opt.Publisher, "dc:license": map[string]any{"@id": w.opt.licence().URL},
		"dialect": map[string]any{"lineTerminators": []string{"\r\n"}, "header": true}, "tables": tables,
	}
}

func csvwColumn(c exchange.Column) map[string]any {
	datatype := map[string]string{"integer": "integer", "number": "double", "boolean": "boolean", "datetime": "dateTime"}[c.Type]
	if datatype == "" {
		datatype = "string"
	}
	out := map[string]any{"name": c.Name, "titles": c.Name, "datatype": datatype, "dc:description": c.Description}
	if c.Unit != "" {
		out["dc:description"] = c.Description + " (" + c.Unit + ")"
	}
	return out
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// writeReadme says what a person must know before using the data.
func (w *walker) writeReadme(out io.Writer) error {
	o, l := w.opt, w.opt.licence()
	_, err := fmt.Fprintf(out, "%s\n\nPublished by %s, %s. Copy: %s. Made by thwart %s.\nContact: %s\nLicence: %s, %s\nCite as: %s\n\nBefore you use it\n", o.Title, o.Publisher,
		o.MadeAt.UTC().Format(time.DateOnly), o.Copy, o.App, o.Contact, l.Name, l.URL, o.citation())
	for _, c := range w.cautions() {
		if err == nil {
			_, err = fmt.Fprintf(out, "\n- %s\n", c)
		}
	}
	return err
}
