package validate

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/notice"
)

var logRules = []*Rule{leadProjectiles, leadProjectilesMany, preciousScatter, campCluster}

var leadProjectiles = &Rule{
	Kind: notice.Kind{
		Code: "lead-projectiles", Severity: notice.Info, Group: "log", Spec: "5.16",
		Title:  "a handful of lead balls or bullets comes from one piece of land",
		Why:    "they can be the trace of a skirmish, a camp or a shooting ground; which of these only their spread tells",
		Help:   "Give each ball its own spot, its weight and its state, and do not put them into one bag.",
		Source: "published advice on early battlefields; a handful: one author, from memory",
		Before: `five finds of class ball on one permission`, After: `the same, each with position, weight and traces`,
	},
	// When: The lead projectiles of a permission are at least `lead-handful` and fewer than `lead-many`. Counted are
	// finds that are not `retracted`, with the class `ball` or `bullet`, which have no `materials` or a first material
	// in the group `material-lead`; each with the `min` of its count, at least 1. At `/permissions/N`.
	Across: func() Across {
		return projectiles(func(n int, s *Settings) string {
			if n >= s.LeadHandful && n < s.LeadMany {
				return fmt.Sprintf("%d lead projectiles come from here", n)
			}
			return ""
		})
	},
}

var leadProjectilesMany = &Rule{
	Kind: notice.Kind{
		Code: "lead-projectiles-many", Severity: notice.Warning, Group: "log", Spec: "5.16",
		Title:  "many lead balls or bullets come from one piece of land",
		Why:    "so many mark a place of fighting or shooting, and their spread is the evidence; every one that is lifted without its spot is lost to it",
		Help:   "Stop lifting them for now and ask a specialist of battlefields or the recorder for your area.",
		Source: "published advice on early battlefields: ask from about 50; from memory",
		Before: `fifty finds of class ball on one permission`, After: `the same, with a recorder asked`,
	},
	// When: The lead projectiles of a permission, as in `lead-projectiles`, are at least `lead-many`. At
	// `/permissions/N`.
	Across: func() Across {
		return projectiles(func(n int, s *Settings) string {
			if n >= s.LeadMany {
				return fmt.Sprintf("%d lead projectiles come from here", n)
			}
			return ""
		})
	},
}

// projectiles counts lead balls and bullets by permission and asks word what to say of the number.
func projectiles(word func(n int, s *Settings) string) Across {
	counts := map[*find.Permission]int{}
	return Across{
		Find: func(c *Case, ref Ref, say Say) {
			if f := c.Find; c.Permission != nil && f.Retracted == nil && leadProjectile(f) {
				n := 1
				if f.Count != nil && f.Count.Min.Known() {
					n = max(f.Count.Min.Int(), 1)
				}
				counts[c.Permission] += n
			}
		},
		End: func(c *Case, say SayOf) {
			for i := range c.Report.Permissions {
				if message := word(counts[&c.Report.Permissions[i]], c.Settings); message != "" {
					say(reportRef, fmt.Sprintf("/permissions/%d", i), message)
				}
			}
		},
	}
}

// leadProjectile tells that the find is a ball or bullet and not of another metal than lead.
func leadProjectile(f *find.Find) bool {
	if class := classOf(f); class != "ball" && class != "bullet" {
		return false
	}
	return len(f.Materials) == 0 || theTables().in("material-lead", material(f))
}

// A speck is what is remembered of a find to look at those around it.
type speck struct {
	x, y   float64 // degrees
	across float64 // metres in a degree of longitude at its latitude
	find   uint32  // in the census
	what   uint8

	row, column int32 // of the grid, once it is made
}

// apart returns the metres from a speck to one near it, on a plane that is true at its own latitude.
func (p *speck) apart(q *speck) float64 {
	return math.Hypot((p.x-q.x)*p.across, (p.y-q.y)*degreeMetres)
}

// specks are finds on a grid, so that only neighbours are compared.
type specks struct {
	list    []speck
	cell    float64
	patches []patch  // the cells of the grid that hold any, in order
	order   []uint32 // the specks, patch by patch
}

// patch is one cell of the grid.
type patch struct {
	row, column int32
	first       uint32 // where its specks begin in the order
	what        uint8  // what lies in it, of any speck
}

