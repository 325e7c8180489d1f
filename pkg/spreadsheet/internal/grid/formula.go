package grid

import (
	"errors"
	"math"
	"strconv"
	"strings"
)

// A formula whose result the file does not store is worked out here if it is one of the few sorts that logs of
// finds have: references, arithmetic, texts joined, comparisons and the functions of the table below. All
// others keep their text, and the cell has no value. What changes from day to day, such as TODAY, is never
// worked out.
//
//	formula = compare
//	compare = join *(("=" / "<>" / "<=" / ">=" / "<" / ">") join)
//	join    = sum *("&" sum)
//	sum     = product *(("+" / "-") product)
//	product = power *(("*" / "/") power)
//	power   = unary *("^" unary)
//	unary   = *("+" / "-") atom *"%"
//	atom    = number / text / reference / name "(" [compare *("," compare)] ")" / "(" compare ")" / TRUE / FALSE

// errUnworked says that a formula is none of those that are worked out.
var errUnworked = errors.New("the formula is not worked out")

const (
	longestFormula = 4096
	deepestFormula = 32      // parentheses within each other, and cells that refer to each other
	mostVisits     = 4 << 20 // cells that the formulas of one book may look at
)

// operand is a value in a formula. Its kind is Empty, Text, Number, Bool or Error.
type operand struct {
	kind   Kind
	number float64
	text   string
	format *Format
}

// looker finds the cells that formulas refer to.
type looker interface {
	// cell returns a cell, worked out if need be; sheet is empty for the sheet of the formula.
	cell(sheet string, column, row, depth int) (Cell, error)
	// each visits the cells of a range that hold something.
	each(sheet string, r Range, depth int, visit func(Cell)) error
}

// workOut returns what a formula comes to.
func workOut(formula string, cells looker, depth int) (operand, error) {
	if len(formula) > longestFormula || depth > deepestFormula {
		return operand{}, errUnworked
	}
	e := &evaluator{left: strings.TrimSpace(formula), cells: cells, depth: depth}
	v, err := e.compare()
	if err != nil {
		return operand{}, err
	}
	if e.skip(); e.left != "" || v.kind == Number && (math.IsNaN(v.number) || math.IsInf(v.number, 0)) {
		return operand{}, errUnworked
	}
	return v, nil
}

// evaluator works a formula out from left to right.
type evaluator struct {
	left  string // what is still to be read
	cells looker
	depth int
}

func (e *evaluator) skip() { e.left = strings.TrimLeft(e.left, " \n\r\t") }

// take takes one of the signs off, and returns an empty text if none of them comes next.
func (e *evaluator) take(signs ...string) string {
	e.skip()
	for _, s := range signs {
		if rest, ok := strings.CutPrefix(e.left, s); ok {
			e.left = rest
			return s
		}
	}
	return ""
}

func (e *evaluator) compare() (operand, error) {
	if e.depth++; e.depth > deepestFormula {
		return operand{}, errUnworked
	}
	defer func() { e.depth-- }()
	a, err := e.join()
	for err == nil {
		sign := e.take("<>", "<=", ">=", "=", "<", ">")
		if sign == "" {
			return a, nil
		}
		var b operand
		if b, err = e.join(); err != nil {
			break
		}
		a = compared(a, b, sign)
	}
	return a, err
}

func compared(a, b operand, sign string) operand {
	if a.kind == Error {
		return a
	}
	if b.kind == Error {
		return b
	}
	order := strings.Compare(strings.ToLower(a.words()), strings.ToLower(b.words()))
	if a.kind == Number && b.kind == Number {
		order = 0
		if a.number < b.number {
			order = -1
		} else if a.number > b.number {
			order = 1
		}
	}
	truth := map[string]bool{"=": order == 0, "<>": order != 0, "<": order < 0, ">": order > 0, "<=": order <= 0,
		">=": order >= 0}
	return ofBool(truth[sign])
}

func (e *evaluator) join() (operand, error) {
	a, err := e.sum()
	for err == nil && e.take("&") != "" {
		var b operand
		if b, err = e.sum(); err == nil && a.kind != Error {
			if b.kind == Error {
				a = b
			} else {
				a = operand{kind: Text, text: a.words() + b.words()}
			}
		}
	}
	if len(a.text) > longestFormula*8 {
		return a, errUnworked
	}
	return a, err
}

func (e *evaluator) sum() (operand, error) { return e.chain(e.product, "+", "-") }

func (e *evaluator) product() (operand, error) { return e.chain(e.power, "*", "/") }

func (e *evaluator) power() (operand, error) { return e.chain(e.unary, "^") }

// chain reads operands with signs of one rank between them.
func (e *evaluator) chain(next func() (operand, error), signs ...string) (operand, error) {
	a, err := next()
	for err == nil {
		sign := e.take(signs...)
		if sign == "" {
			return a, nil
		}
		var b operand
		if b, err = next(); err == nil {
			a, err = calculated(a, b, sign)
		}
	}
	return a, err
}

