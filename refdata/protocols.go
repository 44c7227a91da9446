package refdata

import (
	"embed"
	"io/fs"
	"maps"
	"path"
	"strings"

	"thwart/lean"
)

//go:embed data/protocols/*.json
var protocolFS embed.FS

var protocolFiles = lean.Once2(func() (map[string][]byte, error) {
	names, err := fs.Glob(protocolFS, "data/protocols/*.json")
	if err != nil {
		return nil, err
	}
	files := make(map[string][]byte, len(names))
	for _, name := range names {
		b, err := protocolFS.ReadFile(name)
		if err != nil {
			return nil, err
		}
		files[strings.TrimSuffix(path.Base(name), ".json")] = b
	}
	return files, nil
})

// ProtocolFiles gives the published protocols as they are kept: JSON text by id. They name the tables they use and do not
// repeat them; package advice reads them, fills the tables in and checks them. The texts are not to be changed.
//
// Each is a snapshot of what could be read of a law or a page, with its date. None is confirmed: a person of the programme
// has to check it against the law in force first.
func ProtocolFiles() map[string][]byte { return maps.Clone(must(protocolFiles())) }
