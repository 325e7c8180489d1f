package validate

import "math"

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
