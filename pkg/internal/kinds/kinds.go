// Package kinds holds every kind of notice, as schema/codes.json lists them. They are shared and never changed.
package kinds

//go:generate go run ../../../cmd/internal/recordmap -root ../../..

import (
	"maps"
	"slices"

	"github.com/findslip/findslip/pkg/notice"
)

// All returns every kind, by code. The list is fresh.
func All() []*notice.Kind { return slices.Clone(all) }

// Off returns the codes that are left out unless they are asked for.
func Off() []string { return slices.Sorted(maps.Keys(off)) }

// IsOff reports whether a code is left out unless it is asked for.
func IsOff(code string) bool { return off[code] != "" }
