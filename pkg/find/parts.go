package find

import (
	"bytes"
	"math"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/quantity"
)

// Number is a decimal number that may be missing. It is exact to nine places, written without
// exponent, and comparable. The zero value is missing, which is not zero.
type Number struct {
	value quantity.Decimal
	known bool
}

// Int returns the number of an integer; beyond nine thousand million it is missing.
func Int(i int) Number {
	const most = math.MaxInt64 / 1_000_000_000
	if int64(i) > most || int64(i) < -most {
		return Number{}
	}
	return Number{quantity.Decimal(int64(i) * 1_000_000_000), true}
}

// Float returns the number nearest to f at nine places; NaN and what is too large is missing.
func Float(f float64) Number {
	if math.IsNaN(f) || math.Abs(f) > 9e9 {
		return Number{}
	}
	return Number{quantity.Decimal(math.RoundToEven(f * 1e9)), true}
}

// Known reports whether the number is given.
func (n Number) Known() bool { return n.known }

// IsZero reports whether the number is missing.
func (n Number) IsZero() bool { return !n.known }

// Decimal returns the value, zero if missing.
func (n Number) Decimal() quantity.Decimal { return n.value }

// Float returns the value, zero if missing.
func (n Number) Float() float64 { return float64(n.value) / 1e9 }

// Int returns the whole part of the value, zero if missing.
func (n Number) Int() int { return int(int64(n.value) / 1_000_000_000) }

// IsWhole reports whether the number is given and has no decimals.
func (n Number) IsWhole() bool { return n.known && int64(n.value)%1_000_000_000 == 0 }

// String writes the number as it stands in JSON; a missing number is empty text.
func (n Number) String() string {
	if !n.known {
		return ""
	}
	return n.value.String()
}

// ParseNumber reads a decimal number; empty text is a missing number.
func ParseNumber(s string) (Number, error) {
	if s == "" {
		return Number{}, nil
	}
	d, err := quantity.ParseDecimal(s)
	if err != nil {
		return Number{}, err
	}
	return Number{d, true}, nil
}

// MarshalJSONTo writes the shortest decimal without exponent.
func (n Number) MarshalJSONTo(enc *jsontext.Encoder) error {
	if !n.known {
		return enc.WriteToken(jsontext.Null)
	}
	return enc.WriteValue(jsontext.Value(n.value.String()))
}

// UnmarshalJSONFrom reads a JSON number of any spelling; what does not fit nine places is rounded
// half to even, what is too large is an error.
func (n *Number) UnmarshalJSONFrom(dec *jsontext.Decoder) error {
	v, err := dec.ReadValue()
	if err != nil {
		return err
	}
	if v.Kind() != '0' {
		return &json.SemanticError{JSONKind: v.Kind()}
	}
	d, err := quantity.ParseDecimal(string(v))
	if err != nil {
		var f float64
		if err := json.Unmarshal(v, &f); err != nil {
			return err
		}
		if *n = Float(f); !n.known {
			return &json.SemanticError{JSONKind: '0', Err: err}
		}
		return nil
	}
	*n = Number{d, true}
	return nil
}

// Text returns what to show: the words as written, else the label, else the code.
func (t *Term) Text() string {
	switch {
	case t == nil:
		return ""
	case t.Verbatim != "":
		return t.Verbatim
	case t.Label != "":
		return t.Label
	}
	return t.Code
}

// Is reports whether the term has one of the codes.
func (t *Term) Is(codes ...string) bool {
	if t == nil {
		return false
	}
	for _, c := range codes {
		if t.Code == c {
			return true
		}
	}
	return false
}

// HasValue reports whether a bound is given; a quantity that only has its text has none.
func (q *Quantity) HasValue() bool { return q != nil && (q.Min.known || q.Max.known) }

// Value returns the canonical part.
func (q *Quantity) Value() quantity.Quantity {
	if q == nil {
		return quantity.Quantity{}
	}
	unit, _ := quantity.ParseUnit(q.Unit)
	said, _ := quantity.ParseUnit(q.Said)
	return quantity.Quantity{
		Unit: unit, Said: said,
		Min: q.Min.bound(), Max: q.Max.bound(), Best: q.Best.bound(), Resolution: q.Resolution.bound(),
		Approximate: q.Approximate,
	}
}

// SetValue sets the canonical part and leaves the text as written.
func (q *Quantity) SetValue(v quantity.Quantity) {
	q.Min, q.Max, q.Best, q.Resolution = number(v.Min), number(v.Max), number(v.Best), number(v.Resolution)
	q.Unit, q.Said, q.Approximate = "", "", v.Approximate
	if v.Unit != quantity.NoUnit {
		q.Unit = v.Unit.String()
	}
	if v.Said != quantity.NoUnit {
		q.Said = v.Said.String()
	}
}

func (n Number) bound() quantity.Bound { return quantity.Bound{Value: n.value, Known: n.known} }

func number(b quantity.Bound) Number { return Number{b.Value, b.Known} }

// tooManyValues reports whether a JSON text has more values than the limit of the name allows. What is
// made of a value can be a hundred times longer than it: {} is a whole term, and draws a notice.
func tooManyValues(raw []byte, name string, most int64) *limit.Error {
	if int64(bytes.Count(raw, comma)) < most { // those in texts are counted with them, which is quick
		return nil
	}
	values := int64(1)
	for i := 0; i < len(raw); i++ {
		switch raw[i] {
		case ',':
			values++
		case '"':
			for i++; i < len(raw) && raw[i] != '"'; i++ {
				if raw[i] == '\\' {
					i++
				}
			}
		}
	}
	if values > most {
		return limit.Over(name, most)
	}
	return nil
}

var comma = []byte{','}

// CheckHeader reports whether the JSON of a report without its finds has more values than the limit
// HeaderValues allows.
func CheckHeader(raw []byte, limits limit.Limits) error {
	if over := tooManyValues(raw, "header-values", limits.WithDefaults().HeaderValues); over != nil {
		return TooLarge("json-too-large", 0, over)
	}
	return nil
}
