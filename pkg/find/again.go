package find

import (
	"reflect"
	"sync"
	"unsafe"
)

// A room is an entry and its find, with the room for what stands in it, which is used again for another when
// nobody holds the entry any more.
type room struct {
	entry Entry
	find  Find
	parts []partRoom // by the number of the shape
	used  []int      // the shapes of which some are in use
}

// partRoom is the room for values of one shape.
type partRoom struct {
	values reflect.Value // a slice
	first  unsafe.Pointer
	size   int
	used   int
}

// roomMost is for how many values of one shape a room holds room; more are made for one find alone.
const roomMost = 32

var rooms = sync.Pool{New: func() any { return new(room) }}

// newEntry returns an empty entry with an empty find, in a room if it is to be released.
func newEntry(o *Options) *Entry {
	if !o.Reuse {
		return &Entry{Find: new(Find), Origin: Origin{File: o.File}}
	}
	r := rooms.Get().(*room)
	r.clear() // here, not where it was given back: that is another processor, which has to wait for the memory
	r.entry = Entry{Find: &r.find, Origin: Origin{File: o.File}, room: r}
	return &r.entry
}

// Release gives an entry back to the reader that made it with Options.Reuse, to be used again with its find
// and all that stands in it. Whoever calls it is the last to hold any of that; texts may be kept. For other
// entries it does nothing.
func (e *Entry) Release() {
	if r := e.room; r != nil {
		e.room = nil
		rooms.Put(r)
	}
}

// clear takes out of a room what the last entry has left.
func (r *room) clear() {
	for _, i := range r.used {
		p := &r.parts[i]
		p.values.Clear()
		p.used = 0
	}
	r.used, r.find = r.used[:0], Find{}
}

// take returns room for a value of a shape, all nought.
func (r *room) take(of *shape) unsafe.Pointer {
	if of.number >= len(r.parts) {
		r.parts = append(r.parts, make([]partRoom, of.number+1-len(r.parts))...)
	}
	p := &r.parts[of.number]
	if p.used == p.size {
		if p.size >= roomMost {
			return reflect.New(of.typ).UnsafePointer()
		}
		// What is in use of the smaller room stays with the find that uses it.
		if p.used == 0 {
			r.used = append(r.used, of.number)
		}
		p.size = max(1, 2*p.size)
		p.values = reflect.MakeSlice(reflect.SliceOf(of.typ), p.size, p.size)
		p.first, p.used = p.values.UnsafePointer(), 0
	} else if p.used == 0 {
		r.used = append(r.used, of.number)
	}
	made := unsafe.Add(p.first, uintptr(p.used)*of.size)
	p.used++
	return made
}
