package share

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
)

// landGap is how far apart, in metres, what belongs to one piece of land may lie.
const landGap = 500

// A landed is a piece of land: what is one for everybody who does not know better.
type landed struct {
	id      string // in the register; empty: it is not there yet
	anchor  register.Cell
	members []string // digests of its finds and permissions
	fresh   bool     // the register does not know all of it
}

// ground is a piece of land while it is gathered.
type ground struct {
	permissions []int // of the source
	finds       []*fact
	spots       []coordinate.Point
	radii       []float64 // of the spots
	corners     []coordinate.Point
	outlines    []coordinate.Area
	one         int64                        // side of the cell of those of its finds that are not secret
	far         map[coordinate.Point]float64 // what farthest has worked out: most finds of a land have one cell
}

// grounds gathers the finds of a report by land: permissions whose outlines touch, that name the same giver
// or the same place, or that the owner joins, are one. A find without permission joins land within 500 m,
// else that of the same field name, else others within 500 m.
func (c *copier) grounds() []*ground {
	s := c.head
	u := newUnion(len(s.Permissions))
	c.joinPermissions(u)
	c.joinNeighbours(u)
	byRoot := map[int]*ground{}
	var list []*ground
	byPermission := map[string]*ground{}
	for i := range s.Permissions {
		root := u.find(i)
		if byRoot[root] == nil {
			byRoot[root] = &ground{}
			list = append(list, byRoot[root])
		}
		g := byRoot[root]
		g.permissions = append(g.permissions, i)
		areas, corners := outlinesOf(s.Permissions[i].Area)
		g.outlines, g.corners = append(g.outlines, areas...), append(g.corners, corners...)
		byPermission[s.Permissions[i].ID] = g
	}
	var loose []*fact
	for i := range c.finds {
		f := &c.finds[i]
		if f.kept && c.o.Audience.coarse() {
			continue
		}
		if g := byPermission[f.permission]; g != nil && f.permission != "" {
			g.add(f)
		} else {
			loose = append(loose, f)
		}
	}
	return append(list, looseGrounds(loose, list)...)
}

func (g *ground) add(f *fact) {
	g.finds = append(g.finds, f)
	if f.placed {
		g.spots = append(g.spots, f.pointOf())
		g.radii = append(g.radii, f.held)
	}
}

func (f *fact) pointOf() coordinate.Point {
	return coordinate.Point{Latitude: f.point[0], Longitude: f.point[1]}
}

// radiusHeld is how well a spot is known; one that stands on the grid already is as good as its cell.
func radiusHeld(f *find.Find) float64 {
	if onGrid(f.Position, f.Generalised["/position"]) {
		return 0
	}
	if u := f.Position.Uncertainty; u.Known() {
		return u.Float()
	}
	return unknownUncertainty
}

func pointOf(f *find.Find) *coordinate.Point {
	if f.Position == nil || !f.Position.Latitude.Known() || !f.Position.Longitude.Known() {
		return nil
	}
	return &coordinate.Point{Latitude: f.Position.Latitude.Float(), Longitude: f.Position.Longitude.Float()}
}

// joinPermissions joins the permissions that are for one piece of land.
func (c *copier) joinPermissions(u *union) {
	s := c.head
	same := map[string]int{}
	join := func(key string, i int) {
		if j, ok := same[key]; ok {
			u.join(i, j)
		} else {
			same[key] = i
		}
	}
	type outline struct {
		areas   []coordinate.Area
		corners []coordinate.Point
	}
	outlines := make([]outline, len(s.Permissions))
	for i := range s.Permissions {
		p := &s.Permissions[i]
		if p.GrantedBy != "" {
			join("giver "+p.GrantedBy, i)
		}
		if p.Place != nil && p.Place.Name != "" {
			join("place "+find.FoldName(p.Place.Name)+"\n"+find.FoldName(p.Place.Parish), i)
		}
		outlines[i].areas, outlines[i].corners = outlinesOf(p.Area)
		for j := range i {
			if touch(outlines[i].areas, outlines[j].corners) || touch(outlines[j].areas, outlines[i].corners) {
				u.join(i, j)
			}
		}
	}
	if c.o.Policy == nil {
		return
	}
	for n, list := range c.o.Policy.Lands {
		for i := range s.Permissions {
			p := &s.Permissions[i]
			if slices.ContainsFunc(list, func(name string) bool {
				return name == p.ID || p.Place != nil && find.FoldName(name) == find.FoldName(p.Place.Name)
			}) {
				join(fmt.Sprintf("owner %d", n), i)
			}
		}
	}
}

