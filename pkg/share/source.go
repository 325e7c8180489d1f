package share

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
)

// A Shelf keeps finds that are read and written one at a time, in memory or elsewhere. A find that Get returns
// belongs to the caller; only Put changes what is kept.
type Shelf interface {
	Len() int
	Get(i int) (*find.Find, error)
	Put(i int, f *find.Find) error // i is at most Len
}

// A Source is a report that a copy is made of: its header, and its finds on a shelf, so that a log of any length
// can be gone through twice.
type Source struct {
	Head  *find.Report
	Finds Shelf
	File  string // name of the file that it was read from, if any
	// Unseen is how the file does not show a find, by its place on the shelf: "hidden", "struck through".
	Unseen  map[int]string
	Columns []find.LayoutColumn // of its sheets
}

// Held is the source of a report that is in memory.
func Held(r *find.Report) Source {
	head := *r
	head.Finds = nil
	return Source{Head: &head, Finds: &inMemory{finds: r.Finds}}
}

// InMemory returns an empty shelf in memory.
func InMemory() Shelf { return &inMemory{} }

type inMemory struct{ finds []*find.Find }

func (m *inMemory) Len() int                      { return len(m.finds) }
func (m *inMemory) Get(i int) (*find.Find, error) { return m.finds[i], nil }

func (m *inMemory) Put(i int, f *find.Find) error {
	if i == len(m.finds) {
		m.finds = append(m.finds, f)
	}
	m.finds[i] = f
	return nil
}

// each goes through the finds.
func (s Source) each(ctx context.Context, yield func(i int, f *find.Find) error) error {
	for i := range s.Finds.Len() {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		f, err := s.Finds.Get(i)
		if err != nil {
			return fmt.Errorf("reading find %d again: %w", i+1, err)
		}
		if err := yield(i, f); err != nil {
			return err
		}
	}
	return nil
}

// A fact is what is remembered of a find of the source while a copy is made: enough to settle which finds
// go, where they are told to lie and when they were made.
type fact struct {
	id, label, number          string
	permission, outing, partOf string
	associated                 []string
	date                       string // of finding
	field                      string // name and parish, of a find without permission
	point                      [2]float64
	placed                     bool
	held                       float64
	side                       int64 // of the cell that it stands in already
	sensitivity                string
	least                      int64  // side of the smallest cell that it may be told in
	why                        string // why it is not in the copy; empty: it is
	kept                       bool   // it is in no copy for this audience, so that nothing in one depends on it
	order                      int    // the figures of its number
	grouped                    bool   // it lies with others
	treasure                   bool   // it may be treasure if it lies with others
	unnumbered                 bool   // its id rests on its words
	spot                       spot
	told                       string // the day that is told
}

// factOf is what of a find is remembered by itself; same keeps a text once.
func factOf(f *find.Find, same func(string) string) fact {
	x := fact{id: string([]byte(f.ID)), label: string([]byte(findLabel(f))), permission: same(f.Permission),
		outing: same(f.Outing), partOf: string([]byte(f.PartOf)), sensitivity: same(sensitivity(f)),
		side: sideOf(f.Generalised["/position"])}
	if x.number = x.label; f.Number == "" {
		x.number = ""
	}
	x.unnumbered = f.Number == "" && len(f.ID) > 23 && f.ID[23] == '5' // the digit of the version (RFC 9562)
	for i := range f.Associated {
		if !f.Associated[i].Relation.Is("duplicate-of") {
			x.grouped = true
		}
		x.associated = append(x.associated, string([]byte(f.Associated[i].Find)))
	}
	if f.Found != nil {
		x.date = same(f.Found.Date)
	}
	if f.Place != nil && f.Place.Name != "" {
		x.field = same(find.FoldName(f.Place.Name) + "\n" + find.FoldName(f.Place.Parish))
	}
	if p := pointOf(f); p != nil {
		x.point, x.placed, x.held = [2]float64{p.Latitude, p.Longitude}, true, radiusHeld(f)
	}
	return x
}

// notWanted is why a find is left out for a profile.
const notWanted = "not wanted"

