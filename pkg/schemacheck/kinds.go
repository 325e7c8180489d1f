package schemacheck

import (
	"github.com/findslip/findslip/pkg/internal/kinds"
	"github.com/findslip/findslip/pkg/notice"
)

// Kinds returns the kinds of notice of the gate and the schema, in the order of SPEC.md
// section 6.1. The list is fresh, the kinds are shared and must not be changed.
func Kinds() []*notice.Kind {
	return []*notice.Kind{
		jsonSyntax, jsonTextDamaged, jsonDuplicateName, jsonNumber, jsonTooLarge,
		schemaType, schemaRequired, schemaEnum, schemaPattern, schemaRange,
		schemaForbidden, schemaOther,
		memberMisspelt, memberUnknown,
	}
}

var jsonSyntax = &kinds.JsonSyntax

var jsonTextDamaged = &kinds.JsonTextDamaged

var jsonDuplicateName = &kinds.JsonDuplicateName

var jsonNumber = &kinds.JsonNumberOutOfRange

var jsonTooLarge = &kinds.JsonTooLarge

var schemaType = &kinds.SchemaType

var schemaRequired = &kinds.SchemaRequired

var schemaEnum = &kinds.SchemaEnum

var schemaPattern = &kinds.SchemaPattern

var schemaRange = &kinds.SchemaRange

var schemaForbidden = &kinds.SchemaForbidden

var schemaOther = &kinds.SchemaOther

var memberMisspelt = &kinds.MemberMisspelt

var memberUnknown = &kinds.MemberUnknown
