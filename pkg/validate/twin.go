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

// neighbours finds, among the finds of a log with an exact position, those within some metres of each other. Distances
// are taken on a plane that is true at the latitude of the find that is asked about.
type neighbours struct {
	log    *Roll
	metres float64
	all    []int // those looked at, in the order of the file
	cells  map[[2]int32][]int
}

func newNeighbours(log *Roll, metres float64, wanted func(l *line) bool) *neighbours {
	n := &neighbours{log: log, metres: metres, cells: map[[2]int32][]int{}}
	for i := range log.n {
		if l := log.line(i); wanted(l) {
			n.all = append(n.all, i)
			row := n.row(l)
			at := [2]int32{row, n.column(l, row)}
			n.cells[at] = append(n.cells[at], i)
		}
	}
	return n
}

// row returns in which row of the grid a find lies. Cells are a little larger than what is looked at, for the metres in
// a degree of longitude are those of the row and not of each find.
func (n *neighbours) row(l *line) int32 {
	return int32(math.Floor(float64(l.y) / 1e7 * degreeMetres / (1.001 * n.metres)))
}

// column returns in which cell of a row a find would lie.
func (n *neighbours) column(l *line, row int32) int32 {
	latitude := (float64(row) + 0.5) * 1.001 * n.metres / degreeMetres
	return int32(math.Floor(float64(l.x) / 1e7 * degreeMetres * math.Cos(latitude*math.Pi/180) / (1.001 * n.metres)))
}

// of returns the finds near the i-th, itself included, in no order that means anything.
func (n *neighbours) of(i int) (near []int) {
	l := n.log.line(i)
	for row := n.row(l) - 1; row <= n.row(l)+1; row++ {
		middle := n.column(l, row)
		for column := middle - 1; column <= middle+1; column++ {
			for _, j := range n.cells[[2]int32{row, column}] {
				if l.metres(n.log.line(j)) <= n.metres {
					near = append(near, j)
				}
			}
		}
	}
	return near
}

// metres is how far another find lies from this one.
func (l *line) metres(o *line) float64 {
	x := math.Remainder((float64(l.x)-float64(o.x))/1e7, 360) * degreeMetres * math.Cos(float64(l.y)/1e7*math.Pi/180)
	return math.Hypot(x, (float64(l.y)-float64(o.y))/1e7*degreeMetres)
}
