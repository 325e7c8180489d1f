package share

import (
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/vocabulary"
	"github.com/findslip/findslip/schema"
)

// spot is where a find is told to lie.
type spot struct {
	anchor register.Cell
	side   int64 // 0: nowhere
}

// places settles the cells of the finds of a copy.
func (c *copier) places(chosen []int32) {
	lands := map[string]*register.Event{}
	for i := range c.o.Register.Events {
		if e := &c.o.Register.Events[i]; e.Kind == register.Land && e.Anchor != nil {
			for _, m := range e.Members {
				if lands[m] == nil {
					lands[m] = e
				}
			}
		}
	}
	in := map[*fact]bool{}
	for _, i := range chosen {
		in[&c.finds[i]] = true
	}
	c.leastSides()
	c.smallest = map[string]int64{}
	for _, g := range c.grounds() {
		if !slices.ContainsFunc(g.finds, func(f *fact) bool { return in[f] }) {
			continue
		}
		land, ok := c.known(g, lands)
		if !ok {
			continue
		}
		used := false
		g.one = oneSide(g.finds)
		for _, f := range g.finds {
			if in[f] {
				f.spot = c.spot(g, f, land.anchor)
				used = used || f.spot.side > 0
				if side := c.smallest[f.permission]; f.spot.side > 0 && (side == 0 || f.spot.side < side) {
					c.smallest[f.permission] = f.spot.side
				}
			}
		}
		if used && !c.o.District {
			c.out.lands = append(c.out.lands, land)
		}
	}
}

// oneSide is the side in which the finds of a land are told that are not secret: the largest that one of them
// needs. A copy that told some of them finer would tell where the others lie.
func oneSide(finds []*fact) (side int64) {
	for _, f := range finds {
		if f.least < sideRestricted {
			side = max(side, f.least)
		}
	}
	return side
}

// spot is where one find is told to lie.
func (c *copier) spot(g *ground, f *fact, anchor register.Cell) spot {
	s := spot{anchor, f.least}
	if f.least > 0 {
		s.side = max(f.least, g.one)
	}
	for _, t := range c.earlier(f.id) {
		if t.Anchor != nil {
			s.anchor = *t.Anchor // told once, told so always
			break
		}
	}
	s.side = g.wide(f, s)
	again := c.o.Again || c.o.Audience == Expert && f.sensitivity == "open"
	if t := c.finest(f.id); again && t != nil && t.Side < s.side {
		s = spot{*t.Anchor, t.Side}
	}
	return s
}

// apart reports whether a find of a copy that shows lands and outings is told in a larger cell than others of the land
// it lies on, so that a link to that land, or the day of an outing on it, would tell what the cell does not.
func (c *copier) apart() bool {
	f := c.at
	return c.o.Audience == Club &&
		(f.sensitivity == "restricted" || f.sensitivity == "closed" || f.least >= sideRestricted ||
			f.placed && (f.spot.side == 0 || f.spot.side > c.smallest[f.permission]))
}

// wide is the side of the cell that holds the farthest spot of the land, from a side on; 0: none does.
func (g *ground) wide(f *fact, s spot) int64 {
	if s.side == 0 || !f.placed {
		return 0
	}
	for side := s.side; side > 0; side = parent(side) {
		lat, lon := cellAround(s.anchor, side)
		mid, radius := pointAt(lat, lon), radiusOf(lat, lon, side)
		if f.held > radius {
			return 0 // its own doubt is wider than what would be told
		}
		if g.farthest(mid) <= radius && coordinate.Distance(mid, f.pointOf())+f.held <= radius {
			return side
		}
	}
	return 0
}

