package upgrade

import (
	"slices"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/quantity"
)

// lengths are the units that a depth could have in the draft.
var lengths = []string{"mm", "cm", "m", "in", "ft", "yd"}

// deepest is the greatest depth in centimetres that a report can hold.
const deepest = 1000000

// depth turns {value, unit, atLeast} of the draft into an interval, and tells whether it did. The
// draft knew no step, so that none is made up; what else stands there, the words too, stays.
func (u *upgrader) depth(o *object, at string) bool {
	value, ok := o.get("value")
	if !ok {
		return false
	}
	for _, name := range []string{"min", "max", "said"} {
		if _, there := o.get(name); there {
			u.say(unclear, at+"/value", "there is an interval beside the single value")
			return false
		}
	}
	unit := "cm"
	if v, there := o.get("unit"); there {
		if unit, ok = o.text("unit"); !ok || !slices.Contains(lengths, unit) {
			u.say(unclear, at+"/unit", "this is not one of mm, cm, m, in, ft, yd, "+kindOf(v))
			return false
		}
	}
	open := false
	if v, there := o.get("atLeast"); there {
		if k := v.Kind(); k != 't' && k != 'f' {
			u.say(unclear, at+"/atLeast", "this is neither true nor false")
			return false
		}
		open = v.Kind() == 't'
	}
	said, err := quantity.ParseUnit(unit)
	if err != nil {
		return false
	}
	number, err := quantity.ParseDecimal(string(value))
	if err != nil || value.Kind() != '0' || number < 0 || number > quantity.Whole(deepest) {
		u.say(unclear, at+"/value", "this is not a number of "+unit+" from 0 on, with at most nine decimals, that a depth can have")
		return false
	}
	end := quantity.Bound{Value: number, Known: true}
	q := quantity.Quantity{Unit: said, Min: end}.In(quantity.CM)
	if q.Min.Value > quantity.Whole(deepest) {
		u.say(unclear, at+"/value", "this is deeper than a depth can be")
		return false
	}
	canonical := jsontext.Value(q.Min.Value.String())
	o.remove("value")
	o.remove("atLeast")
	o.set("min", canonical)
	if !open {
		o.set("max", canonical)
	}
	o.set("unit", jsontext.Value(`"cm"`))
	if unit != "cm" {
		o.set("said", jsontext.Value(quote(unit)))
	}
	message := "the single value is an interval now, in centimetres"
	if open {
		message = "the least value is an interval without an upper end now, in centimetres"
	}
	u.say(shapeChanged, at, message)
	return true
}

// kindOf says what a value is without quoting it.
func kindOf(v jsontext.Value) string {
	if v.Kind() == '"' {
		return "but another word"
	}
	return "and no text"
}
