package schema

import (
	_ "embed"
	"slices"
)

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
