package schema

import "embed"

// Lexicon holds the words that the readings know, one JSON file a language as lexicon/<language>.json,
// and lexicon/languages.json, the list of languages in the order in which they are asked. Package
// lexicon reads them. It is read-only.
//
//go:embed lexicon/*.json
var Lexicon embed.FS