// leastSides are the smallest cells that the sensitivity of finds, and of what they belong to, allows. What was found
// on one outing with a secret thing is as secret to those who see that thing: they see numbers or days. Where it is in
// no copy, nothing may tell of it, so that it counts for nothing.
func (c *copier) leastSides() {
	days := map[string]int{}
	u := newUnion(len(c.finds))
	for i := range c.finds {
		f := &c.finds[i]
		f.least = c.leastSide(f)
	}
	secret := func(f *fact) bool { return f.least == 0 || f.least == sideRestricted }
	for i := range c.finds {
		f := &c.finds[i]
		if f.kept {
			continue
		}
		for _, id := range append(f.associated, f.partOf) {
			if j, ok := c.byID[id]; ok && id != "" && !c.finds[j].kept {
				u.join(i, int(j))
			}
		}
		if secret(f) {
			for _, key := range outingKeys(f) {
				days[key] = i
			}
		}
	}
	for i := range c.finds {
		if c.finds[i].kept {
			continue
		}
		for _, key := range outingKeys(&c.finds[i]) {
			if j, ok := days[key]; ok {
				u.join(i, j)
			}
		}
	}
	worst := map[int]int64{}
	for i := range c.finds {
		f, root := &c.finds[i], u.find(i)
		if side, ok := worst[root]; !ok || f.least == 0 || side != 0 && f.least > side {
			worst[root] = f.least
		}
	}
	for i := range c.finds {
		c.finds[i].least = worst[u.find(i)]
	}
}

func outingKeys(f *fact) (keys []string) {
	if f.outing != "" {
		keys = append(keys, "outing "+f.outing)
	}
	if len(f.date) >= len("2006-01-02") { // a month is no outing
		keys = append(keys, "day "+f.date+" "+f.permission)
	}
	return keys
}

// leastSide is the smallest cell that the sensitivity of a find allows by itself.
func (c *copier) leastSide(f *fact) int64 {
	side := int64(sideCoarse)
	switch f.sensitivity {
	case "open":
		if c.o.Audience != Expert {
			side = sideOpen
		}
	case "restricted":
		side = sideRestricted
	case "closed":
		return 0
	}
	if c.action("finds.position.latitude") == cellOne {
		side = sideRestricted
	}
	return max(side, f.side) // a copy of a copy is no finer
}

// sensitivity reads a missing one as coarse and an unknown one as closed.
func sensitivity(f *find.Find) string {
	switch f.Sensitivity {
	case "":
		return "coarse"
	case "open", "coarse", "restricted", "closed":
		return f.Sensitivity
	}
	return "closed"
}

// position tells a find by the cell of its land, or withholds its place.
func (c *copier) position(f, source *find.Find, gone *[]string) {
	act := c.action("finds.position.latitude")
	if act == keep {
		if how := source.Generalised["/position"]; f.Position != nil && onGrid(source.Position, how) {
			f.Generalised = generalisedAs(f.Generalised, "/position", how)
		}
		return
	}
	f.Position = nil
	s := c.at.spot
	if act == withhold || s.side == 0 || c.o.District && c.districtOf(source) != nil {
		if source.Position != nil {
			*gone = append(*gone, "/position")
		}
		return
	}
	lat, lon := cellAround(s.anchor, s.side)
	f.Position = &find.Position{Latitude: number(lat), Longitude: number(lon),
		Uncertainty: find.Float(radiusOf(lat, lon, s.side)), UncertaintyBasis: &find.Term{Code: "generalised"}}
	f.Generalised = generalisedAs(f.Generalised, "/position", gridName(s.side))
}

// district tells region and country where no cell is told: two regions of one find would tell where they
// meet. What people write under Region may be a village or a farm: only names of the published list are told.
func (c *copier) district(f, source *find.Find, gone *[]string) {
	if c.action("finds.place.region") != district {
		return
	}
	f.Place = nil
	p := c.districtOf(source)
	if c.o.District && source.Place != nil && source.Place.Region != "" && (p == nil || p.Region == "") {
		c.out.Doubts = append(c.out.Doubts, Doubt{Find: findLabel(source), Member: "finds.place.region",
			Why: "a region of no list"})
	}
	if p == nil || f.Position != nil {
		if source.Place != nil {
			*gone = append(*gone, "/place")
		}
		return
	}
	f.Place = p
	f.Generalised = generalisedAs(f.Generalised, "/place", "region")
}

// districtOf is what may be told in words of the place of a find, nil for nothing.
func (c *copier) districtOf(source *find.Find) *find.Place {
	p := source.Place
	if p == nil || p.Region == "" && p.Country == "" || sensitivity(source) == "closed" {
		return nil
	}
	out := &find.Place{}
	if !c.o.Audience.coarse() {
		return &find.Place{Region: p.Region, Country: p.Country} // the owner's policy asks for it
	}
	if regionNames()[keyOf(p.Region)] || c.o.Policy.passes(p.Region) {
		out.Region = p.Region
	}
	if countryNames()[keyOf(p.Country)] {
		out.Country = p.Country
	}
	if out.Region+out.Country == "" {
		return nil
	}
	return out
}

