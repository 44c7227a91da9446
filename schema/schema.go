// Package schema publishes the JSON Schemas (2020-12) of the files that thwart reads and of the answers it writes.
//
// They are generated from the Go types by internal/docgen and embedded here, so that they travel with the program. They
// describe shape and vocabulary; limits that hang on one another, and names of places, are checked when a file is read.
package schema

import (
	"embed"
	"slices"
)

//go:embed *.json
var files embed.FS

// names lists the schemas, those of files first.
var names = []string{"case", "protocol", "assessment", "proof"}

// Names lists the schemas: case and protocol for files that are read, assessment and proof for answers.
func Names() []string { return slices.Clone(names) }

// Get gives the text of one schema; ok is false for a name that is not among [Names].
func Get(name string) (text []byte, ok bool) {
	if !slices.Contains(names, name) {
		return nil, false
	}
	text, err := files.ReadFile(name + ".json")
	return text, err == nil
}
