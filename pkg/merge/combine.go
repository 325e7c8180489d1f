package merge

import (
	"bytes"
	"maps"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/find"
)

// told is what one source says of a record.
type told struct {
	from   string // label of the source
	object map[string]jsontext.Value
	absent map[string]string
	coarse map[string]string // generalised
}

// tell takes a record apart into its members.
func tell(from string, record any) (t told, err error) {
	raw, err := find.Marshal(record)
	if err != nil {
		return t, err
	}
	t.from = from
	if err = json.Unmarshal(raw, &t.object); err != nil {
		return t, err
	}
	for name, to := range map[string]*map[string]string{"absent": &t.absent, "generalised": &t.coarse} {
		if v := t.object[name]; len(v) > 0 {
			err = json.Unmarshal(v, to)
		}
		delete(t.object, name)
	}
	return t, err
}

// marks are the entries of a map of marks that lie at or below a member.
func marks(all map[string]string, member string) map[string]string {
	out := map[string]string{}
	for pointer, text := range all {
		if pointer == "/"+member || strings.HasPrefix(pointer, "/"+member+"/") {
			out[pointer] = text
		}
	}
	return out
}

// option is one value of a member, and who says so.
type option struct {
	value          jsontext.Value
	from           []string
	absent, coarse map[string]string
}

// less reports whether less is told of the member than a source knows.
func (o *option) less() bool {
	for _, why := range o.absent {
		if why == "withheld" {
			return true
		}
	}
	return len(o.coarse) > 0
}

// gathered are lists to which every source may add.
var gathered = map[string]bool{"opinions": true, "otherNumbers": true, "notified": true, "custody": true,
	"media": true, "replaces": true, "associated": true, "otherPositions": true, "otherDepths": true,
	"otherDatings": true, "sensitivityReasons": true, "people": true, "roles": true, "consents": true}

// aside are members over which nobody is asked.
var aside = map[string]bool{"id": true, "source": true, "changed": true, "recorded": true}

// combine makes one record of what several sources say of it. What one withholds, or has coarser, never stands
// against what another has. Where values remain that contradict each other, pick chooses one, or none.
func combine(list []told, pick func(member string, options []option) int) (object map[string]jsontext.Value) {
	object = map[string]jsontext.Value{}
	names := map[string]bool{}
	for _, t := range list {
		for name := range t.object {
			names[name] = true
		}
	}
	absent, coarse := map[string]string{}, map[string]string{}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		options := settled(optionsOf(list, name))
		at := 0
		switch {
		case len(options) == 1:
		case aside[name]:
			if name == "changed" {
				at = len(options) - 1
			}
		case gathered[name]:
			options = []option{gather(options)}
		case name == "columns":
			if one, ok := united(options); ok {
				options = []option{one}
			} else {
				at = pick(name, options)
			}
		default:
			at = pick(name, options)
		}
		object[name] = options[at].value
		maps.Copy(absent, options[at].absent)
		maps.Copy(coarse, options[at].coarse)
	}
	for _, t := range list {
		for pointer, why := range t.absent {
			member, _, deeper := strings.Cut(strings.TrimPrefix(pointer, "/"), "/")
			if old, there := absent[pointer]; !names[member] && !deeper && (!there || old == "withheld" ||
				why != "withheld" && why < old) {
				absent[pointer] = why
			}
		}
	}
	for name, marked := range map[string]map[string]string{"absent": absent, "generalised": coarse} {
		if len(marked) > 0 {
			raw, err := json.Marshal(marked, json.Deterministic(true))
			if err == nil {
				object[name] = raw
			}
		}
	}
	return object
}