// add remembers a find with a position known to no more than the radius.
func (s *specks) add(c *Case, what uint8, radius float64, ref Ref) {
	f := c.Find
	p, ok := pointOf(f.Position)
	if !ok || f.Generalised["/position"] != "" {
		return
	}
	if r, _ := radiusOf(f.Position); r > radius {
		return
	}
	s.list = append(s.list, speck{x: p.Longitude, y: p.Latitude, across: degreeMetres * math.Cos(p.Latitude*math.Pi/180), find: c.census.see(c, ref).i, what: what})
}

func (s *specks) index(cell float64) {
	s.cell = cell
	s.order = make([]uint32, len(s.list))
	for i := range s.list {
		s.order[i] = uint32(i)
		p := &s.list[i]
		p.row = s.row(p)
		p.column = s.column(p, p.row)
	}
	slices.SortFunc(s.order, func(a, b uint32) int {
		p, q := &s.list[a], &s.list[b]
		return cmp.Or(cmp.Compare(p.row, q.row), cmp.Compare(p.column, q.column), cmp.Compare(a, b))
	})
	for at, i := range s.order {
		p := &s.list[i]
		if n := len(s.patches); n == 0 || s.patches[n-1].row != p.row || s.patches[n-1].column != p.column {
			s.patches = append(s.patches, patch{row: p.row, column: p.column, first: uint32(at)})
		}
		s.patches[len(s.patches)-1].what |= p.what
	}
}

// side is that of a cell of the grid: a little more than is looked at, for the metres in a degree are those of
// the row and not of each speck.
func (s *specks) side() float64 { return 1.001 * s.cell }

func (s *specks) row(p *speck) int32 { return int32(math.Floor(p.y * degreeMetres / s.side())) }

// column returns in which cell of a row a speck would lie.
func (s *specks) column(p *speck, row int32) int32 {
	latitude := (float64(row) + 0.5) * s.side() / degreeMetres
	return int32(math.Floor(p.x * degreeMetres * math.Cos(latitude*math.Pi/180) / s.side()))
}

// near calls visit with the patches in and beside the cell of the i-th speck.
func (s *specks) near(i int, visit func(p *patch, specks []uint32)) {
	p := &s.list[i]
	for row := p.row - 1; row <= p.row+1; row++ {
		column := s.column(p, row)
		at, _ := slices.BinarySearchFunc(s.patches, patch{row: row, column: column - 1}, func(p, wanted patch) int {
			return cmp.Or(cmp.Compare(p.row, wanted.row), cmp.Compare(p.column, wanted.column))
		})
		for ; at < len(s.patches) && s.patches[at].row == row && s.patches[at].column <= column+1; at++ {
			end := uint32(len(s.order))
			if at+1 < len(s.patches) {
				end = s.patches[at+1].first
			}
			visit(&s.patches[at], s.order[s.patches[at].first:end])
		}
	}
}

// around calls visit with each speck within one cell's width of the i-th, itself included, while it says yes.
func (s *specks) around(i int, visit func(j int) bool) {
	p, more := &s.list[i], true
	s.near(i, func(_ *patch, specks []uint32) {
		for _, j := range specks {
			if q := &s.list[j]; more && p.apart(q) <= s.cell {
				more = visit(int(j))
			}
			if !more {
				return
			}
		}
	})
}

// atMost returns what may lie around the i-th speck, and how many: no more than in its cell and those
// beside it. It spares most specks the look at each of their neighbours.
func (s *specks) atMost(i int) (what uint8, n int) {
	s.near(i, func(p *patch, specks []uint32) { what, n = what|p.what, n+len(specks) })
	return what, n
}

