package find

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unsafe"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/notice"
)

// FieldKind says what a cell of a field holds.
type FieldKind uint8

// The kinds of field.
const (
	Text         FieldKind = iota + 1 // words, codes, ids, dates in canonical form
	Decimal                           // a Number
	Flag                              // true or false
	TermText                          // the words of a Term; its canonical parts are fields of their own
	QuantityText                      // the words of a Quantity; likewise
	PointerMap                        // absent and generalised: "depth=not-measured; position=withheld"
	JSON                              // a JSON value in one cell
)

// A Field is one leaf of a record: its pointer, its flat name and what a cell of it holds. In a
// list the position is "#".
type Field struct {
	Name    string // flat name: materials.#.certainty
	Pointer string // JSON Pointer: /materials/#/certainty
	Kind    FieldKind
	Unit    string // the unit its number is in, if it has one: cm, mm, g
	Part    bool   // a canonical part of the Term or Quantity named before the last dot
	Private string // place, person or value: messages never quote it
	List    string // the code list its codes come from, if it has one
}

// FieldsOf returns the table of fields of a Find, Person, Permission, Outing or Report, in the
// order of the schema. The lists of a report's people, permissions, outings and finds are not
// part of it, nor are columns, whose names are the sender's own.
func FieldsOf[T Record]() []Field {
	return tableOf(reflect.TypeFor[T]()).fields
}

// Record is what has a table of fields.
type Record interface {
	Find | Person | Permission | Outing | Report
}

type table struct {
	fields []Field
	byName map[string]int
	flat   []flatNode // in the order of the schema
}

var tables sync.Map // reflect.Type to *table

func tableOf(t reflect.Type) *table {
	if v, ok := tables.Load(t); ok {
		return v.(*table)
	}
	b := &table{byName: map[string]int{}}
	b.walk(t, t, "", "", "", "")
	b.flat = b.flatNodes(t, t, "", "", "")
	v, _ := tables.LoadOrStore(t, b)
	return v.(*table)
}

func (b *table) add(f Field) {
	b.byName[f.Name] = len(b.fields)
	b.fields = append(b.fields, f)
}

var (
	termType     = reflect.TypeFor[Term]()
	quantityType = reflect.TypeFor[Quantity]()
	numberType   = reflect.TypeFor[Number]()
	valueType    = reflect.TypeFor[jsontext.Value]()
	areaType     = reflect.TypeFor[Area]()
	mapType      = reflect.TypeFor[map[string]string]()
)

// walk adds the fields of struct type t under the prefix.
func (b *table) walk(root, t reflect.Type, name, pointer, unit, private string) {
	for _, f := range structFields(t) {
		ft := deref(f.typ)
		fu, fp := pick(f.unit, unit), pick(f.private, private)
		n, p := join(name, f.name), pointer+"/"+f.name
		if f.name == "columns" || (root == reflect.TypeFor[Report]() && isRecordList(f.name)) {
			continue
		}
		if ft.Kind() == reflect.Slice && ft != valueType {
			ft, n, p = deref(ft.Elem()), n+".#", p+"/#"
		}
		b.leafOrWalk(root, ft, n, p, inherited{fu, fp, f.list}, t == termType || t == quantityType)
	}
}

func isRecordList(name string) bool {
	return name == "people" || name == "permissions" || name == "outings" || name == "finds"
}

// inherited is what a field has from its tags or from the member it stands in.
type inherited struct{ unit, private, list string }

func (b *table) leafOrWalk(root, ft reflect.Type, n, p string, from inherited, part bool) {
	leaf := Field{Name: n, Pointer: p, Private: from.private, List: from.list, Part: part}
	switch {
	case ft == numberType:
		leaf.Kind, leaf.Unit = Decimal, from.unit
	case ft.Kind() == reflect.String:
		leaf.Kind = Text
	case ft.Kind() == reflect.Bool:
		leaf.Kind = Flag
	case ft == mapType:
		leaf.Kind = PointerMap
	case ft == valueType, ft == areaType:
		leaf.Kind = JSON
	case is(ft, termType):
		leaf.Kind, leaf.Part = TermText, false
		b.add(leaf)
		b.walkParts(root, ft, n, p, from)
		return
	case is(ft, quantityType):
		leaf.Kind, leaf.Part, leaf.Unit = QuantityText, false, from.unit
		b.add(leaf)
		b.walkParts(root, ft, n, p, from)
		return
	default:
		b.walk(root, ft, n, p, from.unit, from.private)
		return
	}
	b.add(leaf)
}

