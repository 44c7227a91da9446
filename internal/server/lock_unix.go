//go:build unix

package server

import (
	"os"
	"syscall"
)

// lockFile waits until no other process holds the file. Closing it lets go.
func lockFile(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX) }
