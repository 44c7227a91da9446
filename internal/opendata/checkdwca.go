package opendata

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"thwart/refdata"
)

// archive checks a Darwin Core Archive: meta.xml against the rules of the text guide's schema (tdwg_dwc_text.xsd 0.1), the terms
// against the published list, and the rows against meta.xml and each other.
func (c *checker) archive(ctx context.Context) error {
	b, err := c.small("meta.xml")
	if err != nil {
		return err
	}
	doc, err := readMeta(b)
	if err != nil {
		return fmt.Errorf("meta.xml: %w", err)
	}
	c.held("meta.xml follows the Darwin Core text schema")
	c.held("every term is in the published list of terms")
	eml, err := c.small(doc.Metadata)
	if err != nil {
		return err
	}
	if err := goodEML(eml); err != nil {
		return fmt.Errorf("%s: %w", doc.Metadata, err)
	}
	c.held("the metadata has title, creator, date, abstract, rights and contact")
	ids := c.idsOf(doc.Core.Location[0])
	parents := make([]uint64, 0, cap(ids))
	col := columnsOf(doc.Core)
	err = c.eachRow(ctx, doc.Core.Location[0], headOfMeta(doc.Core, true), func(cells []string) error {
		if cells[0] == "" {
			return errors.New("an event without an id")
		}
		ids.add(cells[0])
		if p := cells[col["parentEventID"]]; p != "" {
			parents = append(parents, hashOf(p))
		}
		return nil
	})
	if err != nil {
		return err
	}
	if ids.settle() {
		return errors.New("two events have one id")
	}
	for _, p := range parents {
		if _, ok := slices.BinarySearch(ids, p); !ok {
			return errors.New("an event names a parent that is not there")
		}
	}
	c.held("every event has an id of its own and a parent that is there")
	for _, f := range doc.Extensions {
		if err := c.extension(ctx, f, ids); err != nil {
			return err
		}
	}
	c.held("every row of the extensions belongs to an event that is there, and has an id of its own where it has one")
	return nil
}

func columnsOf(f metaFile) map[string]int {
	out := map[string]int{}
	for _, m := range f.Columns {
		if m.Index != nil {
			out[m.Term[strings.LastIndexByte(m.Term, '/')+1:]] = *m.Index
		}
	}
	return out
}

// headOfMeta gives the heading that a file must have.
func headOfMeta(f metaFile, core bool) []string {
	n := 0
	for _, m := range f.Columns {
		if m.Index != nil {
			n = max(n, *m.Index+1)
		}
	}
	head := make([]string, n)
	if core {
		head[0] = "eventID"
	}
	for name, i := range columnsOf(f) {
		head[i] = name
	}
	if !core && head[0] == "" {
		head[0] = "eventID"
	}
	return head
}

