package schema

import "embed"

//go:embed lexicon/*.json
var lexicon embed.FS

// Lexicon returns the words that the readings know in one language, as JSON, or with the name
// "languages" the list of languages in the order in which they are asked. Package lexicon reads them.
func Lexicon(name string) ([]byte, error) { return lexicon.ReadFile("lexicon/" + name + ".json") }
