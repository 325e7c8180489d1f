package schema

import _ "embed"

// Headings holds what the columns of a log are called in six languages, as JSON.
//
//go:embed headings.json
var Headings []byte
