package find

import (
	"maps"
	"reflect"
	"slices"
	"strconv"
	"sync"
	"unsafe"

	"github.com/go-json-experiment/json/jsontext"
)

// AppendProperties appends what Flat yields of a find as members of a JSON object, each behind a
// comma: ,"depth.min":10.16. Numbers, flags and JSON keep their type. The id is left out, and so are
// longitude and latitude of the position where placed says that they stand elsewhere. Members that
// are not known are none of them. A text that is no UTF-8 is an error.
func AppendProperties(b []byte, f *Find, placed bool) ([]byte, error) {
	start := len(b)
	w := propertyWriter{b: b, placed: placed}
	if w.members(propertyPlan(), unsafe.Pointer(f), nil) && w.columns(f.Columns) {
		return w.b, nil
	}
	return appendCells(w.b[:start], f, placed)
}

// appendCells does it cell by cell.
func appendCells(b []byte, f *Find, placed bool) ([]byte, error) {
	for c := range Flat(f) {
		if c.Name == "id" || placed && isAxis(c.Name) {
			continue
		}
		var err error
		if b, err = jsontext.AppendQuote(append(b, ','), c.Name); err != nil {
			return b, err
		}
		b = append(b, ':')
		switch c.Field.Kind {
		case Decimal, Flag, JSON:
			b = append(b, c.Text...)
			continue
		}
		if b, err = jsontext.AppendQuote(b, c.Text); err != nil {
			return b, err
		}
	}
	return b, nil
}

func isAxis(name string) bool { return name == "position.longitude" || name == "position.latitude" }

// property is one member of a struct as flatNode has it, with its place in memory.
type property struct {
	name   string // from the record, or from the element of the list that the struct is in: .code
	key    string // ,"depth.min": for one that is in no list
	kind   FieldKind
	axis   bool // of the position, which stand elsewhere
	offset uintptr
	list   bool
	size   uintptr // of an element of a list
	behind bool    // a pointer leads to each struct or flag
	words  uintptr // where a Term or Quantity has its words
	below  []property
	sign   uintptr // where the word lies without which there is nothing to write, for those that have one
	signed bool
}

var propertyPlan = sync.OnceValue(func() []property {
	t := reflect.TypeFor[Find]()
	return propertiesOf(tableOf(t).flat, t)
})

func propertiesOf(nodes []flatNode, t reflect.Type) []property {
	var out []property
	for i := range nodes {
		n := &nodes[i]
		if n.name == "id" {
			continue
		}
		offset, ft := fieldAt(t, n.index)
		p := property{name: n.name, key: `,"` + n.name + `":`, axis: isAxis(n.name), offset: offset, list: n.list, behind: n.behind}
		if n.field != nil {
			p.kind = n.field.Kind
		}
		if n.list {
			ft = ft.Elem()
			p.size = ft.Size()
		}
		if ft.Kind() == reflect.Pointer && p.kind != JSON {
			p.behind, ft = true, ft.Elem()
		}
		if n.words != nil {
			p.words, _ = fieldAt(ft, n.words)
		}
		if len(n.below) > 0 {
			p.below = propertiesOf(n.below, ft)
		}
		p.setSign()
		out = append(out, p)
	}
	return out
}

// setSign says by which word it is seen that nothing is given: the length of a text or a list, the address of a
// struct.
func (p *property) setSign() {
	const word = unsafe.Sizeof(uintptr(0))
	switch {
	case p.list, p.kind == Text && !p.behind:
		p.sign, p.signed = p.offset+word, true
	case p.behind:
		p.sign, p.signed = p.offset, true
	}
}

// fieldAt returns where a field of a struct is, and its type.
func fieldAt(t reflect.Type, index []int) (offset uintptr, ft reflect.Type) {
	for _, i := range index {
		f := t.Field(i)
		offset, t = offset+f.Offset, f.Type
	}
	return offset, t
}

// propertyWriter writes properties. Its methods return false where they cannot.
type propertyWriter struct {
	b      []byte
	placed bool
	room   [64]byte
}

