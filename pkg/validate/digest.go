package validate

import (
	"encoding/binary"
	"hash/maphash"
	"reflect"

	"github.com/findslip/findslip/pkg/find"
)

// digestOf sums up what a find says, so that two records can be told equal or different while
// only the sum of the first is kept. Every member counts, the order of a map does not.
func digestOf(seed maphash.Seed, f *find.Find) uint64 {
	var h maphash.Hash
	h.SetSeed(seed)
	digest(&h, seed, reflect.ValueOf(f).Elem())
	return h.Sum64()
}

func digest(h *maphash.Hash, seed maphash.Seed, v reflect.Value) {
	var number [8]byte
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			h.WriteByte(0)
			return
		}
		h.WriteByte(1)
		digest(h, seed, v.Elem())
	case reflect.Struct:
		for i := range v.NumField() {
			digest(h, seed, v.Field(i))
		}
	case reflect.String:
		binary.LittleEndian.PutUint64(number[:], uint64(v.Len()))
		h.Write(number[:])
		h.WriteString(v.String())
	case reflect.Bool:
		h.WriteByte(1)
		if v.Bool() {
			h.WriteByte(1)
		}
	case reflect.Int64, reflect.Int:
		binary.LittleEndian.PutUint64(number[:], uint64(v.Int()))
		h.Write(number[:])
	case reflect.Slice:
		binary.LittleEndian.PutUint64(number[:], uint64(v.Len()))
		h.Write(number[:])
		if v.Type().Elem().Kind() == reflect.Uint8 {
			h.Write(v.Bytes())
			return
		}
		for i := range v.Len() {
			digest(h, seed, v.Index(i))
		}
	case reflect.Map:
		var sum uint64
		for it := v.MapRange(); it.Next(); {
			var one maphash.Hash
			one.SetSeed(seed)
			digest(&one, seed, it.Key())
			digest(&one, seed, it.Value())
			sum += one.Sum64()
		}
		binary.LittleEndian.PutUint64(number[:], sum)
		h.Write(number[:])
	}
}
