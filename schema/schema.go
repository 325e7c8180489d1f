// Package schema holds the published JSON Schemas of the Findslip format, embedded as they stand,
// and the published lists of codes.
//
// The identifiers of the schemas are names, never addresses: nothing is fetched.
//
//	text, ok := schema.Text("find") // the bytes of find.schema.json
//	root, err := schema.Root("find") // the same as a tree, members in their published order
//
// # Keywords of our own
//
// Beside the keywords of JSON Schema 2020-12 the schemas carry four annotations, which no validator
// needs to know: x-trial marks a member that may change within 1.x, x-private one whose value no
// message may quote, and x-form says in words what a pattern asks for, with a specimen in examples.
// Every member came with version 1.0 unless x-since names a later one.
//
// # Order
//
// The order of the members in a schema is their order in canonical JSON.
//
// This package is unstable: it may change between any two versions.
package schema

import (
	"bytes"
	"embed"
	_ "embed"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
)

// Base begins the identifiers. They are names and are never fetched.
const Base = "https://w3id.org/findslip/1/"

// Draft is the identifier of the dialect that every schema is written in.
const Draft = "https://json-schema.org/draft/2020-12/schema"

//go:embed report.schema.json find.schema.json notices.schema.json policy.schema.json profile.schema.json
//go:embed settings.schema.json simple.schema.json
var texts embed.FS

// names are the short names of the schemas, in the order in which they are published.
var names = []string{"report", "find", "notices", "policy", "profile", "settings", "simple"}

// Names returns the short names of the schemas: report, find, notices, policy, profile, settings, simple. The
// caller owns the slice.
func Names() []string { return slices.Clone(names) }

// Text returns the published bytes of the schema with the short name, and whether there is one. The
// caller owns the bytes.
func Text(name string) ([]byte, bool) {
	if !slices.Contains(names, name) {
		return nil, false
	}
	text, err := texts.ReadFile(name + ".schema.json")
	return text, err == nil
}

// ID returns the identifier of the schema with the short name; an unknown name gives empty text.
func ID(name string) string {
	if !slices.Contains(Names(), name) {
		return ""
	}
	return Base + name
}

// Root returns the schema with the short name as a tree. The tree is shared: it must not be
// changed. An unknown name is an error.
func Root(name string) (*Node, error) {
	all, err := published()
	if err != nil {
		return nil, err
	}
	root, ok := all[ID(name)]
	if !ok {
		return nil, fmt.Errorf("no schema is called %q; the schemas are %s", name, strings.Join(names, ", "))
	}
	return root, nil
}

var published = sync.OnceValues(func() (map[string]*Node, error) {
	var all [][]byte
	for _, name := range names {
		text, _ := Text(name)
		all = append(all, text)
	}
	return Read(all...)
})

// ContextID is the identifier of the JSON-LD context. It is a name and is never fetched.
const ContextID = Base + "context"

// Terms is the namespace of our own terms: a member that no other vocabulary has a term for is
// Terms and its name.
const Terms = Base + "terms#"

var (
	//go:embed context.jsonld
	contextText []byte
	//go:embed mapping.json
	mappingText []byte
)

// Context returns the JSON-LD 1.1 context of a report, as published. A program that expands a
// report gives it to its library beside the report, which needs no member for it. The caller owns
// the bytes.
func Context() []byte { return slices.Clone(contextText) }

// Mapping returns the table that Context is made of: which member has which term of another
// vocabulary. The caller owns the bytes.
func Mapping() []byte { return slices.Clone(mappingText) }

// Data holds the tables that rules compare with: what is plausible, and what the law of a place may
// ask. Each file is a JSON object with a title, the source of its figures (or the words "from
// memory"), the day on which they were checked, and its rows.
//
//go:embed data/*.json
var Data embed.FS

// Table reads one file of Data by its name without ending; members that T does not have are passed over.
func Table[T any](name string) (table T, err error) {
	return table, ReadJSON(Data, "data/"+name+".json", &table)
}

// Rows reads the rows of one file of Data.
func Rows[T any](name string) ([]T, error) {
	table, err := Table[struct {
		Rows []T `json:"rows"`
	}](name)
	return table.Rows, err
}

// ReadJSON reads one embedded file.
func ReadJSON(from fs.FS, name string, out any) error {
	text, err := fs.ReadFile(from, name)
	if err == nil {
		err = json.Unmarshal(text, out)
	}
	if err != nil {
		return fmt.Errorf("reading the table %s: %w", name, err)
	}
	return nil
}

// profiles are those that are shipped as levels.
//
//go:embed data/profiles/*.findslip-profile.json
var profiles embed.FS

// Profile returns the bytes of a shipped profile by its id, and whether there is one. The caller owns the bytes.
func Profile(id string) ([]byte, bool) {
	text, err := profiles.ReadFile("data/profiles/" + id + ".findslip-profile.json")
	return text, err == nil
}

//go:embed headings.json
var headings []byte

// Headings returns a copy of what the columns of a log are called in six languages, as JSON.
func Headings() []byte { return bytes.Clone(headings) }

//go:embed lexicon/*.json
var lexicon embed.FS

// Lexicon returns the words that the readings know in one language, as JSON, or with the name
// "languages" the list of languages in the order in which they are asked. Package lexicon reads them.
func Lexicon(name string) ([]byte, error) { return lexicon.ReadFile("lexicon/" + name + ".json") }

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

// Vocabulary holds the published code lists, one JSON file a list, as
// vocabulary/<list>.json. Package vocabulary reads them; a program that wants
// the bytes as published reads them here. It is read-only.
//
//go:embed vocabulary/*.json
var Vocabulary embed.FS
