package find

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"github.com/findslip/findslip/pkg/internal/tape"
	"github.com/findslip/findslip/pkg/notice"
)

// A Path is a flat name made ready for use, such as materials.1.certainty. It is safe for
// concurrent use.
type Path struct {
	Name    string // materials.1.certainty
	Pointer string // /materials/0/certainty
	Field   Field
	steps   []step // to the object that holds the leaf, or that is the cell
	leaf    step   // member is -1 where the object itself is the cell
}

// step leads from an object to a member, or to an item of its list.
type step struct{ member, item int }

// maxItem bounds the position in a list that a flat name may ask for.
const maxItem = 1000

// PathTo compiles a flat name of a T. Lists count from 1.
func PathTo[T Record](name string) (*Path, error) {
	t := treeOf[T]()
	p := &Path{Name: name, leaf: step{-1, -1}}
	var flat, pointer []string
	segments := strings.Split(name, ".")
	nodes := t.top.nodes
	for i := 0; i < len(segments); i++ {
		at := -1
		for k := range nodes {
			if nodes[k].member.name == segments[i] {
				at = k
			}
		}
		if at < 0 {
			return nil, fmt.Errorf("no field is named %q", name)
		}
		m := nodes[at].member
		to := step{at, -1}
		flat, pointer = append(flat, m.name), append(pointer, m.name)
		if m.kind == listKind || m.kind == textsKind {
			if i++; i == len(segments) {
				return nil, fmt.Errorf("field %q is a list: write %s.1 for the first", name, name)
			}
			n, err := strconv.Atoi(segments[i])
			if err != nil || n < 1 || n > maxItem || segments[i] != strconv.Itoa(n) {
				return nil, fmt.Errorf("field %q: %q is not a position from 1 to %d", name, segments[i], maxItem)
			}
			to.item = n - 1
			flat, pointer = append(flat, "#"), append(pointer, strconv.Itoa(n-1))
		}
		if m.of != nil {
			p.steps = append(p.steps, to)
		} else {
			p.leaf = to
		}
		nodes = nodes[at].below.nodes
	}
	at, ok := t.byName[strings.Join(flat, ".")]
	if !ok {
		return nil, fmt.Errorf("no field is named %q", name)
	}
	p.Field = t.fields[at]
	p.Pointer = "/" + strings.Join(pointer, "/")
	return p, nil
}

// reach goes to the object that holds the leaf. Without create it returns nil where there is none.
func (p *Path) reach(o object, create bool) object {
	for _, s := range p.steps {
		if s.item < 0 {
			if o = o.child(s.member, create); o == nil {
				return nil
			}
			continue
		}
		l := o.list(s.member)
		if s.item >= l.length() {
			if !create {
				return nil
			}
			l.resize(s.item + 1)
		}
		o = l.item(s.item)
	}
	return o
}

// cell returns the cell in an object that was reached: a pointer to a field, or the object itself.
func (p *Path) cell(o object, create bool) any {
	if p.leaf.member < 0 {
		return cellOf(p.Field.Kind, o)
	}
	leaf := o.leaf(p.leaf.member)
	texts, ok := leaf.(*[]string)
	if !ok {
		return leaf
	}
	for create && p.leaf.item >= len(*texts) {
		*texts = append(*texts, "")
	}
	if p.leaf.item >= len(*texts) {
		return nil
	}
	return &(*texts)[p.leaf.item]
}

// Get returns the text of the field in a record, which must be a pointer to the type the path was
// made for; empty text if it is not given.
func Get[T Record](p *Path, record *T) string {
	o := p.reach(any(record).(object), false)
	if o == nil {
		return ""
	}
	return leafText(p.cell(o, false))
}

// Set puts text into the field of a record. Empty text takes the value away and never makes a
// member that was not there, and nor does a text that does not fit.
func Set[T Record](p *Path, record *T, text string) error {
	root := any(record).(object)
	if text == "" {
		if o := p.reach(root, false); o != nil {
			setEmpty(p.cell(o, false))
		}
		return nil
	}
	put, err := p.parse(text)
	if err != nil {
		return fmt.Errorf("field %s: %w", p.Name, err)
	}
	o := p.reach(root, true)
	if put == nil {
		*p.cell(o, true).(*string) = text
		return nil
	}
	put(p.cell(o, true))
	if p.Field.Part && p.Field.Kind == Decimal && p.Field.Unit != "" {
		o.(measured).quantity().Unit = p.Field.Unit
	}
	return nil
}

func setEmpty(cell any) {
	switch v := cell.(type) {
	case *string:
		*v = ""
	case *Number:
		*v = Number{}
	case *bool:
		*v = false
	case **bool:
		*v = nil
	case *map[string]string:
		*v = nil
	case *jsontext.Value:
		*v = nil
	case *Area:
		*v = Area{}
	}
}

