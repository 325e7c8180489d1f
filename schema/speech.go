package schema

import "embed"

//go:embed speech/*.json
var speech embed.FS

// Speech returns how Findslip puts in one language what it has to say, as JSON: the frame of a report of
// notices, and a question and a way out for each code. Package render reads it.
func Speech(language string) ([]byte, error) { return speech.ReadFile("speech/" + language + ".json") }

// Pages returns the sentences of the page for a landowner, in all languages, as JSON. Package share reads it.
func Pages() ([]byte, error) { return speech.ReadFile("speech/pages.json") }

//go:embed labels/*.json
var labels embed.FS

// Labels returns what is shown in one language beside the words of the lists, as JSON: the words of a template.
// Package spreadsheet reads it.
func Labels(language string) ([]byte, error) { return labels.ReadFile("labels/" + language + ".json") }
