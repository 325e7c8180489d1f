package quantity

import "strings"

// failAt notes the first failure; at and end are its place in the text. An
// empty message or help takes the usual one for the code.
func (p *parser) failAt(code string, at, end uint16, message, help string) {
	if p.err != nil {
		return
	}
	p.err = &Error{Input: p.s, Code: code, At: int(at), Part: p.s[at:max(at, end)], Message: message, Help: help}
}

// usual holds what is said about each code: what was found, and what to do.
var usual = map[string][2]string{
	CodeEmpty: {"nothing is written", "write a measure such as 8 in or 20 cm, or \"not measured\""},
	CodeTooLong: {"the text is too long for a measure",
		"keep the measure in its own cell and put the rest into the notes"},
	CodeUnitMissing: {"the number has no unit",
		"write the unit behind the number, or name it in the heading, such as Depth [in]"},
	CodeUnitUnknown: {"the unit is not one of this format",
		"use mm, cm, m, in, ft or yd for lengths and mg, g, kg, gr, oz, ozt, dwt or lb for weights"},
	CodeUnitAmbiguous: {"\"gr\" is the grain to some and the gram to others", "write grain or g"},
	CodeUnitKind: {"the unit measures something else",
		"give a length in mm, cm, m, in, ft or yd and a weight in mg, g, kg, gr, oz, ozt, dwt or lb"},
	CodeUnitOrder: {"the units do not follow each other from the larger to the smaller",
		"write one unit, or a larger and a smaller one such as 1 ft 3 in"},
	CodeNegative: {"the number is negative, and a measure is not",
		"write the number without a minus sign; depth counts down from the surface"},
	CodeFractionAmbiguous: {"the stroke can mean a fraction or a range",
		"write a range with a hyphen (6-8 in) and a fraction in lowest terms, with a space behind the whole number (8 1/2 " +
			"in)"},
	CodeNumberAmbiguous: {"the sign can part thousands or stand before decimals",
		"write thousands without a sign between them"},
	CodeNumberTooLong: {"the number has more digits than anyone can measure", "round it to what was measured"},
	CodeTooLarge:      {"the number is too large", "check the number and its unit"},
	CodeSpreadsheetDate: {"this is a date; a spreadsheet has probably made it of a range or a fraction",
		"format the column as text and type the measure again"},
	CodeMojibake: {"a sign was damaged when the file was saved or opened",
		"open the file as UTF-8, or type the sign again"},
	CodeEcho:        {"the two figures do not agree within their rounding", "keep the figure that was measured"},
	CodeTwoMeasures: {"more than one measure is written", "give each measure its own cell"},
	CodeVague: {"the text names no number that can be relied on",
		"write a range, or leave the words to the notes"},
	CodeLayer: {"this names a layer of the ground, which is no measure",
		"put it into the layer, and write the depth as it was measured or estimated, such as about 20 cm, or \"not " +
			"measured\""},
	CodeNotWhole: {"a count is a whole number", "count the pieces"},
	CodeRange: {"the hyphen can join a range or the parts of one measure",
		"write \"to\" for a range, and no hyphen inside one measure"},
	CodeBound: {"the word means deeper than to some and less than to others", "write more than or less than"},
	CodeLanguage: {"this is one measure in one language and another in the next",
		"say which language the log is in, or write figures with their unit"},
	CodeNotUnderstood: {"this was not understood as a measure",
		"write a number and a unit, such as 8 in, 7-9 in, 20 cm or about 1 ft"},
}

func newError(s, code string, from, to int) *Error {
	return &Error{Input: s, Code: code, At: from, Part: s[from:to], Message: "", Help: ""}
}

func tooLong(s string) *Error {
	e := newError(clip(s), CodeTooLong, 0, 0)
	return e.finish()
}

func empty(s string) *Error { return newError(s, CodeEmpty, 0, 0).finish() }

// finish fills in the usual words.
func (e *Error) finish() *Error {
	words := usual[e.Code]
	if e.Message == "" {
		e.Message = words[0]
		if e.Part != "" && e.Part != e.Input {
			e.Message = "at \"" + clip(e.Part) + "\": " + e.Message
		}
	}
	if e.Help == "" {
		e.Help = words[1]
	}
	return e
}

// lexFault explains a text that could not be cut into tokens.
func (p *parser) lexFault() *Error {
	p.err = newError(p.s, p.fault, p.from, p.to)
	return p.explain()
}

// explain completes the error: it looks for a cause that the grammar cannot
// see, and for what the writer may have meant.
func (p *parser) explain() *Error {
	e := p.err
	if repaired, ok := unmojibake(p.s); ok {
		e = newError(p.s, CodeMojibake, 0, len(p.s))
		if p.reads(repaired) {
			e.Proposals = []string{repaired}
		}
		return e.finish()
	}
	if strings.ContainsRune(p.s, '\uFFFD') {
		return newError(p.s, CodeMojibake, 0, len(p.s)).finish()
	}
	if texts, ok := dateProposals(p.s, p.options.Default); ok {
		e = newError(p.s, CodeSpreadsheetDate, 0, len(p.s))
		for _, text := range texts {
			if p.reads(text) {
				e.Proposals = append(e.Proposals, text)
			}
		}
		return e.finish()
	}
	p.propose(e)
	return e.finish()
}

// reads reports whether a proposal would be read, at least once its column has
// a unit: the text of the cell may have had none.
func (p *parser) reads(s string) bool {
	var q parser
	q.dimension, q.options, q.language = p.dimension, p.options, p.language
	if p.err == nil || p.err.Code != CodeUnitMissing {
		if q.options.Default.Dimension() != p.dimension {
			q.options.Default = [...]Unit{Length: M, Mass: KG, None: NoUnit}[p.dimension] // the largest
		}
	}
	if len(s) > maxLength || !q.run(s) || q.n == 0 {
		return false
	}
	if p.dimension == None {
		if !q.readCount() {
			return false
		}
		v, ok := q.result()
		return ok && v.Min.Value%one == 0 && v.Max.Value%one == 0
	}
	if !q.read() {
		return false
	}
	_, ok := q.result()
	return ok
}