func (c *checker) extension(ctx context.Context, f metaFile, core idSet) error {
	col := columnsOf(f)
	own, hasOwn := col["occurrenceID"]
	if m, ok := col["measurementID"]; ok {
		own, hasOwn = m, true
	}
	status, hasStatus := col["occurrenceStatus"]
	found, not := c.receipt.Vocabulary.words()
	var ids idSet
	if hasOwn {
		ids = c.idsOf(f.Location[0])
	}
	err := c.eachRow(ctx, f.Location[0], headOfMeta(f, false), func(cells []string) error {
		if !core.has(cells[0]) {
			return fmt.Errorf("there is no event %q", cells[0])
		}
		if hasOwn {
			ids.add(cells[own])
		}
		if hasStatus && cells[status] != found && cells[status] != not {
			return fmt.Errorf("occurrenceStatus: %q is neither %s nor %s", cells[status], found, not)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if ids.settle() {
		return fmt.Errorf("%s: two rows have one id", f.Location[0])
	}
	return nil
}

// readMeta reads meta.xml strictly: elements, attributes and their order are those of the schema, every column is described
// once, and every term is published.
func readMeta(b []byte) (metaDoc, error) {
	var doc metaDoc
	if err := knownXML(b); err != nil {
		return doc, err
	}
	if err := xml.Unmarshal(b, &doc); err != nil {
		return doc, err
	}
	if doc.Metadata == "" {
		return doc, errors.New("it names no metadata")
	}
	if doc.Core.ID == nil || doc.Core.RowType == "" {
		return doc, errors.New("the core has no id or row type")
	}
	for i, f := range append([]metaFile{doc.Core}, doc.Extensions...) {
		if i > 0 && f.CoreID == nil {
			return doc, fmt.Errorf("%s: an extension without coreid", f.RowType)
		}
		if len(f.Location) != 1 || len(f.Columns) == 0 {
			return doc, fmt.Errorf("%s: one location and at least one field are needed", f.RowType)
		}
		seen := map[string]bool{}
		at := map[int]bool{}
		for _, m := range f.Columns {
			if _, ok := refdata.OpenTermByIRI(m.Term); !ok {
				return doc, fmt.Errorf("%s is in no published list of terms", m.Term)
			}
			if seen[m.Term] && !strings.HasSuffix(m.Term, "/eventID") {
				return doc, fmt.Errorf("%s: %s is described twice", f.RowType, m.Term)
			}
			seen[m.Term] = true
			switch {
			case m.Index == nil && m.Default == "":
				return doc, fmt.Errorf("%s: %s has neither a column nor a value", f.RowType, m.Term)
			case m.Index != nil && at[*m.Index]:
				return doc, fmt.Errorf("%s: column %d is described twice", f.RowType, *m.Index)
			case m.Index != nil:
				at[*m.Index] = true
			}
		}
	}
	return doc, nil
}

// inMeta gives, per element of the schema, what may stand in it, in order, and its attributes.
var inMeta = map[string]struct{ children, attributes []string }{
	"archive":   {[]string{"core", "extension"}, []string{"metadata", "xmlns"}},
	"core":      {[]string{"files", "id", "field"}, fileAttributes},
	"extension": {[]string{"files", "coreid", "field"}, fileAttributes},
	"files":     {[]string{"location"}, nil},
	"location":  {nil, nil},
	"id":        {nil, []string{"index"}},
	"coreid":    {nil, []string{"index"}},
	"field":     {nil, []string{"index", "term", "default", "vocabulary", "delimitedBy"}},
}

var fileAttributes = []string{"linesTerminatedBy", "fieldsTerminatedBy", "fieldsEnclosedBy", "ignoreHeaderLines", "rowType", "encoding", "dateFormat"}

const metaNS = "http://rs.tdwg.org/dwc/text/"

func knownXML(b []byte) error {
	d := xml.NewDecoder(bytes.NewReader(b))
	type open struct {
		name string
		at   int // of the last child among those accepted
	}
	stack := []open{{name: ""}}
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		switch e := t.(type) {
		case xml.StartElement:
			rule, ok := inMeta[e.Name.Local]
			if !ok || e.Name.Space != metaNS {
				return fmt.Errorf("element %s of %q is not in the schema", e.Name.Local, e.Name.Space)
			}
			top := &stack[len(stack)-1]
			if top.name != "" {
				k := slices.Index(inMeta[top.name].children, e.Name.Local)
				if k < top.at {
					return fmt.Errorf("element %s may not stand there in %s", e.Name.Local, top.name)
				}
				top.at = k
			} else if e.Name.Local != "archive" {
				return errors.New("the root is no archive")
			}
			for _, a := range e.Attr {
				if !slices.Contains(rule.attributes, a.Name.Local) {
					return fmt.Errorf("attribute %s of %s is not in the schema", a.Name.Local, e.Name.Local)
				}
			}
			stack = append(stack, open{name: e.Name.Local})
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
}

func goodEML(b []byte) error {
	var doc struct {
		XMLName xml.Name
		Package string `xml:"packageId,attr"`
		Dataset struct {
			Title    string   `xml:"title"`
			Creator  string   `xml:"creator>organizationName"`
			PubDate  string   `xml:"pubDate"`
			Abstract []string `xml:"abstract>para"`
			Rights   string   `xml:"intellectualRights>para>ulink>citetitle"`
			Contact  string   `xml:"contact>organizationName"`
		} `xml:"dataset"`
	}
	if err := xml.Unmarshal(b, &doc); err != nil {
		return err
	}
	if doc.XMLName.Local != "eml" || doc.XMLName.Space != "https://eml.ecoinformatics.org/eml-2.2.0" || doc.Package == "" {
		return errors.New("it is no EML 2.2.0 document with a packageId")
	}
	d := doc.Dataset
	for name, v := range map[string]string{"title": d.Title, "creator": d.Creator, "pubDate": d.PubDate, "rights": d.Rights, "contact": d.Contact, "abstract": strings.Join(d.Abstract, "")} {
		if strings.TrimSpace(v) == "" {
			return fmt.Errorf("%s is empty", name)
		}
	}
	return nil
}
