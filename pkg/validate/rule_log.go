package validate

import (
	"bytes"
	"slices"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

var extensionRules = []*Rule{extensionUndeclared}

var extensionUndeclared = &Rule{
	Kind:   kinds.ExtensionUndeclared,
	Check:  func(c *Case, say Say) { undeclared(c.Report, c.Find.Extensions, say) },
	Header: func(c *Case, say Say) { undeclared(c.Report, c.Report.Extensions, say) },
}

// undeclared says which prefixes of extensions the report does not declare.
func undeclared(r *find.Report, extensions jsontext.Value, say Say) {
	if len(extensions) == 0 {
		return
	}
	dec := jsontext.NewDecoder(bytes.NewReader(extensions))
	if t, err := dec.ReadToken(); err != nil || t.Kind() != '{' {
		return // the schema speaks of that
	}
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return
		}
		prefix := name.String()
		if err := dec.SkipValue(); err != nil {
			return
		}
		if !slices.ContainsFunc(r.ExtensionsUsed, func(u find.ExtensionUse) bool { return u.Prefix == prefix }) {
			say("/extensions/"+notice.Escape(prefix), "extensionsUsed of the report does not have this prefix")
		}
	}
}
