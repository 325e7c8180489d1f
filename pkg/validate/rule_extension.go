package validate

import (
	"bytes"
	"slices"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var extensionRules = []*Rule{extensionUndeclared}

var extensionUndeclared = &Rule{
	Kind: notice.Kind{
		Code: "extension-undeclared", Severity: notice.Error, Group: "extension", Spec: "11",
		Title:  "an extension stands under a prefix that the report does not declare",
		Why:    "nobody can tell whose members these are, and two parties may have taken the same prefix for different things",
		Help:   "Declare the prefix in extensionsUsed, with the address of its schema and a version, or take the extension out.",
		Source: "format of this specification, section 11",
		Before: `"finds": [{"extensions": {"club": {"fieldCode": "LF"}}}]`,
		After:  `"extensionsUsed": [{"prefix": "club", "version": "1.0"}], "finds": [{"extensions": {"club": {"fieldCode": "LF"}}}]`,
	},
	// When: `extensions` of the report or a find has a name that is no `prefix` of `extensionsUsed` of the report. At
	// `/extensions/NAME`.
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
