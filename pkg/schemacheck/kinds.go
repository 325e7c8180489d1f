package schemacheck

import (
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// Kinds returns the kinds of notice of the gate and the schema, in the order of SPEC.md
// section 6.1. The list is fresh, the kinds are shared and must not be changed.
func Kinds() []*notice.Kind {
	return []*notice.Kind{
		jsonSyntax, jsonInvalidUTF8, jsonLoneSurrogate, jsonDuplicateName, jsonNumber, jsonTooDeep, jsonTooLarge,
		schemaType, schemaRequired, schemaChoice, schemaEnum, schemaPattern, schemaFormat, schemaRange,
		schemaForbidden, schemaOther,
		memberMisspelt, memberUnknown,
	}
}

var jsonSyntax = &kinds.JsonSyntax

var jsonInvalidUTF8 = &kinds.JsonInvalidUtf8

var jsonLoneSurrogate = &kinds.JsonLoneSurrogate

var jsonDuplicateName = &kinds.JsonDuplicateName

var jsonNumber = &kinds.JsonNumberOutOfRange

var jsonTooDeep = &kinds.JsonTooDeep

var jsonTooLarge = &kinds.JsonTooLarge

var schemaType = &kinds.SchemaType

var schemaRequired = &kinds.SchemaRequired

var schemaChoice = &kinds.SchemaChoice

var schemaEnum = &kinds.SchemaEnum

var schemaPattern = &kinds.SchemaPattern

var schemaFormat = &kinds.SchemaFormat

var schemaRange = &kinds.SchemaRange

var schemaForbidden = &kinds.SchemaForbidden

var schemaOther = &kinds.SchemaOther

var memberMisspelt = &kinds.MemberMisspelt

var memberUnknown = &kinds.MemberUnknown