// joinNeighbours joins permissions without an outline of which finds lie within 500 m of one another: fields
// around the corner of four cells, each in its own, would show where the corner is.
func (c *copier) joinNeighbours(u *union) {
	bare := map[string]int{}
	for i := range c.head.Permissions {
		if p := &c.head.Permissions[i]; p.ID != "" && p.Area == nil {
			bare[p.ID] = i
		}
	}
	if len(bare) < 2 {
		return
	}
	type stone struct {
		at         coordinate.Point
		permission int
	}
	cells := map[[2]int64][]stone{}
	for k := range c.finds {
		f := &c.finds[k]
		i, ok := bare[f.permission]
		if !ok || !f.placed || f.kept && c.o.Audience.coarse() {
			continue
		}
		p := f.pointOf()
		at := chainCell(p)
		for lat := at[0] - 1; lat <= at[0]+1; lat++ {
			for lon := at[1] - 4; lon <= at[1]+4; lon++ {
				for _, s := range cells[[2]int64{lat, lon}] {
					if u.find(i) != u.find(s.permission) && coordinate.Distance(p, s.at) <= landGap {
						u.join(i, s.permission)
					}
				}
			}
		}
		if len(cells[at]) < 64 {
			cells[at] = append(cells[at], stone{p, i})
		}
	}
}

// touch reports whether a corner of one outline lies in another, or within a step of it.
func touch(areas []coordinate.Area, corners []coordinate.Point) bool {
	const gap = 10 // metres: outlines of neighbouring fields are drawn along one hedge
	for _, a := range areas {
		for _, p := range corners {
			if a.Contains(p, 0) == coordinate.Inside || a.Distance(p) <= gap {
				return true
			}
		}
	}
	return false
}

// outlinesOf reads an area; one that cannot be read has no outline.
func outlinesOf(a *find.Area) (areas []coordinate.Area, corners []coordinate.Point) {
	if a == nil {
		return nil, nil
	}
	polygons, err := a.Polygons()
	if err != nil {
		return nil, nil
	}
	for _, rings := range polygons {
		var lines [][][]float64
		for _, ring := range rings {
			var line [][]float64
			for _, v := range ring {
				var at []float64
				if json.Unmarshal(v, &at) != nil || len(at) < 2 {
					return nil, nil
				}
				line = append(line, at)
			}
			lines = append(lines, line)
		}
		area, err := coordinate.NewArea(lines)
		if err != nil {
			continue
		}
		areas = append(areas, area)
		for _, at := range lines[0] {
			corners = append(corners, coordinate.Point{Latitude: at[1], Longitude: at[0]})
		}
	}
	return areas, corners
}

// looseGrounds places finds without permission: on land within 500 m, else with those of their field, else
// in chains of 500 m.
func looseGrounds(loose []*fact, list []*ground) (out []*ground) {
	var left []*fact
	for _, f := range loose {
		if g := nearGround(f, list); g != nil {
			g.finds = append(g.finds, f) // it moves nothing of the land
			g.spots, g.radii = append(g.spots, f.pointOf()), append(g.radii, f.held)
		} else {
			left = append(left, f)
		}
	}
	u := newUnion(len(left))
	named := map[string]int{}
	cells := map[[2]int64][]int{} // of 0.005 degree, so that neighbours are found without comparing all
	for i, f := range left {
		if f.field != "" {
			if j, ok := named[f.field]; ok {
				u.join(i, j)
			} else {
				named[f.field] = i
			}
		}
		if !f.placed {
			continue
		}
		p := f.pointOf()
		at := chainCell(p)
		for lat := at[0] - 1; lat <= at[0]+1; lat++ {
			for lon := at[1] - 4; lon <= at[1]+4; lon++ {
				for _, j := range cells[[2]int64{lat, lon}] {
					if u.find(i) != u.find(j) && coordinate.Distance(p, left[j].pointOf()) <= landGap {
						u.join(i, j)
					}
				}
			}
		}
		if len(cells[at]) < 64 { // so many spots in one cell of half a kilometre stand for the rest
			cells[at] = append(cells[at], i)
		}
	}
	byRoot := map[int]*ground{}
	for i, f := range left {
		g := byRoot[u.find(i)]
		if g == nil {
			g = &ground{}
			byRoot[u.find(i)] = g
			out = append(out, g)
		}
		g.add(f)
	}
	return out
}

