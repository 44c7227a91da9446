// Command docgen writes what is generated from other parts of the repository: the reference pages (from the data library
// and the commands), the JSON Schemas (from the Go types and their comments) and the OpenAPI document (from the operations
// that the server registers). Run it from the root of the repository:
//
//	go run ./internal/docgen
//
// A test fails while the files on disk differ from what it would write.
package main

import (
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	if err := write("."); err != nil {
		fmt.Fprintln(os.Stderr, "docgen:", err)
		os.Exit(1)
	}
}

// write generates everything under the root of the repository.
func write(root string) error {
	files, err := generate(root)
	if err != nil {
		return err
	}
	for name, text := range files {
		path := filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, text, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// generate gives every generated file by its path from the root.
func generate(root string) (map[string][]byte, error) {
	files := map[string][]byte{}
	for name, page := range pages {
		files["docs/reference/"+name] = []byte(page())
	}
	schemas, err := schemas(root)
	if err != nil {
		return nil, err
	}
	for name, text := range schemas {
		files["schema/"+name+".json"] = text
	}
	if files["web/app/src/engine/types.ts"], err = typeScript(root); err != nil {
		return nil, err
	}
	if files["docs/reference/openapi.json"], err = openAPI(); err != nil {
		return nil, err
	}
	if files["web/app/src/messages/engine.en.json"], err = engineMessages(root); err != nil {
		return nil, err
	}
	return files, nil
}
