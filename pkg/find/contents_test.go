package find

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"testing"
	"unsafe"
)

// The contents of two finds are equal when, and only when, both are written as the same JSON.
func TestAppendContents(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(7, 8))
	seen, ofParts := map[string]string{}, map[string]string{}
	for i := range 20_000 {
		v := finds[i%len(finds)]
		if i >= len(finds) {
			v = changeOne(r, v)
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var f Find
		DecodeFind(raw, &f)
		text, err := Marshal(&f)
		if err != nil || bytes.Contains(text, []byte("{}")) || bytes.Contains(text, []byte("[]")) {
			continue // what is empty is as good as missing
		}
		contents := string(f.AppendContents(nil))
		again, parts := f.AppendParts([]byte("before"), nil)
		if string(again) != "before"+contents {
			t.Fatalf("the parts are of other contents: %s", text)
		}
		var members map[string]json.RawMessage
		if err := json.Unmarshal(text, &members); err != nil {
			t.Fatal(err)
		}
		for _, p := range parts { // equal parts are written alike
			part, member := string(again[p.From:p.To]), string(members[findShape().fields[p.Member].name])
			if before, ok := ofParts[part]; ok && before != member || member == "" {
				t.Fatalf("two members have the same contents:\n%s\n%s", before, member)
			}
			ofParts[part] = member
		}
		if before, ok := seen[contents]; ok && before != string(text) {
			t.Fatalf("two finds have the same contents:\n%s\n%s", before, text)
		}
		seen[contents] = string(text)
	}
	texts := map[string]string{}
	for contents, text := range seen {
		if before, ok := texts[text]; ok && before != contents {
			t.Fatalf("one find has contents of two kinds: %s", text)
		}
		texts[text] = contents
	}
}

// Whether a find holds unknown members is told quickly as it is told by going through all of it.
func TestAnyUnknown(t *testing.T) {
	finds := theFinds(t)
	r := rand.New(rand.NewPCG(13, 14))
	some := 0
	for i := range 10_000 {
		v := changeOne(r, finds[i%len(finds)])
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var f Find
		DecodeFind(raw, &f)
		slow := false
		walkUnknown(reflect.ValueOf(&f).Elem(), "", func(string) bool { slow = true; return false })
		quick := anyUnknown(findShape(), unsafe.Pointer(&f))
		if slow && !quick {
			t.Fatalf("unknown members are not seen: %s", raw)
		}
		if quick {
			some++
		}
	}
	if some == 0 {
		t.Error("no find had unknown members")
	}
}

// The word that tells whether a member is given lies in its struct, whole.
func TestSignsLieInTheirStructs(t *testing.T) {
	const word = unsafe.Sizeof(uintptr(0))
	seen, signs := map[*shape]bool{}, 0
	var look func(s *shape)
	look = func(s *shape) {
		if s == nil || seen[s] {
			return
		}
		seen[s] = true
		look(s.item)
		for _, m := range s.fields {
			if look(m.shape); m.of == 0 {
				continue
			}
			if signs++; m.sign%word != 0 || m.sign+word > s.typ.Size() {
				t.Errorf("%s, %s: the word at %d does not lie in a struct of %d bytes", s.typ, m.name, m.sign, s.typ.Size())
			}
		}
	}
	if n := len(findShape().fields); n > 64*len(Members{}) {
		t.Errorf("a find has %d members, more than a set of them holds", n)
	}
	if look(findShape()); signs < 200 {
		t.Errorf("%d members were looked at", signs)
	}
}
