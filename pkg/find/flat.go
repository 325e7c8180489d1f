package find

import (
	"bytes"
	"cmp"
	"iter"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

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
		if !walk(&treeOf[T]().top, any(record).(object), nil, func(s spot, leaf any) bool {
			text := leafText(leaf)
			return text == "" || yield(Cell{Name: s.name(), Pointer: s.pointer(), Field: *s.node.field, Text: text})
		}) {
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

// spot is a node in a certain record: in which item of a list it stands, and which item of its own list it is.
type spot struct {
	in   *spot // nil: in the record itself
	node *node
	item int // -1: it is no item
}

func (s spot) name() string {
	if s.in == nil && s.item < 0 {
		return s.node.name
	}
	var room [64]byte
	return string(s.appendName(room[:0]))
}

func (s spot) appendName(b []byte) []byte {
	if s.in != nil {
		b = s.in.appendName(b)
	}
	if b = append(b, s.node.name...); s.item >= 0 {
		b = strconv.AppendInt(append(b, '.'), int64(s.item)+1, 10)
	}
	return b
}

func (s spot) pointer() string {
	switch {
	case s.in == nil && s.item < 0:
		return s.node.pointer
	case s.in == nil && s.item < len(s.node.first):
		return s.node.first[s.item]
	}
	var room [64]byte
	return string(s.appendPointer(room[:0]))
}

func (s spot) appendPointer(b []byte) []byte {
	if s.in != nil {
		b = s.in.appendPointer(b)
	}
	if b = append(b, s.node.pointer...); s.item >= 0 {
		b = strconv.AppendInt(append(b, '/'), int64(s.item), 10)
	}
	return b
}

// walk goes through the given leaves of an object that have a field, in schema order: the words of a Term or
// Quantity before its parts. It ends when see returns false.
func walk(l *level, o object, in *spot, see func(s spot, leaf any) bool) bool {
	for i := o.next(0); i >= 0; i = o.next(i + 1) {
		n := &l.nodes[i]
		if n.skip {
			continue
		}
		switch n.member.kind {
		case objectKind:
			if !walkObject(spot{in, n, -1}, o.child(i, false), in, see) {
				return false
			}
		case listKind:
			items := o.list(i)
			for k := range items.length() {
				item := &spot{in, n, k}
				if !walkObject(*item, items.item(k), item, see) {
					return false
				}
			}
		case textsKind:
			texts := *o.leaf(i).(*[]string)
			for k := range texts {
				if !see(spot{in, n, k}, &texts[k]) {
					return false
				}
			}
		default:
			if !see(spot{in, n, -1}, o.leaf(i)) {
				return false
			}
		}
	}
	return true
}

// walkObject does so for the object at a spot. In is the item that its members are in.
func walkObject(s spot, o object, in *spot, see func(s spot, leaf any) bool) bool {
	if f := s.node.field; f != nil && !see(s, cellOf(f.Kind, o)) {
		return false
	}
	return len(s.node.below.nodes) == 0 || walk(&s.node.below, o, in, see)
}

// cellOf returns what the cell of an object holds: its words, or itself where it is JSON.
func cellOf(k FieldKind, o object) any {
	switch k {
	case TermText:
		return &TermOf(o).Verbatim
	case QuantityText:
		return &QuantityOf(o).Verbatim
	}
	return o
}

// leafText returns a leaf as the text of a cell, empty if it is not given.
func leafText(leaf any) string {
	switch v := leaf.(type) {
	case *string:
		return *v
	case *Number:
		return v.String()
	case *bool:
		if *v {
			return "true"
		}
	case **bool:
		if *v != nil {
			return strconv.FormatBool(**v)
		}
	case *map[string]string:
		return formatPointerMap(*v)
	case *jsontext.Value:
		c := v.Clone()
		if len(c) > 0 && c.Compact() != nil {
			return string(*v)
		}
		return string(c)
	case object:
		if b, err := appendObject(nil, v); err == nil && string(b) != "{}" {
			return string(b)
		}
	}
	return ""
}

// AppendProperties appends what Flat yields of a record as members of a JSON object, each behind a
// comma: ,"depth.min":10.16. Numbers, flags and JSON keep their type. The id is left out, and so are
// longitude and latitude of the position where placed says that they stand elsewhere. A text that is no UTF-8 is
// an error.
func AppendProperties[T Record](b []byte, r *T, placed bool) ([]byte, error) {
	var w writer
	walk(&treeOf[T]().top, any(r).(object), nil, func(s spot, leaf any) bool {
		switch name := s.node.name; {
		case name == "id", placed && (name == "position.longitude" || name == "position.latitude"):
		case has(leaf):
			b = append(s.appendName(append(b, `,"`...)), `":`...)
			at := len(b)
			if b = w.property(b, leaf); s.node.field.Kind == Decimal {
				b = pointed(b, at, s.node.field)
			}
		}
		return true
	})
	var few [16]string
	columns := *ColumnsOf(r)
	for _, heading := range SortedKeys(few[:0], columns) {
		b = w.text(append(w.text(append(b, ','), "columns."+heading), ':'), columns[heading])
	}
	return b, w.err
}

// pointed gives the number that begins at a place a decimal point where its field may have decimals, so that programs
// which tell types by what they see do not take a column of a map for whole numbers in one season and not in the next.
func pointed(b []byte, at int, f *Field) []byte {
	if f.Unit == "" && !fractions[f.Name[strings.LastIndexByte(f.Name, '.')+1:]] || bytes.ContainsAny(b[at:], ".eE") {
		return b
	}
	return append(b, ".0"...)
}

// fractions are members without a unit of their own that may have decimals.
var fractions = map[string]bool{"longitude": true, "latitude": true, "uncertainty": true, "share": true,
	"resolution": true}

// has reports whether a leaf of an object that is given has something to show.
func has(leaf any) bool {
	switch v := leaf.(type) {
	case *string:
		return *v != ""
	case *map[string]string:
		return len(*v) > 0
	case *jsontext.Value:
		return len(*v) > 0
	case object:
		return leafText(v) != ""
	}
	return true
}

func (w *writer) property(b []byte, leaf any) []byte {
	switch v := leaf.(type) {
	case *string:
		return w.text(b, *v)
	case *Number:
		return v.value.Append(b)
	case *map[string]string:
		return w.text(b, formatPointerMap(*v))
	}
	return append(b, leafText(leaf)...)
}

// formatPointerMap writes a map of pointers as flat names: "depth=not-measured; position=withheld".
func formatPointerMap(m map[string]string) string {
	var few [16]string
	keys := SortedKeys(few[:0], m)
	if len(keys) > 1 {
		slices.SortFunc(keys, func(a, b string) int {
			return cmp.Or(notice.ComparePointers(a, b), strings.Compare(a, b)) // /depth and depth lead to one member
		})
	}
	var room [256]byte
	b := room[:0]
	for i, k := range keys {
		if i > 0 {
			b = append(b, "; "...)
		}
		b = append(append(append(b, NameOf(k)...), '='), m[k]...)
	}
	return string(b)
}

// SortedKeys appends the keys of a map of a record in order. Most maps have few, so that room for them on the stack is
// enough.
func SortedKeys(room []string, m map[string]string) []string {
	for key := range m {
		room = append(room, key)
	}
	slices.Sort(room)
	return room
}

// Unknown yields the flat name of every object within a record that holds members this version
// does not know; the record itself is the empty name. Such members have no flat name.
func Unknown[T Record](record *T) iter.Seq[string] {
	return slices.Values(unknownIn(any(record).(object)))
}

// unknownIn returns the names from the object on.
func unknownIn(o object) (names []string) {
	if len(*o.unknown()) > len("{}") {
		names = append(names, "")
	}
	members := o.shape().members
	for i := o.next(0); i >= 0; i = o.next(i + 1) {
		m := &members[i]
		switch {
		case m.of == shapeOfArea: // it is in one cell, with all that stands in it
		case m.kind == objectKind:
			for _, name := range unknownIn(o.child(i, false)) {
				names = append(names, below(m.name, name))
			}
		case m.kind == listKind:
			l := o.list(i)
			for k := range l.length() {
				for _, name := range unknownIn(l.item(k)) {
					names = append(names, below(m.name+"."+strconv.Itoa(k+1), name))
				}
			}
		}
	}
	return names
}

// below returns the name of what is below an object.
func below(object, name string) string {
	if name == "" {
		return object
	}
	return object + "." + name
}