var preciousScatter = &Rule{
	Kind: notice.Kind{
		Code: "precious-scatter", Severity: notice.Info, Group: "log", Spec: "5.16",
		Title:  "coins or precious objects lie close together",
		Why:    "they may be a hoard that the plough has scattered; in law that may make them one find",
		Help:   "Keep them together, look at their dates, and ask the recorder for your area. This is a hint, not a finding.",
		Source: "our proposal",
		Before: `three coins within 10 m of each other`, After: `the same, linked by "associated": [{"relation": {"code": "near"}}] when looked at`,
	},
	// When: Looked at are finds that are not `retracted`, with a class of the group `coin` or a first material of the
	// group `material-precious`, a longitude and latitude, a radius, as in `outside-permission`, of no more than
	// `scatter-metres`, and no mark of `/position` in `generalised`. Distances are taken on a plane: 10,000,000 m / 90
	// for a degree of latitude, and that times the cosine of the latitude of the find for one of longitude. In the
	// order of the file: at least `scatter-finds` of them, itself included, lie within `scatter-metres` of the find,
	// and none of these was already counted in a notice. One notice a group, at `/position` of that find.
	Across: func() Across {
		s := &specks{}
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				f := c.Find
				if f.Retracted == nil && (theTables().in("coin", classOf(f)) || theTables().in("material-precious", material(f))) {
					s.add(c, 0, float64(c.Settings.ScatterMetres), ref)
				}
			},
			End: func(c *Case, say SayOf) {
				if len(s.list) < c.Settings.ScatterFinds {
					return
				}
				s.index(float64(c.Settings.ScatterMetres))
				told := make([]bool, len(s.list))
				for i := range s.list {
					if _, most := s.atMost(i); told[i] || most < c.Settings.ScatterFinds {
						continue
					}
					n, seen := 0, false
					s.around(i, func(j int) bool { n, seen = n+1, told[j]; return !seen })
					if n < c.Settings.ScatterFinds || seen {
						continue
					}
					s.around(i, func(j int) bool { told[j] = true; return true })
					say(c.census.ref(s.list[i].find), "/position", fmt.Sprintf("%d coins or precious objects lie within %d m of here, this one included", n, c.Settings.ScatterMetres))
				}
			},
		}
	},
}

// What a camp may leave behind; bits of speck.what.
const (
	meltedLead uint8 = 1 << iota
	unfiredBall
	button
	cutLead
)

var campWords = [...]string{"melted lead", "unfired balls", "buttons", "cut lead"}

var campCluster = &Rule{
	Kind: notice.Kind{
		Code: "camp-cluster", Severity: notice.Info, Group: "log", Spec: "5.16",
		Title:  "finds that a camp may leave behind lie close together",
		Why:    "melted lead, unfired balls, buttons and cut lead side by side can be the trace of people who stayed here; they can also be chance",
		Help:   "Keep the spots exact, note what else lies there, and ask the recorder. This is a suggestion with its evidence, never a claim.",
		Source: "our proposal",
		Before: `melted lead, an unfired ball and a button within 50 m`, After: `the same; nothing needs to be changed`,
	},
	// When: As in `precious-scatter`, with `camp-metres` for radius and distance, of finds of four sorts: the class is
	// `melted-lead`; is `button`; is `ball`, with a trace `unfired`; or the first material is in the group
	// `material-lead`, with a trace `cut` and a class other than `melted-lead` and `button` (the first that holds). At
	// least `camp-kinds` of the sorts lie within that distance of the find, itself included, and none of these was
	// already counted in a notice. At `/position` of that find.
	Across: func() Across {
		s := &specks{}
		return Across{
			Find: func(c *Case, ref Ref, say Say) {
				if what := campTrait(c.Find); what != 0 && c.Find.Retracted == nil {
					s.add(c, what, float64(c.Settings.CampMetres), ref)
				}
			},
			End: func(c *Case, say SayOf) {
				if len(s.list) < c.Settings.CampKinds {
					return
				}
				s.index(float64(c.Settings.CampMetres))
				told := make([]bool, len(s.list))
				for i := range s.list {
					if most, _ := s.atMost(i); told[i] || bits.OnesCount8(most) < c.Settings.CampKinds {
						continue
					}
					var kinds uint8
					var counts [len(campWords)]int
					seen := false
					s.around(i, func(j int) bool {
						kinds |= s.list[j].what
						seen = told[j]
						for k := range campWords {
							if s.list[j].what&(1<<k) != 0 {
								counts[k]++
							}
						}
						return !seen // one of these was spoken of
					})
					evidence, n := "", 0
					for k, words := range campWords {
						if kinds&(1<<k) != 0 {
							evidence += fmt.Sprintf(", %s (%d)", words, counts[k])
							n++
						}
					}
					if n < c.Settings.CampKinds || seen {
						continue
					}
					s.around(i, func(j int) bool { told[j] = true; return true })
					say(c.census.ref(s.list[i].find), "/position", fmt.Sprintf("within %d m of here lie: %s", c.Settings.CampMetres, evidence[2:]))
				}
			},
		}
	},
}

// campTrait tells which of the sorts a find is.
func campTrait(f *find.Find) (what uint8) {
	switch classOf(f) {
	case "melted-lead":
		return meltedLead
	case "button":
		return button
	case "ball":
		if hasTrace(f, "unfired") {
			return unfiredBall
		}
	}
	if hasTrace(f, "cut") && theTables().in("material-lead", material(f)) {
		return cutLead
	}
	return 0
}