// regionNames and countryNames are the names of schema/data/regions.json.
var (
	regionNames  = sync.OnceValue(func() map[string]bool { return placeNames(func(r region) []string { return r.Names }) })
	countryNames = sync.OnceValue(func() map[string]bool {
		return placeNames(func(r region) []string { return append(r.Called, r.Country) })
	})
)

type region struct {
	Country string   `json:"country"`
	Called  []string `json:"called"`
	Names   []string `json:"names"`
}

func placeNames(of func(region) []string) map[string]bool {
	rows, _ := schema.Rows[region]("regions") // its test fails where it cannot be read
	out := map[string]bool{}
	for _, r := range rows {
		for _, name := range of(r) {
			out[keyOf(name)] = true
		}
	}
	return out
}

// days settles the months that are told. Where fewer than five finds of two lands are new to the public, a
// quarter of a year is told: else each copy would tell when its new finds were made.
func (c *copier) days(chosen []int32) {
	how := c.action("finds.found.date")
	if how != month && how != year {
		return
	}
	fresh, lands := 0, map[register.Cell]bool{}
	for _, i := range chosen {
		f := &c.finds[i]
		if f.date == "" {
			continue
		}
		f.told = coarseDay(f.date, how)
		if t := c.finest(f.id); c.o.Again && t != nil && t.Date != "" && within(coarseDay(f.date, month), t.Date) {
			f.told = t.Date
			continue
		}
		if told := c.earlier(f.id); len(told) > 0 && told[0].Date != "" && within(f.told, told[0].Date) {
			f.told = told[0].Date // told once, told so always
			continue
		}
		fresh++
		lands[f.spot.anchor] = true
	}
	if c.o.Audience != Public || how != month || fresh >= 5 && len(lands) >= 2 {
		return
	}
	for _, i := range chosen {
		f := &c.finds[i]
		if told := c.earlier(f.id); f.told != "" && (len(told) == 0 || told[0].Date != f.told) {
			f.told = quarter(f.told)
		}
	}
}

// within reports whether one date lies within another.
func within(inner, outer string) bool {
	a, err := edtf.Parse(inner)
	b, berr := edtf.Parse(outer)
	if err != nil || berr != nil {
		return false
	}
	from, to, open, open2 := a.Span()
	first, last, o, o2 := b.Span()
	return !open && !open2 && !o && !o2 && first.Compare(from) <= 0 && to.Compare(last) <= 0
}

// quarter is the quarter of the year that a month lies in, as an interval of months; another date stays.
func quarter(date string) string {
	d, err := edtf.Parse(date)
	if err != nil || len(date) != 7 || d.IsInterval() || d.IsSet() {
		return date
	}
	m := int(date[5]-'0')*10 + int(date[6]-'0')
	if date[4] != '-' || m < 1 || m > 12 {
		return date
	}
	from := (m - 1) / 3 * 3
	two := func(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }
	return date[:5] + two(from+1) + "/" + date[:5] + two(from+3)
}

// day tells the month, the quarter or the year of finding.
func (c *copier) day(f, source *find.Find, gone *[]string) {
	how, date := c.action("finds.found.date"), c.at.told
	if how == keep && c.apart() && source.Found != nil {
		how, date = month, coarseDay(source.Found.Date, month)
	}
	if how != month && how != year || source.Found == nil {
		return
	}
	if date == "" {
		f.Found = nil
		*gone = append(*gone, "/found")
		return
	}
	if f.Found == nil {
		f.Found = &find.Found{}
	}
	f.Found.Date = date
	if date != source.Found.Date || source.Found.Time != "" || source.Found.Verbatim != "" {
		if d := quarter(coarseDay(source.Found.Date, month)); how == month && d == date && len(date) > 7 {
			how = "quarter"
		}
		f.Generalised = generalisedAs(f.Generalised, "/found/date", how)
	}
}

