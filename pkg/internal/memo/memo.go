// Package memo remembers what a function made of texts that come again and again, such as the day of
// an outing on each of its finds. What it remembers is bounded, and it can be asked from everywhere at
// the same time.
//
//	dates := memo.New(func(k Key) Reading { ... })
//	reading := dates.Of(memo.Key[edtf.Options]{Text: "12 April", With: options})
//
// The function must say the same of the same key each time, and what it returns is only read.
package memo

import (
	"hash/maphash"
	"strings"
	"sync/atomic"
)

// slots is how many answers are remembered, in groups: the text leads to a group, in which a later answer
// takes the place of an earlier one.
const (
	slots = 2048
	group = 4
)

// longest is the most bytes of a text that is remembered.
const longest = 256

// Key is a text and what else the answer depends on.
type Key[W comparable] struct {
	Text string
	With W
}

// A Memo remembers the answers of one function.
type Memo[W comparable, V any] struct {
	ask   func(Key[W]) V
	seed  maphash.Seed
	turn  atomic.Uint32
	known [slots]atomic.Pointer[answer[W, V]]
}

type answer[W comparable, V any] struct {
	key   Key[W]
	value V
}

// New returns a Memo of a function.
func New[W comparable, V any](ask func(Key[W]) V) *Memo[W, V] {
	return &Memo[W, V]{ask: ask, seed: maphash.MakeSeed()}
}

// Of returns what the function makes of the key.
func (m *Memo[W, V]) Of(k Key[W]) V {
	if len(k.Text) > longest {
		return m.ask(k)
	}
	first := maphash.String(m.seed, k.Text) % (slots / group) * group
	for i := range m.known[first : first+group] {
		if a := m.known[first+uint64(i)].Load(); a != nil && a.key == k {
			return a.value
		}
	}
	// The text may be a piece of a large one, which is not to be kept for it.
	k.Text = strings.Clone(k.Text)
	a := &answer[W, V]{k, m.ask(k)}
	m.known[first+uint64(m.turn.Add(1)%group)].Store(a)
	return a.value
}
