package schema

import (
	"bytes"
	_ "embed"
)

//go:embed headings.json
var headings []byte

// Headings returns a copy of what the columns of a log are called in six languages, as JSON.
func Headings() []byte { return bytes.Clone(headings) }