// walkParts adds what stands inside a Term or Quantity, or a struct that embeds one.
func (b *table) walkParts(root, t reflect.Type, name, pointer string, from inherited) {
	for _, f := range structFields(t) {
		if f.name == "verbatim" && f.ofPart || f.name == "unit" && f.ofPart {
			continue
		}
		ft, n, p := deref(f.typ), join(name, f.name), pointer+"/"+f.name
		own := inherited{from.unit, from.private, f.list}
		if f.name == "code" && f.ofPart {
			own.list = from.list
		}
		b.leafOrWalk(root, ft, n, p, own, f.ofPart)
	}
}

// is tells whether t is the base type or embeds it.
func is(t, base reflect.Type) bool {
	if t == base {
		return true
	}
	if t.Kind() != reflect.Struct || t.NumField() == 0 {
		return false
	}
	first := t.Field(0)
	return first.Anonymous && first.Type == base
}

type structField struct {
	name, unit, private, list string
	typ                       reflect.Type
	index                     []int
	ofPart                    bool // it belongs to a Term or Quantity
}

var fieldCache sync.Map // reflect.Type to []structField

// structFields lists the JSON members of a struct in order, those of embedded structs in place.
func structFields(t reflect.Type) []structField {
	if v, ok := fieldCache.Load(t); ok {
		return v.([]structField)
	}
	var out []structField
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			for _, g := range structFields(f.Type) {
				g.index = append([]int{i}, g.index...)
				g.ofPart = true
				out = append(out, g)
			}
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" {
			continue
		}
		out = append(out, structField{
			name: name, unit: f.Tag.Get("unit"), private: f.Tag.Get("private"), list: f.Tag.Get("list"),
			typ: f.Type, index: []int{i}, ofPart: t == termType || t == quantityType,
		})
	}
	fieldCache.Store(t, out)
	return out
}

func deref(t reflect.Type) reflect.Type {
	if t.Kind() == reflect.Pointer {
		return t.Elem()
	}
	return t
}

func pick(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "." + b
}

// A Path is a flat name made ready for use, such as materials.1.certainty. It is safe for
// concurrent use.
type Path struct {
	Name    string // materials.1.certainty
	Pointer string // /materials/0/certainty
	Field   Field
	steps   []step
	quick   *setPlan
}

type step struct {
	index []int
	elem  int // position in a list, -1 if none
}

// maxElem bounds the position in a list that a flat name may ask for.
const maxElem = 1000

// PathTo compiles a flat name of a T. Lists count from 1.
func PathTo[T Record](name string) (*Path, error) {
	t := reflect.TypeFor[T]()
	p := &Path{Name: name}
	var pattern, pointer []string
	segments := strings.Split(name, ".")
	cur := t
	for i := 0; i < len(segments); i++ {
		f, ok := memberOf(cur, segments[i])
		if !ok {
			return nil, fmt.Errorf("no field is named %q", name)
		}
		s := step{index: f.index, elem: -1}
		pattern, pointer = append(pattern, f.name), append(pointer, f.name)
		cur = deref(f.typ)
		if cur.Kind() == reflect.Slice && cur != valueType {
			if i+1 == len(segments) {
				return nil, fmt.Errorf("field %q is a list: write %s.1 for the first", name, name)
			}
			n, err := strconv.Atoi(segments[i+1])
			if err != nil || n < 1 || n > maxElem || segments[i+1] != strconv.Itoa(n) {
				return nil, fmt.Errorf("field %q: %q is not a position from 1 to %d", name, segments[i+1], maxElem)
			}
			s.elem = n - 1
			pattern, pointer = append(pattern, "#"), append(pointer, strconv.Itoa(n-1))
			cur = deref(cur.Elem())
			i++
		}
		p.steps = append(p.steps, s)
	}
	b := tableOf(t)
	at, ok := b.byName[strings.Join(pattern, ".")]
	if !ok {
		return nil, fmt.Errorf("no field is named %q", name)
	}
	p.Field = b.fields[at]
	p.Pointer = "/" + strings.Join(pointer, "/")
	p.quick = planSet(p, t)
	return p, nil
}