func calculated(a, b operand, sign string) (operand, error) {
	for _, x := range []operand{a, b} {
		if x.kind == Error {
			return x, nil
		}
	}
	x, ok1 := a.figure()
	y, ok2 := b.figure()
	if !ok1 || !ok2 {
		return operand{}, errUnworked
	}
	v := operand{kind: Number, format: a.format}
	switch sign {
	case "+":
		v.number = x + y
	case "-":
		if v.number = x - y; a.format.IsDate() && b.format.IsDate() {
			v.format = nil // days between two days
		}
	case "*":
		v.number, v.format = x*y, nil
	case "/":
		if y == 0 {
			return operand{kind: Error, text: "#DIV/0!"}, nil
		}
		v.number, v.format = x/y, nil
	case "^":
		v.number, v.format = math.Pow(x, y), nil
	}
	return v, nil
}

func (e *evaluator) unary() (operand, error) {
	sign := 1.0
	for {
		switch e.take("-", "+") {
		case "-":
			sign = -sign
			continue
		case "+":
			continue
		}
		break
	}
	v, err := e.atom()
	if err != nil {
		return v, err
	}
	if sign < 0 {
		if v, err = calculated(operand{kind: Number}, v, "-"); err != nil {
			return v, err
		}
	}
	for err == nil && e.take("%") != "" {
		v, err = calculated(v, operand{kind: Number, number: 100}, "/")
	}
	return v, err
}

func (e *evaluator) atom() (operand, error) {
	e.skip()
	switch {
	case e.left == "":
		return operand{}, errUnworked
	case e.left[0] == '"':
		return e.quoted()
	case e.take("(") != "":
		v, err := e.compare()
		if err == nil && e.take(")") == "" {
			err = errUnworked
		}
		return v, err
	case e.left[0]-'0' <= 9 || e.left[0] == '.':
		return e.literal()
	}
	if name := word(e.left); name != "" {
		rest := e.left[len(name):]
		switch upper := strings.ToUpper(name); {
		case strings.HasPrefix(rest, "("):
			e.left = rest[1:]
			return e.call(upper)
		case (upper == "TRUE" || upper == "FALSE") && !strings.HasPrefix(rest, "!"):
			e.left = rest
			return ofBool(upper == "TRUE"), nil
		}
	}
	p, rest, ok := parsePlace(e.left)
	if !ok || p.isRange {
		return operand{}, errUnworked
	}
	e.left = rest
	c, err := e.cells.cell(p.sheet, p.FirstColumn, p.FirstRow, e.depth)
	if err != nil {
		return operand{}, err
	}
	return ofCell(c)
}

func (e *evaluator) quoted() (operand, error) {
	var b strings.Builder
	for rest := e.left[1:]; ; {
		before, after, ok := strings.Cut(rest, `"`)
		if !ok {
			return operand{}, errUnworked
		}
		b.WriteString(before)
		if !strings.HasPrefix(after, `"`) {
			e.left = after
			return operand{kind: Text, text: b.String()}, nil
		}
		b.WriteByte('"')
		rest = after[1:]
	}
}

func (e *evaluator) literal() (operand, error) {
	n := 0
	for n < len(e.left) && (e.left[n]-'0' <= 9 || e.left[n] == '.') {
		n++
	}
	number, err := strconv.ParseFloat(e.left[:n], 64)
	if err != nil {
		return operand{}, errUnworked
	}
	e.left = e.left[n:]
	return operand{kind: Number, number: number}, nil
}

// word returns the letters, digits and points that a text begins with.
func word(s string) string {
	n := 0
	for n < len(s) && (s[n]|0x20 >= 'a' && s[n]|0x20 <= 'z' || n > 0 && (s[n]-'0' <= 9 || s[n] == '.' || s[n] == '_') ||
		n == 0 && s[n] == '_') {
		n++
	}
	return s[:n]
}

// ofCell returns the value of a cell. A day whose serial is not known has none.
func ofCell(c Cell) (operand, error) {
	switch c.Kind {
	case Empty:
		if c.Extra().Formula != "" && !c.Extra().Worked {
			return operand{}, errUnworked
		}
		return operand{}, nil
	case Number, Date, Time:
		n, err := strconv.ParseFloat(c.Raw, 64)
		if err != nil {
			return operand{}, errUnworked
		}
		return operand{kind: Number, number: n, text: c.Text, format: c.Format}, nil
	case Bool:
		return ofBool(c.Value == "true"), nil
	}
	return operand{kind: c.Kind, text: c.Text}, nil
}

