package schema

import "embed"

// Data holds the tables that rules compare with: what is plausible, and what the law of a place may
// ask. Each file is a JSON object with a title, the source of its figures (or the words "from
// memory"), the day on which they were checked, and its rows.
//
//go:embed data/*.json
var Data embed.FS
