package schema

import (
	_ "embed"
	"slices"
)

// specification is a copy of SPEC.md that go generate keeps.
//
//go:embed specification.md
var specification []byte

// Specification returns the text of SPEC.md that this program was built with. The caller owns the
// bytes.
func Specification() []byte { return slices.Clone(specification) }