// facts goes through the source once.
func (c *copier) facts() error {
	texts := map[string]string{}
	same := func(text string) string { // many finds say the same
		if old, ok := texts[text]; ok {
			return old
		}
		out := string([]byte(text))
		texts[out] = out
		return out
	}
	over, err := oversOf(c.ctx, c.source)
	if err != nil {
		return err
	}
	c.finds = make([]fact, 0, c.source.Finds.Len())
	c.fields = map[string]bool{}
	c.sieve = newSieve(c.head, c.o.Policy)
	place := func(p *find.Place) {
		if p != nil && c.o.Audience.coarse() {
			c.fields[same(p.Name)], c.fields[same(p.Parish)] = true, true
		}
	}
	for i := range c.head.Permissions {
		place(c.head.Permissions[i].Place)
	}
	var hints []hint
	err = c.source.each(c.ctx, func(i int, f *find.Find) error {
		x := factOf(f, same)
		place(f.Place)
		c.sieve.ofFind(f)
		s := saidOf(f)
		hints = append(hints, s.hints(i)...)
		x.why = c.keptBack(s, false)
		if texts := over.say(s); len(texts) > 0 && x.why == "" {
			if x.why = c.keptBack(s, false); x.why != "" {
				x.why = same(fmt.Sprintf("%s, as %q over it says", x.why, strings.Join(texts, "; ")))
			}
		}
		if x.why == "" && c.o.Leave != nil && !c.o.Unsafe[f.ID] &&
			c.o.Leave(&profile.Subject{Find: f, Permission: c.landOf(f)}) {
			x.why = notWanted
		}
		x.grouped = x.grouped || f.PartOf != "" || c.o.Audience == Public && severalCoins(s)
		x.treasure = x.why == "" && c.keptBack(s, true) != ""
		c.finds = append(c.finds, x)
		return nil
	})
	if err == nil {
		err = c.follow(hints)
	}
	if err != nil {
		return err
	}
	c.join()
	return c.unseen()
}

// join notes which finds lie with others, and looks finds up by their ids.
func (c *copier) join() {
	c.byID = make(map[string]int32, len(c.finds))
	for i := range c.finds {
		c.byID[c.finds[i].id] = int32(i)
	}
	mark := func(id string) {
		if j, ok := c.byID[id]; ok && id != "" {
			c.finds[j].grouped = true
		}
	}
	for i := range c.finds {
		f := &c.finds[i]
		mark(f.partOf)
		if f.grouped {
			for _, id := range f.associated {
				mark(id)
			}
		}
	}
	for i := range c.finds {
		if f := &c.finds[i]; f.treasure && f.grouped {
			f.why = "may be treasure"
		}
	}
}

// Each goes through the finds of the copy in its order.
func (c *Copied) Each(ctx context.Context, yield func(f *find.Find) error) error {
	for i := range c.Len() {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		f, err := c.At(i)
		if err != nil {
			return err
		}
		if err := yield(f); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// CopyOf takes a report for a copy of a source that had a name.
func CopyOf(r Source, name string) *Copied {
	c := &Copied{Report: r.Head, Names: []string{name}, shelf: r.Finds}
	for i := range r.Finds.Len() {
		c.places = append(c.places, int32(i))
	}
	return c
}

// AsSource is a copy as a report that a copy is made of.
func (c *Copied) AsSource() Source { return Source{Head: c.Report, Finds: c.shelf} }

// Len is how many finds the copy has.
func (c *Copied) Len() int {
	if c.shelf == nil {
		return len(c.Report.Finds)
	}
	return len(c.places)
}

// At returns the find at a place of the copy's order.
func (c *Copied) At(i int) (*find.Find, error) {
	if c.shelf == nil {
		return c.Report.Finds[i], nil
	}
	f, err := c.shelf.Get(int(c.places[i]))
	if err != nil {
		return nil, fmt.Errorf("reading a find of the copy again: %w", err)
	}
	return f, nil
}

// put changes a find of the copy.
func (c *Copied) put(i int, f *find.Find) error {
	if c.shelf == nil {
		c.Report.Finds[i] = f
		return nil
	}
	return c.shelf.Put(int(c.places[i]), f)
}

// Change lets yield change the finds of the copy, and keeps those of which it says that it did.
func (c *Copied) Change(ctx context.Context, yield func(f *find.Find) bool) error {
	for i := range c.Len() {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		f, err := c.At(i)
		if err != nil {
			return err
		}
		if yield(f) {
			if err := c.put(i, f); err != nil {
				return err
			}
		}
	}
	return nil
}

// Stream passes the copy on, find by find.
func (c *Copied) Stream(ctx context.Context) *find.Stream {
	head := *c.Report
	head.Finds = nil
	return find.NewStream(&head, func(yield func(*find.Entry, error) bool) {
		for i := range c.Len() {
			f, err := c.At(i)
			if err == nil {
				err = ctx.Err()
			}
			if !yield(&find.Entry{Find: f, Index: i}, err) || err != nil {
				return
			}
		}
	})
}

// Whole puts the finds of the copy into its report, for whoever needs them all at once.
func (c *Copied) Whole(ctx context.Context) error {
	var finds []*find.Find
	err := c.Each(ctx, func(f *find.Find) error {
		finds = append(finds, f)
		return nil
	})
	if err == nil {
		c.Report.Finds, c.shelf = finds, nil
	}
	return err
}

// wanted are the numbers that the finder asks for.
func wanted(numbers []string) func(number string) bool {
	var list []string
	for _, n := range numbers {
		list = append(list, find.FoldNumber(n))
	}
	return func(number string) bool { return len(list) == 0 || slices.Contains(list, find.FoldNumber(number)) }
}
