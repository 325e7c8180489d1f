package schema

import "embed"

//go:embed speech/*.json
var speech embed.FS

// Speech returns how Findslip puts in one language what it has to say, as JSON: the frame of a report of
// notices, and a question and a way out for each code. Package render reads it.
func Speech(language string) ([]byte, error) { return speech.ReadFile("speech/" + language + ".json") }
