package refdata

import (
	"slices"
	"sync"
)

// OpenTerm is one term of the open standards that records are published under.
type OpenTerm struct {
	Namespace string // dwc, dcterms or eco
	Name      string
	Provenance
}

// OpenTermNamespaces gives the addresses that the short names of the namespaces stand for: Darwin Core and the Dublin Core terms
// it borrows (TDWG, Darwin Core List of Terms), and the Humboldt Extension for Ecological Inventories (TDWG).
var OpenTermNamespaces = map[string]string{
	"dwc":     "http://rs.tdwg.org/dwc/terms/",
	"dcterms": "http://purl.org/dc/terms/",
	"eco":     "http://rs.tdwg.org/eco/terms/",
}

// IRI is the term's full address.
func (t OpenTerm) IRI() string { return OpenTermNamespaces[t.Namespace] + t.Name }

var termTable = sync.OnceValues(func() ([]OpenTerm, error) {
	return load("darwin_core_terms.csv", []string{"namespace", "term", "source", "known", "note"}, func(r *row) OpenTerm {
		return OpenTerm{
			Namespace:  word(r, "namespace", []string{"dwc", "dcterms", "eco"}),
			Name:       r.text("term"),
			Provenance: r.provenance(),
		}
	})
})

var termIndex = sync.OnceValues(func() (map[string]OpenTerm, error) {
	rows, err := termTable()
	if err != nil {
		return nil, err
	}
	return byKey("darwin_core_terms.csv", rows, OpenTerm.IRI)
})

// OpenTerms lists the terms of Darwin Core and of its Humboldt extension.
func OpenTerms() []OpenTerm { return slices.Clone(must(termTable())) }

// OpenTermByIRI finds a term by its full address.
func OpenTermByIRI(iri string) (OpenTerm, bool) {
	t, ok := must(termIndex())[iri]
	return t, ok
}
