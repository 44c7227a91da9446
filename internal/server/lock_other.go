//go:build !unix

package server

import "os"

// lockFile does nothing where there is no flock: there, one server to a folder.
func lockFile(*os.File) error { return nil }
