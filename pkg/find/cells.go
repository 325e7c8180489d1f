package find

import (
	"iter"
	"maps"
	"reflect"
	"slices"
	"strconv"

	"github.com/findslip/findslip/pkg/notice"
)

// A Cell is one given leaf of a record.
type Cell struct {
	Name    string // flat name with positions
	Pointer string
	Field   Field
	Text    string
}

// Flat yields every given leaf of a record in schema order. Find.Columns comes last, each under
// the name "columns." and the sender's heading. Members that this version does not know have no
// flat name and are not yielded.
func Flat[T Record](record *T) iter.Seq[Cell] {
	return func(yield func(Cell) bool) {
		root := reflect.TypeFor[T]()
		w := &flatWalk{table: tableOf(root), yield: yield, root: root}
		if !w.fields(reflect.ValueOf(record).Elem(), "", "", "") {
			return
		}
		if f, ok := any(record).(*Find); ok {
			for _, heading := range slices.Sorted(maps.Keys(f.Columns)) {
				if !yield(Cell{Name: "columns." + heading, Pointer: "/columns/" + notice.Escape(heading),
					Field: Field{Name: "columns", Pointer: "/columns", Kind: Text}, Text: f.Columns[heading]}) {
					return
				}
			}
		}
	}
}

type flatWalk struct {
	table *table
	yield func(Cell) bool
	root  reflect.Type
}

func (w *flatWalk) fields(v reflect.Value, name, pattern, pointer string) bool {
	for _, f := range structFields(v.Type()) {
		if f.name == "columns" && pattern == "" || w.root == reflect.TypeFor[Report]() && isRecordList(f.name) {
			continue
		}
		if f.ofPart && (f.name == "verbatim" || f.name == "unit") {
			continue
		}
		fv := v.FieldByIndex(f.index)
		if fv.IsZero() {
			continue
		}
		n, pt, pr := join(name, f.name), join(pattern, f.name), pointer+"/"+f.name
		if fv.Kind() == reflect.Slice && fv.Type() != valueType {
			for i := range fv.Len() {
				at := strconv.Itoa(i + 1)
				if !w.value(fv.Index(i), n+"."+at, pt+".#", pr+"/"+strconv.Itoa(i)) {
					return false
				}
			}
			continue
		}
		if !w.value(fv, n, pt, pr) {
			return false
		}
	}
	return true
}

func (w *flatWalk) value(v reflect.Value, name, pattern, pointer string) bool {
	if v.Kind() == reflect.Pointer && v.Type().Elem().Kind() == reflect.Struct {
		v = v.Elem()
	}
	if at, ok := w.table.byName[pattern]; ok {
		field := w.table.fields[at]
		if text := leafText(field.Kind, v); text != "" {
			if !w.yield(Cell{Name: name, Pointer: pointer, Field: field, Text: text}) {
				return false
			}
		}
		if field.Kind != TermText && field.Kind != QuantityText {
			return true
		}
	}
	return w.fields(v, name, pattern, pointer)
}