func memberOf(t reflect.Type, name string) (structField, bool) {
	if t.Kind() != reflect.Struct || t == areaType || t == numberType {
		return structField{}, false
	}
	for _, f := range structFields(t) {
		if f.name == name {
			return f, true
		}
	}
	return structField{}, false
}

// at walks the steps. Without create it stops at what is missing.
func (p *Path) at(v reflect.Value, steps int, create bool) (reflect.Value, bool) {
	for _, s := range p.steps[:steps] {
		v = v.FieldByIndex(s.index)
		if s.elem >= 0 {
			if s.elem >= v.Len() {
				if !create {
					return v, false
				}
				for v.Len() <= s.elem {
					v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
				}
			}
			v = v.Index(s.elem)
		}
		if v.Kind() == reflect.Pointer && v.Type().Elem().Kind() == reflect.Struct {
			if v.IsNil() {
				if !create {
					return v, false
				}
				v.Set(reflect.New(v.Type().Elem()))
			}
			v = v.Elem()
		}
	}
	return v, true
}

// Get returns the text of the field in a record, which must be a pointer to the type the path was
// made for; empty text if it is not given.
func Get[T Record](p *Path, record *T) string {
	v, ok := p.at(reflect.ValueOf(record).Elem(), len(p.steps), false)
	if !ok {
		return ""
	}
	return leafText(p.Field.Kind, v)
}

// Set puts text into the field of a record. Empty text takes the value away and never makes a
// member that was not there, and nor does a text that does not fit.
func Set[T Record](p *Path, record *T, text string) error {
	if p.quick != nil && text != "" && p.quick.set(p.Field.Kind, unsafe.Pointer(record), text) {
		return nil
	}
	return setSlowly(p, record, text)
}

func setSlowly[T Record](p *Path, record *T, text string) error {
	root := reflect.ValueOf(record).Elem()
	v, ok := p.at(root, len(p.steps), false)
	if !ok {
		if text == "" {
			return nil
		}
		if p.Field.Kind == Decimal || p.Field.Kind == Flag || p.Field.Kind == JSON {
			// Tried on another record first, so that a text that does not fit leaves no empty member.
			if p.Field.Kind == Decimal {
				if err := setLeaf(Decimal, reflect.New(numberType).Elem(), text); err != nil {
					return fmt.Errorf("field %s: %w", p.Name, err)
				}
			} else if trial, ok := p.at(reflect.New(root.Type()).Elem(), len(p.steps), true); ok {
				if err := setLeaf(p.Field.Kind, trial, text); err != nil {
					return fmt.Errorf("field %s: %w", p.Name, err)
				}
			}
		}
		v, _ = p.at(root, len(p.steps), true)
	}
	if err := setLeaf(p.Field.Kind, v, text); err != nil {
		return fmt.Errorf("field %s: %w", p.Name, err)
	}
	if p.Field.Part && p.Field.Kind == Decimal && p.Field.Unit != "" && text != "" {
		if q, ok := p.at(root, len(p.steps)-1, true); ok {
			q.FieldByName("Unit").SetString(p.Field.Unit)
		}
	}
	return nil
}

func leafText(kind FieldKind, v reflect.Value) string {
	switch kind {
	case TermText, QuantityText:
		return v.FieldByName("Verbatim").String()
	case Decimal:
		return v.Interface().(Number).String()
	case Flag:
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return ""
			}
			return strconv.FormatBool(v.Elem().Bool())
		}
		if v.Bool() {
			return "true"
		}
		return ""
	case PointerMap:
		return formatPointerMap(v.Interface().(map[string]string))
	case JSON:
		return jsonText(v)
	}
	return v.String()
}