func chainCell(p coordinate.Point) [2]int64 {
	return [2]int64{floorDiv(unitsOf(p.Latitude), 50_000), floorDiv(unitsOf(p.Longitude), 50_000)}
}

// nearGround is the land that a find without permission lies on or beside.
func nearGround(f *fact, list []*ground) *ground {
	if !f.placed {
		return nil
	}
	p := f.pointOf()
	for _, g := range list {
		for _, a := range g.outlines {
			if a.Contains(p, 0) == coordinate.Inside || a.Distance(p) <= landGap {
				return g
			}
		}
		for _, spot := range g.spots {
			// a degree of latitude is longer than 110 km
			if math.Abs(p.Latitude-spot.Latitude) < 0.005 && coordinate.Distance(p, spot) <= landGap {
				return g
			}
		}
	}
	return nil
}

// middle is the middle of the outlines of the land, else of its finds; false: it has neither.
func (g *ground) middle() (coordinate.Point, bool) {
	list := g.corners
	if len(list) == 0 {
		list = g.spots
	}
	if len(list) == 0 {
		return coordinate.Point{}, false
	}
	low, high := list[0], list[0]
	for _, p := range list {
		low.Latitude, low.Longitude = min(low.Latitude, p.Latitude), min(low.Longitude, p.Longitude)
		high.Latitude, high.Longitude = max(high.Latitude, p.Latitude), max(high.Longitude, p.Longitude)
	}
	return coordinate.Point{Latitude: coordinate.Round7((low.Latitude + high.Latitude) / 2),
		Longitude: coordinate.Round7((low.Longitude + high.Longitude) / 2)}, true
}

// farthest is how far, in metres, any spot of the land with its own radius lies from a point.
func (g *ground) farthest(from coordinate.Point) (metres float64) {
	if known, ok := g.far[from]; ok {
		return known
	}
	defer func() {
		if g.far == nil {
			g.far = map[coordinate.Point]float64{}
		}
		g.far[from] = metres
	}()
	for i, p := range g.spots {
		metres = max(metres, coordinate.Distance(from, p)+g.radii[i])
	}
	for _, p := range g.corners {
		metres = max(metres, coordinate.Distance(from, p))
	}
	return metres
}

// known settles the cell of a piece of land: the one that the register has of it or of anything on it, else
// that of its middle.
func (c *copier) known(g *ground, lands map[string]*register.Event) (landed, bool) {
	var names [][]string
	r := c.o.Register
	for _, i := range g.permissions {
		p := &c.head.Permissions[i]
		names = append(names, []string{"permission", c.head.ID, p.ID})
		if p.Place != nil && p.Place.Name != "" {
			names = append(names, []string{"place", find.FoldName(p.Place.Name), find.FoldName(p.Place.Parish)})
		}
	}
	for _, f := range g.finds {
		names = append(names, []string{"find", f.id})
	}
	var old *register.Event
	out := landed{}
	for _, name := range names {
		met := false
		for _, d := range r.Digests(name...) {
			if e := lands[d]; e != nil {
				met = true
				if old == nil || cmp.Or(strings.Compare(e.At, old.At), strings.Compare(e.ID, old.ID)) < 0 {
					old = e
				}
			}
		}
		if !met {
			out.members, out.fresh = append(out.members, r.Digest(name...)), true
		}
	}
	if old != nil {
		out.id, out.anchor = old.Land, *old.Anchor
		return out, true
	}
	mid, ok := g.middle()
	if ok {
		out.anchor = anchorOf(mid)
	}
	return out, ok
}

// union joins numbers into sets.
type union struct{ of []int }

func newUnion(n int) *union {
	u := &union{make([]int, n)}
	for i := range u.of {
		u.of[i] = i
	}
	return u
}

func (u *union) find(i int) int {
	for u.of[i] != i {
		u.of[i] = u.of[u.of[i]]
		i = u.of[i]
	}
	return i
}

func (u *union) join(i, j int) {
	a, b := u.find(i), u.find(j)
	u.of[max(a, b)] = min(a, b)
}
