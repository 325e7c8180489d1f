package share

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
)

// below are the audiences whose copies an audience may be taken to know, beside its own: what the public
// sees everybody sees. SPEC.md section 9 has the order.
func below(a Audience) []Audience {
	if a == Public {
		return nil
	}
	return []Audience{Public}
}

// tellings gathers by digest what copies told of finds, the oldest first.
func tellings(r *register.Register, wanted func(e *register.Event) bool) map[string][]register.Told {
	var events []*register.Event
	for i := range r.Events {
		if e := &r.Events[i]; e.Kind == register.Copy && wanted(e) {
			events = append(events, e)
		}
	}
	slices.SortStableFunc(events, func(a, b *register.Event) int { return strings.Compare(a.At+a.ID, b.At+b.ID) })
	out := map[string][]register.Told{}
	for _, e := range events {
		for _, t := range e.Finds {
			out[t.Find] = append(out[t.Find], t)
		}
	}
	return out
}

// earlier is what anybody was told of a find, the oldest first; what this audience and receiver were told
// of it stands before the rest.
func (c *copier) earlier(id string) (out []register.Told) {
	if c.before == nil {
		own := tellings(c.o.Register, func(e *register.Event) bool {
			return e.Audience == string(c.o.Audience) &&
				e.Receiver == c.o.Receiver
		})
		all := tellings(c.o.Register, func(*register.Event) bool { return true })
		for d, list := range all {
			if own[d] == nil {
				for i := range list {
					list[i].Date = "" // the day that others were told binds nobody
				}
				own[d] = list
			} else {
				own[d] = append(own[d], list...)
			}
		}
		c.before = own
	}
	for _, d := range c.o.Register.Digests("find", id) {
		out = append(out, c.before[d]...)
	}
	return out
}

// finest is the smallest cell that this receiver, or anybody below, was told of a find; nil: none. An expert gets no
// less than the public.
func (c *copier) finest(id string) (out *register.Told) {
	for _, d := range c.o.Register.Digests("find", id) {
		list := c.heard(d)
		for i := range list {
			if t := &list[i]; t.Anchor != nil && t.Side > 0 && (out == nil || t.Side < out.Side) {
				out = t
			}
		}
	}
	return out
}

// heard is what this receiver, or anybody below, was told of a find, by its digest.
func (c *copier) heard(digest string) []register.Told {
	if c.mine == nil {
		c.mine = tellings(c.o.Register, func(e *register.Event) bool {
			return c.knows(e) && (c.o.Again || e.Audience == string(Public))
		})
	}
	return c.mine[digest]
}

// knows reports whether the receiver of the copy knows an earlier one.
func (c *copier) knows(e *register.Event) bool {
	return e.Audience == string(c.o.Audience) && e.Receiver == c.o.Receiver || slices.Contains(below(c.o.Audience),
		Audience(e.Audience))
}

// remember notes what the register is to hold of a find of the copy.
func (c *copier) remember(f *find.Find) {
	r, s := c.o.Register, c.at.spot
	t := register.Told{Find: r.Digest("find", c.at.id), ID: f.ID,
		Words: f.Place != nil && f.Place.Region+f.Place.Country != ""}
	if grid := f.Generalised["/position"]; grid != "" && f.Position != nil {
		c.out.circle(f.Position, grid)
	}
	switch {
	case f.Position == nil:
	case c.o.Audience.coarse() || f.Generalised["/position"] != "" && s.side > 0:
		t.Anchor, t.Side = c.anchor(s.anchor), s.side
	case f.Position.Latitude.Known():
		t.Exact = true
	}
	if f.Found != nil {
		t.Date = f.Found.Date
	}
	t.Steps = c.steps(f)
	c.out.told = append(c.out.told, t)
}

// anchor is a cell that many finds share.
func (c *copier) anchor(at register.Cell) *register.Cell {
	if n := len(c.out.told); n > 0 {
		if last := c.out.told[n-1].Anchor; last != nil && *last == at {
			return last
		}
	}
	return &at
}