// parse reads a text for the field and returns what puts it into its cell; nil: the text itself is put there.
func (p *Path) parse(text string) (put func(cell any), err error) {
	switch p.Field.Kind {
	case Decimal:
		n, err := ParseNumber(strings.TrimSpace(text))
		if err != nil {
			return nil, fmt.Errorf("%q is not a decimal number", text)
		}
		return func(cell any) { *cell.(*Number) = n }, nil
	case Flag:
		b, err := parseFlag(text)
		return func(cell any) {
			if one, ok := cell.(*bool); ok {
				*one = b != nil && *b
			} else {
				*cell.(**bool) = b
			}
		}, err
	case PointerMap:
		m, err := parsePointerMap(text)
		return func(cell any) { *cell.(*map[string]string) = m }, err
	case JSON:
		return p.parseJSON(text)
	}
	return nil, nil
}

func parseFlag(text string) (*bool, error) {
	var b bool
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "":
		return nil, nil
	case "true", "yes", "1", "y", "x", "ja", "j", "oui", "o":
		b = true
	case "false", "no", "0", "n", "nein", "nee", "nej", "non":
	default:
		return nil, fmt.Errorf("%q is neither true nor false", text)
	}
	return &b, nil
}

// parseJSON reads a JSON value, or an area where the member is one.
func (p *Path) parseJSON(text string) (put func(cell any), err error) {
	raw := jsontext.Value(text)
	if !raw.IsValid() {
		return nil, fmt.Errorf("the text is not a JSON value")
	}
	if p.leaf.member >= 0 {
		return func(cell any) { *cell.(*jsontext.Value) = raw }, nil
	}
	var t tape.Tape
	var area Area
	if err := t.ParseStrict(raw); err != nil || !readWhole(&t, &area) {
		return nil, fmt.Errorf("the text is not a JSON object of this field")
	}
	return func(cell any) { *cell.(*Area) = area }, nil
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

// A Way leads from a record to one of its members, through its lists.
type Way struct {
	steps        []int
	Of           string // the name of the object that it leads to; empty: it leads to a field
	Text, Number bool   // it leads to one
	Many         bool   // a record may have several
}

// WayTo returns the way to a member of a T by its pointer without positions, such as /materials/certainty.
func WayTo[T Record](pointer string) (w Way, ok bool) {
	s := any((*T)(nil)).(object).shape()
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		if s == nil {
			return w, false
		}
		i, known := s.byName[token]
		if !known {
			return w, false
		}
		m := &s.members[i]
		w.Of, w.Text, w.Number = "", m.kind == textKind || m.kind == textsKind, m.kind == numberKind
		w.steps, w.Many = append(w.steps, i), w.Many || m.kind == listKind || m.kind == textsKind
		if s = m.of; s != nil {
			w.Of = s.name
		}
	}
	return w, true
}

// Values calls yield with a pointer to each value of a record that stands at the end of a way: a text, a Number, a
// flag that is set, an object that is not empty. It stops, and returns false, when yield returns false.
func Values[T Record](w Way, record *T, yield func(value any) bool) bool {
	return record == nil || along(w.steps, any(record).(object), yield)
}

func along(w []int, o object, yield func(any) bool) bool {
	if len(w) == 0 {
		return o.next(0) < 0 && *o.unknown() == nil || yield(o)
	}
	i := w[0]
	switch o.shape().members[i].kind {
	case objectKind:
		child := o.child(i, false)
		return child == nil || along(w[1:], child, yield)
	case listKind:
		l := o.list(i)
		for k := range l.length() {
			if !along(w[1:], l.item(k), yield) {
				return false
			}
		}
		return true
	case textsKind:
		for k := range *o.leaf(i).(*[]string) {
			if text := &(*o.leaf(i).(*[]string))[k]; *text != "" && !yield(text) {
				return false
			}
		}
		return true
	case choiceKind:
		set := *o.leaf(i).(**bool)
		return set == nil || !*set || yield(set)
	}
	return o.next(i) != i || yield(o.leaf(i))
}

// Given reports whether a record has the member, or the item of a list, that a pointer names.
func Given[T Record](record *T, pointer string) bool {
	o := any(record).(object)
	tokens := strings.Split(strings.TrimPrefix(pointer, "/"), "/")
	for len(tokens) > 0 && o != nil {
		i, known := o.shape().byName[notice.Unescape(tokens[0])]
		if !known || o.next(i) != i {
			return false
		}
		m, rest := o.shape().members[i], tokens[1:]
		if len(rest) == 0 {
			return true
		}
		n, err := strconv.Atoi(rest[0])
		switch {
		case m.kind == objectKind:
			o, tokens = o.child(i, false), rest
			continue
		case err != nil || n < 0:
			return false
		case m.kind == textsKind:
			texts := *o.leaf(i).(*[]string)
			return len(rest) == 1 && n < len(texts) && texts[n] != ""
		case m.kind != listKind || n >= o.list(i).length():
			return false
		}
		o, tokens = o.list(i).item(n), rest[1:]
	}
	return o != nil && (o.next(0) >= 0 || *o.unknown() != nil)
}

// Clear takes what stands at the end of a way out of a record.
func Clear[T Record](w Way, record *T) {
	last := len(w.steps) - 1
	along(w.steps[:last], any(record).(object), func(v any) bool {
		o, i := v.(object), w.steps[last]
		if m := &o.shape().members[i]; m.of == nil && m.kind != textsKind {
			setEmpty(o.leaf(i))
		} else {
			empty(m, o, i)
		}
		return true
	})
}