// optionsOf are the different values of a member, in the order of their bytes.
func optionsOf(list []told, name string) (out []option) {
	for _, t := range list {
		value := t.object[name]
		if len(value) == 0 {
			continue
		}
		i := slices.IndexFunc(out, func(o option) bool { return bytes.Equal(o.value, value) })
		if i < 0 {
			i = len(out)
			out = append(out, option{value: value, absent: marks(t.absent, name), coarse: marks(t.coarse, name)})
		} else if fresh := (option{absent: marks(t.absent, name), coarse: marks(t.coarse, name)}); !fresh.less() {
			out[i].absent, out[i].coarse = fresh.absent, fresh.coarse
		}
		out[i].from = append(out[i].from, t.from)
	}
	slices.SortFunc(out, func(a, b option) int { return bytes.Compare(a.value, b.value) })
	return out
}

// settled leaves out values that say less than another does.
func settled(options []option) []option {
	if slices.ContainsFunc(options, func(o option) bool { return !o.less() }) {
		options = slices.DeleteFunc(options, func(o option) bool { return o.less() })
	}
	var out []option
	for i, o := range options {
		if !slices.ContainsFunc(options, func(other option) bool { return saysMore(&other, &options[i]) }) {
			out = append(out, o)
		}
	}
	return out
}

// saysMore reports whether one value says all that another says, and more: members that the other lacks, or a
// finer square.
func saysMore(a, b *option) bool {
	for pointer, how := range b.coarse {
		if finer(a.coarse[pointer], how) {
			return true
		}
	}
	var x, y any
	if json.Unmarshal(a.value, &x) != nil || json.Unmarshal(b.value, &y) != nil {
		return false
	}
	return partOf(y, x) && !partOf(x, y)
}

// finer reports whether one way of making coarser leaves more than another.
func finer(how, than string) bool {
	side, grid := strings.CutPrefix(how, "grid-")
	other, isGrid := strings.CutPrefix(than, "grid-")
	if !grid || !isGrid {
		return how == "month" && than == "year"
	}
	a, errA := find.ParseNumber(side)
	b, errB := find.ParseNumber(other)
	return errA == nil && errB == nil && a.Known() && b.Known() && a.Decimal() < b.Decimal()
}

// partOf reports whether a value says nothing that another does not say too, member by member.
func partOf(a, b any) bool {
	switch a := a.(type) {
	case map[string]any:
		b, ok := b.(map[string]any)
		for name, value := range a {
			other, has := b[name]
			ok = ok && has && partOf(value, other)
		}
		return ok
	case []any:
		b, ok := b.([]any)
		ok = ok && len(a) == len(b)
		for i := range a {
			ok = ok && partOf(a[i], b[i])
		}
		return ok
	}
	switch b.(type) {
	case map[string]any, []any:
		return false
	}
	return a == b
}

// gather makes one list of several: the longest, and what the others have beside it.
func gather(options []option) option {
	var lists [][]jsontext.Value
	out := option{absent: map[string]string{}, coarse: map[string]string{}}
	for _, o := range options {
		var items []jsontext.Value
		if json.Unmarshal(o.value, &items) == nil {
			lists = append(lists, items)
		}
		out.from = append(out.from, o.from...)
		maps.Copy(out.coarse, o.coarse)
	}
	slices.SortStableFunc(lists, func(a, b []jsontext.Value) int { return len(b) - len(a) })
	var all []jsontext.Value
	for _, items := range lists {
		for _, item := range items {
			if !slices.ContainsFunc(all, func(v jsontext.Value) bool { return bytes.Equal(v, item) }) {
				all = append(all, item)
			}
		}
	}
	out.value, _ = json.Marshal(all)
	return out
}

// united makes one map of several that do not contradict each other.
func united(options []option) (out option, ok bool) {
	all := map[string]string{}
	for _, o := range options {
		var one map[string]string
		if json.Unmarshal(o.value, &one) != nil {
			return out, false
		}
		for name, text := range one {
			if old, there := all[name]; there && old != text {
				return out, false
			}
			all[name] = text
		}
		out.from = append(out.from, o.from...)
	}
	raw, err := json.Marshal(all, json.Deterministic(true))
	out.value = raw
	return out, err == nil
}
