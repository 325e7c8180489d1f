package grid

import (
	"math"
	"strconv"
	"strings"
)

// argument is what a function is given: one value, or the values of a range.
type argument struct {
	operand
	cells   []operand
	isRange bool
}

// values returns the values that a function over many counts: all that is given.
func values(args []argument) []operand {
	var out []operand
	for _, a := range args {
		if a.isRange {
			out = append(out, a.cells...)
		} else {
			out = append(out, a.operand)
		}
	}
	return out
}

// call reads the arguments of a function and works it out.
func (e *evaluator) call(name string) (operand, error) {
	name = strings.TrimPrefix(name, "_XLFN.")
	var args []argument
	if e.take(")") == "" {
		for {
			a, err := e.argument()
			if err != nil {
				return operand{}, err
			}
			args = append(args, a)
			if e.take(",", ";") != "" {
				continue
			}
			if e.take(")") == "" {
				return operand{}, errUnworked
			}
			break
		}
	}
	for _, v := range values(args) {
		if v.kind == Error && name != "IFERROR" && name != "COUNT" && name != "COUNTA" {
			return v, nil
		}
	}
	if f := functions[name]; f != nil {
		return f(args)
	}
	return operand{}, errUnworked
}

func (e *evaluator) argument() (argument, error) {
	e.skip()
	p, rest, ok := parsePlace(e.left)
	if !ok || !p.isRange {
		v, err := e.compare()
		return argument{operand: v}, err
	}
	e.left = rest
	a := argument{isRange: true}
	var failed error
	err := e.cells.each(p.sheet, p.Range, e.depth, func(c Cell) {
		v, err := ofCell(c)
		if err != nil {
			failed = err
		}
		a.cells = append(a.cells, v)
	})
	if err == nil {
		err = failed
	}
	return a, err
}

// functions are those that logs of finds have. Their meaning is that of ISO/IEC 29500-1 clause 18.17.7.
var functions map[string]func(args []argument) (operand, error)

func init() {
	functions = map[string]func(args []argument) (operand, error){
		"SUM":     overNumbers(func(n []float64) (float64, bool) { return sumOf(n), true }),
		"PRODUCT": overNumbers(func(n []float64) (float64, bool) { return productOf(n), true }),
		"AVERAGE": overNumbers(func(n []float64) (float64, bool) {
			return sumOf(n) / float64(max(1, len(n))), len(n) > 0
		}),
		"MIN":   overNumbers(func(n []float64) (float64, bool) { return least(n, 1), true }),
		"MAX":   overNumbers(func(n []float64) (float64, bool) { return -least(n, -1), true }),
		"COUNT": overNumbers(func(n []float64) (float64, bool) { return float64(len(n)), true }),
		"COUNTA": func(args []argument) (operand, error) {
			n := 0
			for _, v := range values(args) {
				if v.kind != Empty {
					n++
				}
			}
			return operand{kind: Number, number: float64(n)}, nil
		},
		"CONCATENATE": joinAll, "CONCAT": joinAll,
		"ROUND":     rounding,
		"IF":        choose,
		"IFERROR":   orElse,
		"HYPERLINK": func(args []argument) (operand, error) { return argumentAt(args, len(args)-1, 2) },
		"TRIM": func(args []argument) (operand, error) {
			v, err := argumentAt(args, 0, 1)
			return operand{kind: Text, text: strings.Join(strings.Fields(v.words()), " ")}, err
		},
	}
}

// overNumbers makes a function over all the numbers that are given; texts in ranges do not count.
func overNumbers(of func([]float64) (float64, bool)) func([]argument) (operand, error) {
	return func(args []argument) (operand, error) {
		var numbers []float64
		var format *Format
		for _, a := range args {
			list := a.cells
			if !a.isRange {
				list = []operand{a.operand}
			}
			for _, v := range list {
				switch {
				case v.kind == Number:
					numbers = append(numbers, v.number)
					format = v.format
				case a.isRange || v.kind == Empty:
				default:
					n, ok := v.figure()
					if !ok {
						return operand{}, errUnworked
					}
					numbers = append(numbers, n)
				}
			}
		}
		n, ok := of(numbers)
		if !ok {
			return operand{kind: Error, text: "#DIV/0!"}, nil
		}
		if !format.IsDate() {
			format = nil
		}
		return operand{kind: Number, number: n, format: format}, nil
	}
}

func sumOf(numbers []float64) (sum float64) {
	for _, n := range numbers {
		sum += n
	}
	return sum
}

func productOf(numbers []float64) (product float64) {
	if len(numbers) == 0 {
		return 0
	}
	product = 1
	for _, n := range numbers {
		product *= n
	}
	return product
}

// least returns the least of the numbers times a sign, 0 for none.
func least(numbers []float64, sign float64) float64 {
	if len(numbers) == 0 {
		return 0
	}
	best := math.Inf(1)
	for _, n := range numbers {
		best = min(best, sign*n)
	}
	return best
}

func argumentAt(args []argument, at, most int) (operand, error) {
	if at < 0 || at >= len(args) || len(args) > most || args[at].isRange {
		return operand{}, errUnworked
	}
	return args[at].operand, nil
}

func joinAll(args []argument) (operand, error) {
	var b strings.Builder
	for _, v := range values(args) {
		b.WriteString(v.words())
	}
	if b.Len() > longestFormula*8 {
		return operand{}, errUnworked
	}
	return operand{kind: Text, text: b.String()}, nil
}

func rounding(args []argument) (operand, error) {
	v, err := argumentAt(args, 0, 2)
	if err != nil || len(args) != 2 {
		return operand{}, errUnworked
	}
	n, ok1 := v.figure()
	places, ok2 := args[1].figure()
	if !ok1 || !ok2 || math.Abs(places) > 15 {
		return operand{}, errUnworked
	}
	scale := math.Pow(10, math.Trunc(places))
	text := strconv.FormatFloat(math.Round(n*scale)/scale, 'g', 15, 64)
	n, err = strconv.ParseFloat(text, 64)
	return operand{kind: Number, number: n, format: v.format}, err
}

func choose(args []argument) (operand, error) {
	if len(args) < 2 || len(args) > 3 || args[0].isRange {
		return operand{}, errUnworked
	}
	truth, ok := args[0].figure()
	switch {
	case !ok:
		return operand{}, errUnworked
	case truth != 0:
		return argumentAt(args, 1, 3)
	case len(args) == 2:
		return ofBool(false), nil
	}
	return argumentAt(args, 2, 3)
}

func orElse(args []argument) (operand, error) {
	if len(args) == 2 && args[0].kind == Error {
		return argumentAt(args, 1, 2)
	}
	return argumentAt(args, 0, 2)
}
