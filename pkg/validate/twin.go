package validate

import (
	"hash/maphash"
	"math"
	"strings"
	"unicode"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/heading"
	"github.com/findslip/findslip/pkg/internal/tape"
)

// notOfTheThing are the members of a find that do not speak of what was found: two records that differ in these alone
// are twins.
var notOfTheThing = map[string]bool{"id": true, "number": true, "source": true, "recorded": true, "changed": true}

// twinOf sums up what the find of an entry says, whatever the order of its members and how its numbers and
// characters are written: of the JSON that it was read from, else of the record. Laid is what ofSchema came upon,
// 0 for nothing.
func twinOf(e *find.Entry, laid uint64) uint64 {
	if t, at := e.Tape(); t != nil {
		return treeSum(t, at, true) | 1
	}
	if laid != 0 {
		return laid
	}
	return twinSum(e.Find)
}

func twinSum(f *find.Find) uint64 {
	g := *f
	g.ID, g.Number, g.Source, g.Recorded, g.Changed = "", "", nil, nil, ""
	raw, _ := find.Append(nil, &g)
	return maphash.Bytes(rollSeed, raw) | 1
}

// treeSum sums up a value on a tape; of the find itself but for what is not of the thing.
func treeSum(t *tape.Tape, i uint32, whole bool) uint64 {
	const odd = 0x9E3779B97F4A7C15
	n := &t.Nodes[i]
	switch sum := uint64(n.Kind) + 1; n.Kind {
	case tape.Object:
		for at := i + 1; at < n.Next; at = t.Nodes[at+1].Next {
			if whole && notOfTheThing[string(t.Bytes(at))] || whole && string(t.Bytes(at)) == "columns" && onlyDittos(t, at+1) {
				continue
			}
			// Of names the hash is there; those that need escapes are of no schema.
			member := (uint64(t.Nodes[at].Count) + odd) * (treeSum(t, at+1, false)*odd | 1)
			sum += member ^ member>>32
		}
		return sum
	case tape.Array:
		for at := i + 1; at < n.Next; at = t.Nodes[at].Next {
			sum = (sum ^ treeSum(t, at, false)) * odd
		}
		return sum
	case tape.Number:
		f, _ := t.Float(i)
		return (math.Float64bits(f) + sum) * odd
	case tape.String, tape.Name:
		if n.Escaped {
			return maphash.Bytes(rollSeed, t.AppendString(nil, i))
		}
		return maphash.Bytes(rollSeed, t.Bytes(i))
	default:
		return sum * odd
	}
}

// onlyDittos reports whether the cells that are kept beside a find are marks for the line above and nothing else: what
// they stand for was taken from there.
func onlyDittos(t *tape.Tape, i uint32) bool {
	n := &t.Nodes[i]
	if n.Kind != tape.Object {
		return false
	}
	for at := i + 1; at < n.Next; at = t.Nodes[at+1].Next {
		if t.Nodes[at+1].Kind != tape.String || !ditto(string(t.AppendString(nil, at+1))) {
			return false
		}
	}
	return true
}

// ditto reports whether a text is a mark or a word for the line above.
func ditto(text string) bool {
	plain := strings.ToLower(strings.TrimRight(strings.TrimSpace(text), "."))
	return plain == "" || heading.RowWords("ditto")[plain] || !strings.ContainsFunc(plain, func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r)
	})
}