func ofBool(truth bool) operand {
	v := operand{kind: Bool, text: "FALSE"}
	if truth {
		v.number, v.text = 1, "TRUE"
	}
	return v
}

// figure returns the number that an operand is in arithmetic.
func (v operand) figure() (float64, bool) {
	switch v.kind {
	case Empty, Number, Bool:
		return v.number, true
	case Text:
		if text := strings.TrimSpace(v.text); IsNumber(text) {
			n, err := strconv.ParseFloat(text, 64)
			return n, err == nil
		}
	}
	return 0, false
}

// words returns the text that an operand is when texts are joined.
func (v operand) words() string {
	if v.kind == Number {
		return ShownNumber(strconv.FormatFloat(v.number, 'g', -1, 64))
	}
	return v.text
}

// result makes a cell of what its formula came to.
func (v operand) result(c Cell, epoch int) Cell {
	more := c.Extra()
	more.Worked = true
	if c.Format == nil {
		c.Format = v.format
	}
	raw := v.text
	if v.kind == Number {
		raw = ShownNumber(strconv.FormatFloat(v.number, 'g', -1, 64))
	}
	c = NewCell(c.Column, v.kind, raw, c.Format, epoch)
	c.More = &more
	return c
}

// place is a cell or a range that a formula names.
type place struct {
	sheet string // empty for the sheet of the formula
	Range
	isRange bool
}

// parsePlace reads a reference at the start of a text, such as A5, $A$5, A4:A7, Sheet2!B3 or 'my sheet'!B3.
func parsePlace(s string) (p place, rest string, ok bool) {
	if strings.HasPrefix(s, "'") {
		end := 1
		for {
			i := strings.IndexByte(s[end:], '\'')
			if i < 0 {
				return p, s, false
			}
			if end += i + 1; !strings.HasPrefix(s[end:], "'") {
				break
			}
			end++
		}
		p.sheet = strings.ReplaceAll(s[1:end-1], "''", "'")
		if s = s[end:]; !strings.HasPrefix(s, "!") {
			return p, s, false
		}
		s = s[1:]
	} else if name, after, found := strings.Cut(s, "!"); found && name != "" && !strings.ContainsAny(name,
		`+-*/^&=<>(),:"% `) {
		p.sheet, s = strings.TrimPrefix(name, "$"), after
	}
	n := refLength(s)
	if n == 0 {
		return p, s, false
	}
	text := s[:n]
	if s = s[n:]; strings.HasPrefix(s, ":") {
		m := refLength(s[1:])
		if m == 0 {
			return p, s, false
		}
		text += s[:m+1]
		s = s[m+1:]
		p.isRange = true
	}
	r, err := ParseRange(text)
	p.Range = r
	return p, s, err == nil
}

// refLength returns the length of the reference to a cell at the start of a text, 0 if there is none.
func refLength(s string) int {
	at := 0
	part := func(in func(c byte) bool, most int) bool {
		if at < len(s) && s[at] == '$' {
			at++
		}
		from := at
		for at < len(s) && in(s[at]) {
			at++
		}
		return at > from && at-from <= most
	}
	if !part(func(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }, 3) ||
		!part(func(c byte) bool { return c-'0' <= 9 }, 7) {
		return 0
	}
	if at < len(s) && (s[at] == '_' || s[at] == '(' || s[at] == '!' || s[at] == '.' || s[at]|0x20 >= 'a' &&
		s[at]|0x20 <= 'z') {
		return 0
	}
	return at
}

// ShiftFormula returns a formula as it stands so many columns and rows away: references without a $ move along.
// It is how a formula that many cells share is written out.
func ShiftFormula(formula string, columns, rows int) string {
	var b strings.Builder
	for at := 0; at < len(formula); {
		c := formula[at]
		if c == '"' || c == '\'' {
			end := strings.IndexByte(formula[at+1:], c)
			if end < 0 {
				end = len(formula) - at - 2
			}
			b.WriteString(formula[at : at+end+2])
			at += end + 2
			continue
		}
		if n := refLength(formula[at:]); n > 0 {
			b.WriteString(shiftRef(formula[at:at+n], columns, rows))
			at += n
			continue
		}
		n := max(1, len(word(formula[at:])))
		b.WriteString(formula[at : at+n])
		at += n
	}
	return b.String()
}

func shiftRef(ref string, columns, rows int) string {
	column, row, err := ParseRef(ref)
	if err != nil {
		return ref
	}
	letter, digit := "", ""
	if strings.HasPrefix(ref, "$") {
		letter = "$"
	} else {
		column += columns
	}
	if strings.LastIndexByte(ref, '$') > 0 {
		digit = "$"
	} else {
		row += rows
	}
	if column < 1 || column > MaxColumns || row < 1 || row > MaxRows {
		return "#REF!"
	}
	return letter + ColumnName(column) + digit + strconv.Itoa(row)
}
