package quantity

import "strings"

// The codes of an Error. Once published a code keeps its meaning.
const (
	CodeEmpty             = "empty"
	CodeTooLong           = "too-long"
	CodeUnitMissing       = "unit-missing"
	CodeUnitUnknown       = "unit-not-listed"
	CodeUnitAmbiguous     = "unit-ambiguous"
	CodeUnitKind          = "unit-of-another-kind"
	CodeUnitOrder         = "unit-order"
	CodeNegative          = "negative"
	CodeFractionAmbiguous = "fraction-ambiguous"
	CodeNumberAmbiguous   = "number-ambiguous"
	CodeNumberTooLong     = "number-too-long"
	CodeTooLarge          = "too-large"
	CodeSpreadsheetDate   = "spreadsheet-date"
	CodeMojibake          = "mojibake"
	CodeEcho              = "echo-disagrees"
	CodeTwoMeasures       = "several-measures"
	CodeVague             = "vague"
	CodeLayer             = "layer-not-measure"
	CodeNotWhole          = "not-whole"
	CodeRange             = "range-ambiguous"
	CodeBound             = "bound-ambiguous"
	CodeLanguage          = "language-ambiguous"
	CodeNotUnderstood     = "not-understood"
)

// An Error tells why a text was not read. Part is the piece at fault and At
// its place in Input, in bytes from 0; of a text that is too long, Input holds
// the beginning. Message says what was read and what was expected, Help what to
// do next. Each of Proposals is a text that the writer may have meant and that
// would be read, in a column with a unit if the input names none; there may be
// no proposal.
type Error struct {
	Input, Code, Part string
	At                int
	Message, Help     string
	Proposals         []string
}

// Error returns the message in one line, with the input and the proposals.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString("reading \"")
	b.WriteString(clip(e.Input))
	b.WriteString("\": ")
	b.WriteString(e.Message)
	if len(e.Proposals) > 0 {
		b.WriteString("; perhaps ")
		for i, p := range e.Proposals {
			if i > 0 {
				b.WriteString(" or ")
			}
			b.WriteString("\"" + p + "\"")
		}
	}
	return b.String()
}
