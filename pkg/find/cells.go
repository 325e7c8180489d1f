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

// Flat yields every given leaf of a record in schema order. Its columns come last, each under
// the name "columns." and the sender's heading. Members that this version does not know have no
// flat name and are not yielded.
func Flat[T Record](record *T) iter.Seq[Cell] {
	return func(yield func(Cell) bool) {
		if !flatCells(tableOf(reflect.TypeFor[T]()).flat, reflect.ValueOf(record).Elem(), "", "", yield) {
			return
		}
		if columns := ColumnsOf(record); columns != nil && len(*columns) > 0 {
			for _, heading := range slices.Sorted(maps.Keys(*columns)) {
				if !yield(Cell{Name: "columns." + heading, Pointer: "/columns/" + notice.Escape(heading),
					Field: Field{Name: "columns", Pointer: "/columns", Kind: Text}, Text: (*columns)[heading]}) {
					return
				}
			}
		}
	}
}

// flatNode is one member of a struct, made ready for Flat. Its name and pointer begin at the record, or
// at the element of the list that the struct is in.
type flatNode struct {
	name, pointer string
	index         []int
	list, behind  bool       // it is a list; a pointer leads to each struct
	field         *Field     // nil: only what stands in it is given
	words         []int      // where a Term or Quantity has its words
	below         []flatNode // members of a struct
}

// flatNodes lays out the members of a struct type. Pattern is the name in the table.
func (b *table) flatNodes(root, t reflect.Type, name, pattern, pointer string) []flatNode {
	var out []flatNode
	for _, f := range structFields(t) {
		if f.name == "columns" && pattern == "" || root == reflect.TypeFor[Report]() && isRecordList(f.name) {
			continue
		}
		if f.ofPart && (f.name == "verbatim" || f.name == "unit") {
			continue
		}
		n := flatNode{name: name + f.name, pointer: pointer + "/" + f.name, index: f.index}
		own, ft := join(pattern, f.name), f.typ
		below, belowPointer := n.name+".", n.pointer
		if n.list = ft.Kind() == reflect.Slice && ft != valueType; n.list {
			ft, own, below, belowPointer = ft.Elem(), own+".#", ".", ""
		}
		if n.behind = ft.Kind() == reflect.Pointer && ft.Elem().Kind() == reflect.Struct; n.behind {
			ft = ft.Elem()
		}
		if at, ok := b.byName[own]; ok {
			n.field = &b.fields[at]
		}
		if n.field == nil || n.field.Kind == TermText || n.field.Kind == QuantityText {
			if n.field != nil {
				words, _ := ft.FieldByName("Verbatim")
				n.words = words.Index
			}
			n.below = b.flatNodes(root, ft, below, own, belowPointer)
		}
		out = append(out, n)
	}
	return out
}

// flatCells yields what is given of the members of a struct. Name and pointer lead to the element of a
// list that it is in; they are empty for a record.
func flatCells(nodes []flatNode, v reflect.Value, name, pointer string, yield func(Cell) bool) bool {
	for i := range nodes {
		n := &nodes[i]
		fv := v.FieldByIndex(n.index)
		if fv.IsZero() {
			continue
		}
		at, to := n.name, n.pointer
		if name != "" {
			at, to = name+at, pointer+to
		}
		if !n.list {
			if !n.cells(fv, at, to, name, pointer, yield) {
				return false
			}
			continue
		}
		for i := range fv.Len() {
			at, to := at+"."+strconv.Itoa(i+1), to+"/"+strconv.Itoa(i)
			if !n.cells(fv.Index(i), at, to, at, to, yield) {
				return false
			}
		}
	}
	return true
}

// cells yields one value and what stands in it. In is the element of a list that its members are in.
func (n *flatNode) cells(v reflect.Value, name, pointer, in, inPointer string, yield func(Cell) bool) bool {
	if n.behind {
		v = v.Elem()
	}
	if n.field != nil {
		text := ""
		switch {
		case n.words != nil:
			text = v.FieldByIndex(n.words).String()
		case n.field.Kind == Decimal && v.CanAddr():
			text = v.Addr().Interface().(*Number).String()
		default:
			text = leafText(n.field.Kind, v)
		}
		if text != "" && !yield(Cell{Name: name, Pointer: pointer, Field: *n.field, Text: text}) {
			return false
		}
	}
	return len(n.below) == 0 || flatCells(n.below, v, in, inPointer, yield)
}