// Issue are the events that the register is to keep of a copy that is handed out: the land that was met and
// the copy itself, with digests of its values in place of the values. sum is the SHA-256 sum of the file.
func (c *Copied) Issue(ctx context.Context, at, day, file, sum string) (out []register.Event, err error) {
	r := c.register
	for _, l := range c.lands {
		if l.fresh {
			if l.id == "" {
				l.id = register.RandomID()
			}
			anchor := l.anchor
			out = append(out, register.Event{Kind: register.Land, At: at, Signed: r.Signer(), Land: l.id, Anchor: &anchor,
				Members: l.members})
		}
	}
	e := register.Event{Kind: register.Copy, At: at, Signed: r.Signer(), Copy: c.Report.ID, Audience: c.Report.Audience,
		Receiver: c.receiver, Name: c.name, Day: day,
		File: file, SHA256: sum, Source: r.Digest("report", c.source), Finds: c.told}
	if Audience(c.Report.Audience).answers() {
		i := 0
		err = c.Each(ctx, func(f *find.Find) error {
			noteLeaves(r, &e, &e.Finds[c.places[i]], f)
			i++
			return nil
		})
		noteAround(r, &e, c.Report.People)
		noteAround(r, &e, c.Report.Permissions)
		noteAround(r, &e, c.Report.Outings)
	}
	for i := range r.Events {
		if old := &r.Events[i]; old.Kind == register.Copy && old.Audience == e.Audience && old.Receiver == e.Receiver &&
			slices.Contains(r.Digests("report", c.source), old.Source) {
			e.Supersedes = append(e.Supersedes, old.Copy)
		}
	}
	return append(out, e), err
}

func noteAround[T find.Record](r *register.Register, e *register.Event, list []T) {
	for i := range list {
		t := register.Told{}
		for cell := range find.Flat(&list[i]) {
			if cell.Pointer == "/id" {
				t.ID = cell.Text
			}
		}
		noteLeaves(r, e, &t, &list[i])
		e.Around = append(e.Around, t)
	}
}

// noteLeaves notes the digests of the leaves of one record.
func noteLeaves[T find.Record](r *register.Register, e *register.Event, t *register.Told, record *T) {
	t.Leaves = ""
	for cell := range find.Flat(record) {
		r.Note(e, t, cell.Pointer, cell.Text)
	}
}

// A Narrowing is a find of which a receiver would know more than the copy alone tells, for what was told
// earlier.
type Narrowing struct {
	ID   string // of the find in the source
	Find string // its number or name in the source; empty: it has none
	With register.Event
	Text string // what would be known; it quotes no place
}

// Narrowings compares a copy with what its receiver, and anybody below it, was told before, and with what those were
// told who will know this one too: it intersects, find by find, the regions and the dates. The order of the two tells
// nobody anything.
func (c *Copied) Narrowings() (out []Narrowing) {
	r, a := c.register, Audience(c.Report.Audience)
	if a == Self {
		return nil
	}
	byDigest := map[string]int{}
	for i := range c.told {
		for _, d := range r.Digests("find", c.Back[c.told[i].ID]) {
			byDigest[d] = i
		}
	}
	seen := map[int]bool{}
	for i := range r.Events {
		e := &r.Events[i]
		if e.Kind != register.Copy {
			continue
		}
		other := Audience(e.Audience)
		above := slices.Contains(below(other), a) // who has that one sees this one too
		if !above && (other != a || e.Receiver != c.receiver) && !slices.Contains(below(a), other) {
			continue
		}
		head := *e
		head.Finds, head.Around = nil, nil
		for j := range e.Finds {
			at, ok := byDigest[e.Finds[j].Find]
			if !ok || seen[at] {
				continue
			}
			text := narrower(&e.Finds[j], &c.told[at])
			if above {
				if text = narrower(&c.told[at], &e.Finds[j]); text != "" {
					text = "whoever has that copy will know more by this one: " + text
				}
			}
			if text != "" {
				seen[at] = true
				id := c.Back[c.told[at].ID]
				out = append(out, Narrowing{ID: id, Find: c.labels[id], With: head, Text: text})
			}
		}
	}
	return out
}