// depth turns the depth into whether it lay within the plough depth.
func (c *copier) depth(f, source *find.Find, gone *[]string) {
	if c.action("finds.depth.min") != band {
		return
	}
	f.Depth = nil
	d := source.Depth
	if d == nil {
		return
	}
	f.Generalised = generalisedAs(f.Generalised, "/depth", "plough-band")
	*gone = append(*gone, "/depth")
	if !d.HasValue() {
		return
	}
	code, limit := "plough-depth-unclear", 0.0 // where nobody gave one, none is made up
	if p := c.head.Permission(source.Permission); p != nil && p.PloughDepth.HasValue() && p.PloughDepth.Max.Known() {
		limit = p.PloughDepth.Max.Float()
	}
	switch {
	case limit == 0:
	case d.Max.Known() && d.Max.Float() <= limit:
		code = "within-plough-depth"
	case d.Min.Known() && d.Min.Float() > limit:
		code = "below-plough-depth"
	}
	f.Layer = &find.Term{Code: code}
}

// measures tells weight and sizes in steps.
func (c *copier) measures(f, source *find.Find) {
	did := false
	if c.action("finds.weight.min") == step && f.Name == "" && source.Name != "" {
		f.Weight, f.Dimensions = nil, nil // a thing without a name would be known again by its weight
		return
	}
	stepped := func(leaf string, q *find.Quantity) *find.Quantity {
		unit := "mm"
		if strings.Contains(leaf, "weight") {
			unit = "g"
		}
		if c.action(leaf) != step || !q.HasValue() || q.Unit != unit || !likely(leaf, q) {
			return nil
		}
		did = true
		return inSteps(q)
	}
	if c.action("finds.weight.min") == step {
		if f.Weight = stepped("finds.weight.min", source.Weight); f.Weight != nil {
			f.Generalised = generalisedAs(f.Generalised, "/weight", "steps")
		}
	}
	if c.action("finds.dimensions.length.min") != step {
		return
	}
	did = false
	if d := source.Dimensions; d != nil {
		out := &find.Dimensions{Surviving: d.Surviving}
		out.Length, out.Width = stepped("finds.dimensions.length.min", d.Length),
			stepped("finds.dimensions.width.min", d.Width)
		out.Height, out.Thickness = stepped("finds.dimensions.height.min", d.Height),
			stepped("finds.dimensions.thickness.min", d.Thickness)
		out.Diameter = stepped("finds.dimensions.diameter.min", d.Diameter)
		if f.Dimensions = nil; did {
			f.Dimensions = out
			f.Generalised = generalisedAs(f.Generalised, "/dimensions", "steps")
		}
	}
}

// stepSeries are the preferred numbers of the series 1-2-5 (ISO 3, R 10/3 rounded): each about twice the one
// before. Steps of a tenth made nearly every find the only one of its kind, so that a public copy and an
// expert's were put together by them.
var stepSeries = []float64{1, 2, 5}

// inSteps widens a quantity to the steps around it. What lies on a step reaches to the next one, so that no
// step looks like an exact figure; a quantity that is in steps already stays.
func inSteps(q *find.Quantity) *find.Quantity {
	out := &find.Quantity{Unit: q.Unit}
	if q.Min.Known() {
		out.Min = find.Float(stepBelow(q.Min.Float()))
	}
	if q.Max.Known() {
		v := q.Max.Float()
		low := stepBelow(v)
		if low < v || out.Min.Known() && low <= out.Min.Float() {
			low = stepAbove(low)
		}
		out.Max = find.Float(low)
	}
	return out
}

func stepBelow(v float64) float64 {
	if v <= 0 {
		return 0
	}
	for e := math.Pow10(int(math.Floor(math.Log10(v)) + 1)); ; e /= 10 {
		for _, s := range slices.Backward(stepSeries) {
			if x := exact(s * e); x <= v+1e-9 {
				return x
			}
		}
	}
}

func stepAbove(v float64) float64 {
	if v <= 0 {
		return 0.001
	}
	for e := math.Pow10(int(math.Floor(math.Log10(v)) - 1)); ; e *= 10 {
		for _, s := range stepSeries {
			if x := exact(s * e); x > v+1e-9 {
				return x
			}
		}
	}
}

func exact(v float64) float64 { return math.Round(v*1e9) / 1e9 }

// label is the English word for a code.
func label(list, code string) string {
	if c, ok := vocabulary.Get(list).Concept(code); ok {
		return c.Label("en")
	}
	return code
}
