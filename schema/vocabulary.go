package schema

import "embed"

// Vocabulary holds the published code lists, one JSON file a list, as
// vocabulary/<list>.json. Package vocabulary reads them; a program that wants
// the bytes as published reads them here. It is read-only.
//
//go:embed vocabulary/*.json
var Vocabulary embed.FS
