//go:build unix

package pipeline

import (
	"io/fs"
	"syscall"
)

// sameOwner reports whether two files belong to the same user.
func sameOwner(a, b fs.FileInfo) bool {
	x, okX := a.Sys().(*syscall.Stat_t)
	y, okY := b.Sys().(*syscall.Stat_t)
	return okX && okY && x.Uid == y.Uid
}
