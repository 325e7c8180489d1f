package lexicon

import (
	"bytes"
	"sync"

	"github.com/findslip/findslip/pkg/text"
)

// Numbers say how a language makes number words: those below twenty in order, then the tens from
// twenty to ninety, each with its spellings, and what the others are made of.
type Numbers struct {
	Small    [][]string `json:"small"`
	Tens     [][]string `json:"tens"`
	Hundreds [][]string `json:"hundreds,omitzero"` // words for 100 to 900 of their own
	Hundred  []string   `json:"hundred"`
	Thousand []string   `json:"thousand"`
	// Order is "ten-unit" (tjugofem) or "unit-ten" (fünfundzwanzig); a joint stands between the two.
	Order  string   `json:"order"`
	Joints []string `json:"joints"`
	// Twenties tells that four twenties are eighty, and that a ten may bear a number up to nineteen.
	Twenties bool `json:"twenties"`
	// AndHalf are endings that add a half: zweieinhalb.
	AndHalf []string `json:"andHalf"`
	// Values are words for a number that are made of no others, as a whole number or a fraction.
	Values map[string]string `json:"values"`
}

// A Number is the value of a number word, Num/Den.
type Number struct {
	Num, Den uint16
	Ten      bool // twenty to ninety: a number below ten may follow
}

// All calls f for every word from zero to ninety-nine, for the hundreds that have a word, and for those with a half.
func (n *Numbers) All(f func(word string, v Number)) {
	for i, names := range n.Small {
		for _, name := range names {
			f(name, Number{uint16(i), 1, false})
			for _, end := range n.AndHalf {
				if i > 1 && i < 11 {
					f(name+end, Number{2*uint16(i) + 1, 2, false})
				}
			}
		}
	}
	for i, names := range n.Tens {
		ten := uint16(i+2) * 10
		for _, name := range names {
			f(name, Number{ten, 1, true})
			for u := 1; u < 10; u++ {
				n.joined(name, n.Small[u], func(word string) { f(word, Number{ten + uint16(u), 1, false}) })
			}
		}
	}
	for i, names := range n.Hundreds {
		for _, name := range names {
			f(name, Number{uint16(i+1) * 100, 1, false})
		}
	}
	for word, value := range n.Values {
		f(word, parseNumber(value))
	}
}

// joined makes the words of a ten and a unit.
func (n *Numbers) joined(ten string, units []string, f func(string)) {
	for _, unit := range units {
		for _, joint := range n.Joints {
			if n.Order == "unit-ten" {
				f(unit + joint + ten)
			} else {
				f(ten + joint + unit)
			}
		}
	}
}

// parseNumber reads "3/2" and "12".
func parseNumber(s string) Number {
	v := Number{Den: 1}
	at := &v.Num
	for _, c := range s {
		if c == '/' {
			v.Den = 0
			at = &v.Den
			continue
		}
		*at = *at*10 + uint16(c-'0')
	}
	return v
}

// hundreds parts a word at the hundred within it.
type hundreds struct {
	below text.Table[uint16] // number words below a hundred, of languages that join them to the hundred
	words []string           // the words for hundred
	joint []string
}

var loadHundreds = sync.OnceValue(func() *hundreds {
	h := new(hundreds)
	for _, l := range load() {
		if len(l.Numbers.Hundred) == 0 {
			continue
		}
		h.words = append(h.words, l.Numbers.Hundred...)
		for _, joint := range l.Numbers.Joints {
			if joint != "" {
				h.joint = append(h.joint, joint)
			}
		}
		l.Numbers.All(func(word string, v Number) {
			if v.Den == 1 && v.Num < 100 {
				*h.below.Put(Folded(word)) = v.Num
			}
		})
	}
	return h
})

// Hundreds reads a folded number word from 100 to 999 that is written as one: zweihundertfünfundzwanzig.
func Hundreds(folded []byte) (n uint16, ok bool) {
	h := loadHundreds()
	for _, word := range h.words {
		at := bytes.Index(folded, []byte(word))
		if at < 0 {
			continue
		}
		n = 1
		if at > 0 {
			v := h.below.At(folded[:at])
			if v == nil || *v < 1 || *v > 9 {
				continue
			}
			n = *v
		}
		rest := folded[at+len(word):]
		if len(rest) == 0 {
			return n * 100, true
		}
		v := h.below.At(rest)
		for _, joint := range h.joint {
			if v == nil && bytes.HasPrefix(rest, []byte(joint)) {
				v = h.below.At(rest[len(joint):])
			}
		}
		if v != nil {
			return n*100 + *v, true
		}
	}
	return 0, false
}