func jsonText(v reflect.Value) string {
	if v.IsZero() {
		return ""
	}
	if raw, ok := v.Interface().(jsontext.Value); ok {
		c := raw.Clone()
		if c.Compact() != nil {
			return string(raw)
		}
		return string(c)
	}
	b, err := json.Marshal(v.Interface())
	if err != nil {
		return ""
	}
	return string(b)
}

func setLeaf(kind FieldKind, v reflect.Value, text string) error {
	switch kind {
	case TermText, QuantityText:
		v.FieldByName("Verbatim").SetString(text)
	case Decimal:
		n, err := ParseNumber(strings.TrimSpace(text))
		if err != nil {
			return fmt.Errorf("%q is not a decimal number", text)
		}
		v.Set(reflect.ValueOf(n))
	case Flag:
		return setFlag(v, text)
	case PointerMap:
		m, err := parsePointerMap(text)
		if err != nil {
			return err
		}
		v.Set(reflect.ValueOf(m))
	case JSON:
		return setJSON(v, text)
	default:
		v.SetString(text)
	}
	return nil
}

func setFlag(v reflect.Value, text string) error {
	var b *bool
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "":
	case "true", "yes", "1", "y", "x", "ja", "j", "oui", "o":
		t := true
		b = &t
	case "false", "no", "0", "n", "nein", "nee", "nej", "non":
		f := false
		b = &f
	default:
		return fmt.Errorf("%q is neither true nor false", text)
	}
	if v.Kind() == reflect.Pointer {
		v.Set(reflect.ValueOf(b))
	} else {
		v.SetBool(b != nil && *b)
	}
	return nil
}

func setJSON(v reflect.Value, text string) error {
	if text == "" {
		v.SetZero()
		return nil
	}
	raw := jsontext.Value(text)
	if !raw.IsValid() {
		return fmt.Errorf("the text is not a JSON value")
	}
	if v.Type() == valueType {
		v.SetBytes(raw)
		return nil
	}
	if err := json.Unmarshal(raw, v.Addr().Interface()); err != nil {
		return fmt.Errorf("the text is not a JSON object of this field")
	}
	return nil
}

// formatPointerMap writes a map of pointers as flat names: "depth=not-measured; position=withheld".
func formatPointerMap(m map[string]string) string {
	keys := slices.SortedFunc(maps.Keys(m), notice.ComparePointers)
	var b strings.Builder
	for _, k := range keys {
		if b.Len() > 0 {
			b.WriteString("; ")
		}
		b.WriteString(NameOf(k))
		b.WriteByte('=')
		b.WriteString(m[k])
	}
	return b.String()
}

func parsePointerMap(text string) (map[string]string, error) {
	m := map[string]string{}
	for part := range strings.SplitSeq(text, ";") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		name, value, ok := strings.Cut(part, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if !ok || name == "" || value == "" {
			return nil, fmt.Errorf("%q is not of the form field=reason", part)
		}
		m[PointerOf(name)] = value
	}
	if len(m) == 0 {
		return nil, nil
	}
	return m, nil
}

// NameOf turns a pointer into a flat name: /materials/0/certainty into materials.1.certainty.
func NameOf(pointer string) string {
	segments := strings.Split(strings.TrimPrefix(pointer, "/"), "/")
	for i, s := range segments {
		if n, err := strconv.Atoi(s); err == nil && n >= 0 {
			segments[i] = strconv.Itoa(n + 1)
		} else {
			segments[i] = notice.Unescape(s)
		}
	}
	return strings.Join(segments, ".")
}

// PointerOf turns a flat name into a pointer. A name that is a pointer already stays as it is.
func PointerOf(name string) string {
	if strings.HasPrefix(name, "/") {
		return name
	}
	segments := strings.Split(name, ".")
	for i, s := range segments {
		if n, err := strconv.Atoi(s); err == nil && n >= 1 {
			segments[i] = strconv.Itoa(n - 1)
		} else {
			segments[i] = notice.Escape(s)
		}
	}
	return "/" + strings.Join(segments, "/")
}
