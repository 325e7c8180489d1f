// Package kinds holds every kind of notice, as schema/codes.json lists them. They are shared and never changed.
package kinds

//go:generate go run ../../../cmd/internal/recordmap -root ../../..

import (
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/notice"
)

// All returns every kind, by code. The list is fresh.
func All() []*notice.Kind { return slices.Clone(all) }

// Named returns the kind with the code; nil where there is none.
func Named(code string) *notice.Kind {
	i, ok := slices.BinarySearchFunc(all, code,
		func(k *notice.Kind, code string) int { return strings.Compare(k.Code, code) })
	if !ok {
		return nil
	}
	return all[i]
}
