package text

// A Table finds values by short keys without allocating: open addressing, never more than half full.
// It is made once and then only read, by any number of goroutines.
type Table[T any] struct {
	slots []slot[T]
	n     int
}

type slot[T any] struct {
	key   string
	value T
}

// hash is FNV-1a.
func hash[K string | []byte](key K) uint32 {
	h := uint32(2166136261)
	for i := 0; i < len(key); i++ {
		h = (h ^ uint32(key[i])) * 16777619
	}
	return h ^ h>>15
}

// At returns the value of a key to be read or changed, or nil where there is none. The empty key has none.
func (t *Table[T]) At(key []byte) *T {
	if len(t.slots) == 0 {
		return nil
	}
	mask := uint32(len(t.slots) - 1)
	for i := hash(key) & mask; t.slots[i].key != ""; i = (i + 1) & mask {
		if t.slots[i].key == string(key) {
			return &t.slots[i].value
		}
	}
	return nil
}

// Put returns the value of a key, made where there was none. The key is not empty.
func (t *Table[T]) Put(key string) *T {
	if 2*t.n >= len(t.slots) {
		old := t.slots
		t.slots, t.n = make([]slot[T], max(64, 2*len(old))), 0
		for i := range old {
			if old[i].key != "" {
				*t.Put(old[i].key) = old[i].value
			}
		}
	}
	mask := uint32(len(t.slots) - 1)
	i := hash(key) & mask
	for ; t.slots[i].key != ""; i = (i + 1) & mask {
		if t.slots[i].key == key {
			return &t.slots[i].value
		}
	}
	t.slots[i].key = key
	t.n++
	return &t.slots[i].value
}

// Len returns how many keys there are.
func (t *Table[T]) Len() int { return t.n }

// All calls f for each key and value, in no order.
func (t *Table[T]) All(f func(key string, value *T)) {
	for i := range t.slots {
		if t.slots[i].key != "" {
			f(t.slots[i].key, &t.slots[i].value)
		}
	}
}
