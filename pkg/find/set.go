package find

import (
	"reflect"
	"unsafe"
)

// The quick way to set what most cells of a table are: words, and numbers that are no part of a quantity.
// It goes by places in memory, which are worked out once for a path; Set does the rest by reflection.

// setPlan is the way to the leaf of a path; nil where there is no quick one.
type setPlan struct {
	steps []setStep
	words uintptr // where a Term or Quantity has its words
}

// setStep goes from a struct to a member of it, or to what the member leads to.
type setStep struct {
	offset uintptr
	list   reflect.Type // of a list; nil: it is none
	elem   int
	size   uintptr
	made   reflect.Type // what a pointer leads to; nil: it is none
	shape  *shape       // of what has to be made, where it is of a find
}

// planSet makes the plan of a path of a record type.
func planSet(p *Path, t reflect.Type) *setPlan {
	switch {
	case p.Field.Kind == Text, p.Field.Kind == TermText, p.Field.Kind == QuantityText:
	case p.Field.Kind == Decimal && !p.Field.Part:
	default:
		return nil
	}
	s := &setPlan{}
	for _, step := range p.steps {
		var one setStep
		one.offset, t = fieldAt(t, step.index)
		if step.elem >= 0 {
			one.list, one.elem, t = t, step.elem, t.Elem()
			one.size = t.Size()
		}
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
			one.made = t
		}
		one.shape = findShapes()[t]
		s.steps = append(s.steps, one)
	}
	if p.Field.Kind == TermText || p.Field.Kind == QuantityText {
		words, ok := t.FieldByName("Verbatim")
		if !ok {
			return nil
		}
		s.words, t = fieldAt(t, words.Index)
	}
	if t.Kind() != reflect.String && t != numberType {
		return nil
	}
	return s
}

// set puts a text that is not empty into the field of a record, and tells whether it could.
func (s *setPlan) set(kind FieldKind, record unsafe.Pointer, text string) bool {
	var n Number
	if kind == Decimal {
		var err error
		if n, err = ParseNumber(text); err != nil {
			return false // blanks around it may be the reason
		}
	}
	at := record
	for i := range s.steps {
		step := &s.steps[i]
		at = unsafe.Add(at, step.offset)
		if step.list != nil {
			n := len(*(*[]byte)(at)) // any list begins in the same way: with its address and its length
			if n == 0 && step.elem == 0 && step.shape != nil && step.made == nil {
				*(*sliceHeader)(at) = sliceHeader{takeRoom(step.shape), 1, 1}
			} else if n <= step.elem {
				list := reflect.NewAt(step.list, at).Elem()
				for range step.elem + 1 - n {
					list.Set(reflect.Append(list, reflect.Zero(step.list.Elem())))
				}
			}
			at = unsafe.Add(unsafe.Pointer(unsafe.SliceData(*(*[]byte)(at))), uintptr(step.elem)*step.size)
		}
		if step.made != nil {
			to := (*unsafe.Pointer)(at)
			if *to == nil {
				if step.shape != nil {
					*to = takeRoom(step.shape)
				} else {
					*to = reflect.New(step.made).UnsafePointer()
				}
			}
			at = *to
		}
	}
	if kind == Decimal {
		*(*Number)(at) = n
	} else {
		*(*string)(unsafe.Add(at, s.words)) = text
	}
	return true
}

// takeRoom returns room for a value, all nought.
func takeRoom(of *shape) unsafe.Pointer {
	room := slabsInUse.Get().(*slabs)
	made := room.take(of)
	slabsInUse.Put(room)
	return made
}
