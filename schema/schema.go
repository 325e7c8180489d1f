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
	"embed"
	"fmt"
	"slices"
	"strings"
	"sync"
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
