//go:build !unix

package pipeline

import "io/fs"

// sameOwner reports whether two files belong to the same user; here nobody can be asked, and the folder decides.
func sameOwner(_, _ fs.FileInfo) bool { return true }
