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
	_ "embed"
	"fmt"
	"slices"
	"sync"
)

// base begins the identifiers. They are names and are never fetched.
const base = "https://w3id.org/findslip/1/"

// Draft is the identifier of the dialect that every schema is written in.
const Draft = "https://json-schema.org/draft/2020-12/schema"

var (
	//go:embed report.schema.json
	reportText []byte
	//go:embed find.schema.json
	findText []byte
	//go:embed notices.schema.json
	noticesText []byte
	//go:embed policy.schema.json
	policyText []byte
	//go:embed simple.schema.json
	simpleText []byte
)

// Names returns the short names of the schemas: report, find, notices, policy, simple. The caller
// owns the slice.
func Names() []string { return []string{"report", "find", "notices", "policy", "simple"} }

// Text returns the published bytes of the schema with the short name, and whether there is one. The
// caller owns the bytes.
func Text(name string) ([]byte, bool) {
	switch name {
	case "report":
		return slices.Clone(reportText), true
	case "find":
		return slices.Clone(findText), true
	case "notices":
		return slices.Clone(noticesText), true
	case "policy":
		return slices.Clone(policyText), true
	case "simple":
		return slices.Clone(simpleText), true
	}
	return nil, false
}

// ID returns the identifier of the schema with the short name; an unknown name gives empty text.
func ID(name string) string {
	if !slices.Contains(Names(), name) {
		return ""
	}
	return base + name
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
		return nil, fmt.Errorf("no schema is called %q; the schemas are report, find, notices, policy and simple", name)
	}
	return root, nil
}

var published = sync.OnceValues(func() (map[string]*Node, error) {
	return Read(reportText, findText, noticesText, policyText, simpleText)
})