// members writes what is given of a struct. In is how the names of an element of a list begin: ,"materials.1
func (w *propertyWriter) members(list []property, at unsafe.Pointer, in []byte) bool {
	for i := range list {
		p := &list[i]
		if p.signed && *(*uintptr)(unsafe.Add(at, p.sign)) == 0 {
			continue // as most are
		}
		field := unsafe.Add(at, p.offset)
		if !p.list {
			if !w.value(p, field, in) {
				return false
			}
			continue
		}
		items := *(*[]byte)(field) // any list begins in the same way: with its address and its length
		first := unsafe.Pointer(unsafe.SliceData(items))
		for k := range len(items) {
			name := w.room[:0]
			if in == nil {
				name = append(name, `,"`...)
			} else {
				name = append([]byte(nil), in...)
			}
			name = strconv.AppendInt(append(append(name, p.name...), '.'), int64(k)+1, 10)
			if !w.item(p, unsafe.Add(first, uintptr(k)*p.size), name) {
				return false
			}
		}
	}
	return true
}

// value writes a member that is no list, and what stands in it.
func (w *propertyWriter) value(p *property, at unsafe.Pointer, in []byte) bool {
	if p.behind {
		if at = *(*unsafe.Pointer)(at); at == nil {
			return true
		}
	}
	if w.has(p, at) {
		if in == nil {
			w.b = append(w.b, p.key...)
		} else {
			w.b = append(append(append(w.b, in...), p.name...), `":`...)
		}
		if !w.leaf(p, at) {
			return false
		}
	}
	return len(p.below) == 0 || w.members(p.below, at, in)
}

// item writes an element of a list, and what stands in it. Name is how its names begin.
func (w *propertyWriter) item(p *property, at unsafe.Pointer, name []byte) bool {
	if p.behind {
		if at = *(*unsafe.Pointer)(at); at == nil {
			return false
		}
	}
	if w.has(p, at) {
		w.b = append(append(w.b, name...), `":`...)
		if !w.leaf(p, at) {
			return false
		}
	}
	return len(p.below) == 0 || w.members(p.below, at, name)
}

// has tells whether a member has a value itself.
func (w *propertyWriter) has(p *property, at unsafe.Pointer) bool {
	switch p.kind {
	case Text:
		return len(*(*string)(at)) > 0
	case TermText, QuantityText:
		return len(*(*string)(unsafe.Add(at, p.words))) > 0
	case Decimal:
		return (*Number)(at).known && !(w.placed && p.axis)
	case Flag:
		return p.behind || *(*bool)(at)
	case PointerMap:
		return len(*(*map[string]string)(at)) > 0
	case JSON:
		return p.behind || *(*unsafe.Pointer)(at) != nil // a pointer, or text, which begins with an address
	}
	return false // only what stands in it is given
}

// leaf writes the value that a member has itself.
func (w *propertyWriter) leaf(p *property, at unsafe.Pointer) bool {
	switch p.kind {
	case Text:
		return w.text(*(*string)(at))
	case TermText, QuantityText:
		return w.text(*(*string)(unsafe.Add(at, p.words)))
	case Decimal:
		w.b = (*Number)(at).value.Append(w.b)
	case Flag:
		w.b = strconv.AppendBool(w.b, *(*bool)(at))
	case PointerMap:
		return w.text(formatPointerMap(*(*map[string]string)(at)))
	default:
		return false
	}
	return true
}

func (w *propertyWriter) text(s string) (ok bool) {
	w.b, _, _, ok = appendQuoted(w.b, s)
	return ok
}

func (w *propertyWriter) columns(m map[string]string) bool {
	if len(m) == 0 {
		return true
	}
	for _, heading := range slices.Sorted(maps.Keys(m)) {
		var ok bool
		if w.b, _, _, ok = appendQuoted(append(w.b, ','), "columns."+heading); !ok {
			return false
		}
		if w.b, _, _, ok = appendQuoted(append(w.b, ':'), m[heading]); !ok {
			return false
		}
	}
	return true
}