// narrower says what two tellings of one find tell together beyond the later one alone, empty for nothing.
func narrower(old, now *register.Told) string {
	if !now.Exact {
		switch {
		case old.Exact && (now.Side > 0 || now.Words):
			return "its exact place is told in the other"
		case old.Side > 0 && now.Side > 0 && crossing(old, now):
			return "the two tell different cells; together they show where these meet"
		case old.Side > 0 && now.Side > 0 && old.Side < now.Side:
			return "a smaller cell is told in the other"
		case old.Side > 0 && now.Side == 0 && !now.Words:
			return "a cell is told in the one and no place in the other"
		case old.Words && now.Side > 0, old.Side > 0 && now.Words:
			return "a cell and a region in words: together they show where the two meet"
		}
	}
	if old.Date != "" && now.Date != "" && old.Date != now.Date && !within(now.Date, old.Date) {
		return "a finer or another day is told in the other"
	}
	if name := otherStep(old.Steps, now.Steps); name != "" {
		return "another step of the " + name + " is told in the other; together they tell it nearly as it is"
	}
	return ""
}

// otherStep is the measure of which some steps tell more together with those that were told, empty for none. A step
// within the one that was told tells all by itself.
func otherStep(old, now string) string {
	number := func(text string, open int) float64 {
		if v, err := strconv.ParseFloat(text, 64); err == nil {
			return v
		}
		return math.Inf(open)
	}
	for step := range strings.FieldsSeq(now) {
		name, text, _ := strings.Cut(step, "=")
		_, was, told := strings.Cut(" "+old, " "+name+"=")
		was, _, _ = strings.Cut(was, " ")
		if !told || text == was || was == "plough-depth-unclear" {
			continue
		}
		from, to, interval := strings.Cut(text, "/")
		first, last, _ := strings.Cut(was, "/")
		if !interval || number(from, -1) < number(first, -1) || number(to, 1) > number(last, 1) {
			return name
		}
	}
	return ""
}

// steps are the measures that the copy tells of a find in steps, as name=from/to, and the band of its depth. In a copy
// that tells again what was told, those go that would tell more together with an earlier one.
func (c *copier) steps(f *find.Find) string {
	var out []string
	goes := func(step string) bool {
		if !c.o.Again || !slices.ContainsFunc(c.o.Register.Digests("find", c.at.id), func(d string) bool {
			return slices.ContainsFunc(c.heard(d), func(t register.Told) bool { return otherStep(t.Steps, step) != "" })
		}) {
			out = append(out, step)
			return true
		}
		return false
	}
	d := f.Dimensions
	if d == nil {
		d = &find.Dimensions{}
	}
	for i, q := range []*find.Quantity{f.Weight, d.Length, d.Width, d.Height, d.Thickness, d.Diameter} {
		of := []string{"weight", "length", "width", "height", "thickness", "diameter"}[i]
		if q != nil && f.Generalised[[]string{"/weight", "/dimensions"}[min(i, 1)]] == "steps" &&
			!goes(of+"="+q.Min.String()+"/"+q.Max.String()) {
			f.Weight, f.Dimensions, out = nil, nil, nil
			delete(f.Generalised, "/weight")
			delete(f.Generalised, "/dimensions")
			break
		}
	}
	if f.Layer != nil && f.Generalised["/depth"] != "" && !goes("depth="+f.Layer.Code) {
		f.Layer = nil
	}
	return strings.Join(out, " ")
}

// crossing reports whether neither of two cells lies within the other.
func crossing(a, b *register.Told) bool {
	side := max(a.Side, b.Side)
	la, lo := cellAround(*a.Anchor, side)
	lb, l2 := cellAround(*b.Anchor, side)
	return la != lb || lo != l2
}

// A Circle is what a stranger sees of the place of some finds.
type Circle struct {
	Centre coordinate.Point
	Radius float64 // metres
	Finds  int
	Grid   string
}

// circle counts a find that is told by a circle.
func (c *Copied) circle(p *find.Position, grid string) {
	at := coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}
	for i := range c.circles {
		if c.circles[i].Centre == at && c.circles[i].Grid == grid {
			c.circles[i].Finds++
			return
		}
	}
	c.circles = append(c.circles, Circle{at, p.Uncertainty.Float(), 1, grid})
}

// Circles are the circles that a copy tells, the largest first.
func (c *Copied) Circles() []Circle {
	out := slices.Clone(c.circles)
	slices.SortFunc(out, func(a, b Circle) int { return cmp.Or(cmp.Compare(b.Radius, a.Radius), b.Finds-a.Finds) })
	return out
}
