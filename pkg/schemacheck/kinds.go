package schemacheck

import "github.com/findslip/findslip/pkg/notice"

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

const sourceSchema = "JSON Schema 2020-12, schema/find.schema.json and schema/report.schema.json"

var jsonSyntax = &notice.Kind{
	Code: "json-syntax", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the text is not JSON",
	Why:    "where one reader stops and another guesses, two people see two different records",
	Help:   "Look just before the place named: a comma, a quote or a bracket is missing or stands too much. An editor that knows JSON shows it.",
	Source: "RFC 8259 section 2", Before: `{"number": "12" "name": "button"}`, After: `{"number": "12", "name": "button"}`,
}

var jsonInvalidUTF8 = &notice.Kind{
	Code: "json-invalid-utf8", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the text is not UTF-8",
	Why:    "letters with accents and signs such as ½ and ° turn into others when the encoding is guessed",
	Help:   "Save the file again as UTF-8.",
	Source: "RFC 7493 section 2.1", Before: `"name": "caf\xe9"`, After: `"name": "café"`,
}

var jsonLoneSurrogate = &notice.Kind{
	Code: "json-lone-surrogate", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "half a character stands alone",
	Why:    "such a half is no character: some readers drop it, others replace it, and the text is no longer the same",
	Help:   "Type the character itself in place of the escape that begins with \\ud.",
	Source: "RFC 7493 section 2.1", Before: `"name": "\ud83d"`, After: `"name": "\ud83d\udd14"`,
}

var jsonDuplicateName = &notice.Kind{
	Code: "json-duplicate-name", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "one object says the same thing twice",
	Why:    "readers differ in which of the two they keep, so one of the values is lost unseen",
	Help:   "Keep one of the two members and take the other away.",
	Source: "RFC 7493 section 2.3", Before: `{"number": "12", "number": "13"}`, After: `{"number": "13"}`,
}

var jsonNumber = &notice.Kind{
	Code: "json-number-out-of-range", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the number cannot be read by every program",
	Why:    "numbers beyond double precision are read differently, or stop a program",
	Help:   "Write the number with few digits and without an exponent.",
	Source: "RFC 7493 section 2.2", Before: `"min": 1e999`, After: `"min": 20`,
}

var jsonTooDeep = &notice.Kind{
	Code: "json-too-deep", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "objects and lists stand too deep in each other",
	Why:    "the cost of reading grows with depth; no honest record needs more than a dozen",
	Help:   "Look for a program that wrapped the record again and again.",
	Source: "our proposal", Before: `[[[[...]]]]`, After: `[1]`,
}

var jsonTooLarge = &notice.Kind{
	Code: "json-too-large", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "one record is too large",
	Why:    "records are read one at a time so that large files need little memory",
	Help:   "Keep pictures as files beside the report and name them in media.",
	Source: "our proposal", Before: `"notes": "iVBORw0KGgo... (3 MB)"`,
	After: `"media": [{"file": "pictures/tl-014.jpg"}]`,
}

var schemaType = &notice.Kind{
	Code: "schema-type", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the value is of another sort than the member takes",
	Why:    "a program that expects text cannot use a number, and the other way round",
	Help:   "Give the value in the form that the member takes.",
	Source: sourceSchema, Before: `"number": 12`, After: `"number": "12"`,
}

var schemaRequired = &notice.Kind{
	Code: "schema-required", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "a member that must stand here is missing",
	Why:    "without it the rest cannot be understood or joined",
	Help:   "Add the member.",
	Source: sourceSchema, Before: `"depth": {"min": 20, "max": 20}`,
	After: `"depth": {"min": 20, "max": 20, "unit": "cm"}`,
}

var schemaChoice = &notice.Kind{
	Code: "schema-choice", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "none of several members is given, and one must be",
	Why:    "without any of them the entry says nothing",
	Help:   "Give at least one of them, or take the whole entry away.",
	Source: sourceSchema, Before: `"materials": [{"certainty": "possible"}]`,
	After: `"materials": [{"verbatim": "green metal", "certainty": "possible"}]`,
}

var schemaEnum = &notice.Kind{
	Code: "schema-enum", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the value is not in the list",
	Why:    "the list is closed, so that every program understands every value in it",
	Help:   "Use one of the values of the list.",
	Source: sourceSchema, Before: `"kind": "singel"`, After: `"kind": "single"`,
}

var schemaPattern = &notice.Kind{
	Code: "schema-pattern", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the text is empty, too long, or not in the form that it must have",
	Why:    "programs take this text apart, and find nothing in any other form; empty can mean forgotten or unknown",
	Help:   "Write it in the form that is named.",
	Source: sourceSchema, Before: `"found": {"date": "12/4/26"}`,
	After: `"found": {"date": "2026-04-12", "verbatim": "12/4/26"}`,
}

var schemaFormat = &notice.Kind{
	Code: "schema-format", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the day, the time or the address is not written in the standard form",
	Why:    "only the standard form is read the same way everywhere",
	Help:   "Write a day as YYYY-MM-DD, a moment as YYYY-MM-DDThh:mm:ss with Z or an offset.",
	Source: "JSON Schema Validation 2020-12 section 7.3, RFC 3339, RFC 3986", Before: `"validTo": "31-12-2026"`,
	After: `"validTo": "2026-12-31"`,
}

var schemaRange = &notice.Kind{
	Code: "schema-range", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the number is smaller or larger than it can be",
	Why:    "a value out of range is a typing error or stands in another unit",
	Help:   "Look at the sign, the unit and the decimal point.",
	Source: sourceSchema, Before: `"depth": {"min": -20, "max": -20, "unit": "cm"}`,
	After: `"depth": {"min": 20, "max": 20, "unit": "cm"}`,
}

var schemaForbidden = &notice.Kind{
	Code: "schema-forbidden", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "a member stands where it may not",
	Why:    "it contradicts what the place means",
	Help:   "Take the member away.",
	Source: sourceSchema, Before: `"count": {"min": 3, "max": 3, "unit": "cm"}`, After: `"count": {"min": 3, "max": 3}`,
}

var schemaOther = &notice.Kind{
	Code: "schema-other", Severity: notice.Error, Group: "schema", Spec: "6.1",
	Title:  "the value breaks another requirement of the schema",
	Why:    "programs rely on what the schema says",
	Help:   "Compare the value with the description of the member.",
	Source: sourceSchema, Before: `a value that the schema refuses`,
	After: `a value as the description of the member asks`,
}

var memberMisspelt = &notice.Kind{
	Code: "member-misspelt", Severity: notice.Warning, Group: "schema", Spec: "6.1",
	Title:  "the name of a member looks misspelt",
	Why:    "a misspelt member is kept, but no program understands it",
	Help:   "Correct the name; if it is meant, put it into extensions.",
	Source: "our proposal: at most two letters differ", Before: `"wieght": {"min": 4, "max": 4, "unit": "g"}`,
	After: `"weight": {"min": 4, "max": 4, "unit": "g"}`,
}

var memberUnknown = &notice.Kind{
	Code: "member-unknown", Severity: notice.Info, Group: "schema", Spec: "6.1",
	Title:  "the member is not known",
	Why:    "it is kept, but no program understands it, and a copy made for others leaves it out",
	Help:   "Put members of your own into extensions, under a prefix that extensionsUsed declares.",
	Source: "our proposal", Before: `"fieldCode": "LF"`, After: `"extensions": {"club": {"fieldCode": "LF"}}`,
}
