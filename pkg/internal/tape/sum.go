package tape

import (
	"hash/maphash"
	"math"
)

var seed = maphash.MakeSeed()

// Sum sums up what a value says, whatever the order of its members and how its numbers and characters are written. Two
// sums of one run can be compared.
func (t *Tape) Sum(i uint32) uint64 {
	n := &t.Nodes[i]
	switch sum := uint64(n.Kind) + 1; n.Kind {
	case Object:
		for at := i + 1; at < n.Next; at = t.Nodes[at+1].Next {
			sum += SumMember(t.Nodes[at].Count, t.Sum(at+1))
		}
		return sum
	case Array:
		for at := i + 1; at < n.Next; at = t.Nodes[at].Next {
			sum = (sum ^ t.Sum(at)) * odd
		}
		return sum
	case Number:
		f, _ := t.Float(i)
		return (math.Float64bits(f) + sum) * odd
	case String, Name:
		if n.Escaped {
			return maphash.Bytes(seed, t.AppendString(nil, i))
		}
		return maphash.Bytes(seed, t.Bytes(i))
	default:
		return sum * odd
	}
}

const odd = 0x9E3779B97F4A7C15

// SumMember is the part that a member has in the sum of its object: of its name, as NameSum gives it, and its value.
func SumMember(name uint32, value uint64) uint64 {
	member := (uint64(name) + odd) * (value*odd | 1)
	return member ^ member>>32
}

// NameSum is the sum of a name, which stands as Count at its node.
func NameSum(name string) uint32 { return hash([]byte(name)) }
