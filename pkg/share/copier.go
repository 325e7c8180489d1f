package share

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/profile"
	"github.com/findslip/findslip/pkg/register"
)

// Options of Copy.
type Options struct {
	Audience Audience
	Receiver string // the person or body that the copy is for; empty: not named
	// landowner: the local ids, or the names, of the owner's own land; empty: the only one of the report
	Permissions []string
	Finds       []string        // numbers of the finds that go; empty: all that the audience may see
	Without     []string        // ids of finds that do not go
	Remains     map[string]bool // numbers, or names, of finds that a rule takes for human remains
	Again       bool            // tell regions and days again that the receiver was told before, where those are finer
	Changed     string          // RFC 3339 stamp of the copy; empty: none
	Day         string          // that counts as today, ISO 8601; empty: every embargo holds
	Pictures    string          // folder in which the copy names its pictures, slash path; empty: beside the copy
	Notes       bool            // keep notes that the audience would not see, where nothing in them leaks
	District    bool            // tell region and country in place of cells
	OwnIDs      bool            // recorder: keep the owner's ids
	Policy      *Policy         // makes the published table stricter; nil: the table
	// Drop, if not nil, takes members out of a find of the copy and returns their pointers.
	Drop   func(source *profile.Subject, copied *find.Find) []string
	Unsafe map[string]bool // ids of finds that draw a caution of safety: Drop and Leave are not asked of them
	// Leave, if not nil, reports whether a find does not go, for its receiver wants nothing of it.
	Leave func(source *profile.Subject) bool
	// what was told before, and the secret of the ids; nil: an empty one, which is forgotten
	Register *register.Register
}

// Copied is a copy and the way back from it, which stays with the finder.
type Copied struct {
	Names    []string // of the file and the sheets of the source, which a search looks for too
	Report   *find.Report
	Back     map[string]string // id of a find in the copy to its id in the source
	Left     int               // finds that are not in the copy at all
	Out      []LeftOut         // those of them that the table or the finder keeps back, for the owner to know
	Unseen   []string          // what of the copy its source does not show, each a sentence for the owner
	Apart    []string          // land of a landowner's copy whose finds lie in several places: is it one field?
	NotShown []LeftOut         // finds of a landowner's own land that are not in the copy, which its page says
	// Pictures are the names of pictures in the copy and in the source; Copy only names them.
	Pictures map[string]string
	Sums     bool    // the audience gets the sums of pictures
	Doubts   []Doubt // texts that were withheld, for they may tell a place
	Held     []Span  // notes that Options.Notes would have kept, but for what leaks in them
	labels   map[string]string
	shelf    Shelf   // of its finds; nil: they stand in Report
	places   []int32 // on the shelf, in the order of the copy
	circles  []Circle
	lands    []landed        // the cells that were told, for the register
	told     []register.Told // one for each find of the copy, by its place on the shelf
	register *register.Register
	receiver string // folded
	name     string // as it was typed
	source   string // id of the source
}

// LeftOut is a find that is not in a copy, and why.
type LeftOut struct {
	Find, Why string
	Day       string // on which it was found, in NotShown
}

// Hidden are the ids of the finds of the source that the copy leaves out.
func (c *Copied) Hidden() map[string]bool {
	out := map[string]bool{}
	for id := range c.labels {
		out[id] = true
	}
	for _, id := range c.Back {
		delete(out, id)
	}
	return out
}

// Copy makes a copy of a report for an audience. The source is left alone. An audience that is not
// known, and for a landowner land that is not settled, is an error. The register is not written to: what
// is to be noted of the copy, once it is handed out, is Issue.
func Copy(ctx context.Context, r *find.Report, o Options) (*Copied, error) {
	c, err := CopyTo(ctx, Held(r), InMemory(), o)
	if err == nil {
		err = c.Whole(ctx)
	}
	if err != nil {
		return nil, err
	}
	return c, nil
}

// CopyTo is Copy for a log of any length: it goes through the source twice, first for who and where, then cutting
// find by find, and puts the finds of the copy on a shelf, where Each and Stream find them.
func CopyTo(ctx context.Context, source Source, to Shelf, o Options) (*Copied, error) {
	if !slices.Contains(Audiences(), o.Audience) {
		return nil, fmt.Errorf("audience %q is not known", o.Audience)
	}
	if o.Register == nil {
		o.Register = register.New("")
	}
	name := strings.TrimSpace(o.Receiver)
	o.Receiver = find.FoldName(name)
	c := &copier{ctx: ctx, source: source, head: source.Head, o: o, ids: keyed{o, source.Head.ID},
		people: map[string]bool{}, aparts: map[string]bool{},
		out: &Copied{Back: map[string]string{}, Pictures: map[string]string{}, labels: map[string]string{},
			register: o.Register, receiver: o.Receiver, name: name, source: source.Head.ID, shelf: to}}
	c.unseenColumns()
	c.out.Sums = c.action("finds.media.sha256") != withhold
	if err := c.land(); err != nil {
		return nil, err
	}
	err := c.facts()
	if err == nil {
		err = c.checkOwnIDs()
	}
	if err == nil {
		err = c.cut(to)
	}
	if stopped := ctx.Err(); stopped != nil {
		return nil, fmt.Errorf("making the copy: %w", stopped)
	}
	if err != nil {
		return nil, err
	}
	return c.out, nil
}

// cut makes the copy of every find that goes, and the report around them.
func (c *copier) cut(to Shelf) error {
	chosen := c.choose()
	c.twoPlaces(chosen)
	if c.o.Audience.coarse() || c.action("finds.position.latitude") != keep {
		c.places(chosen)
	}
	c.days(chosen)
	c.out.Report = &find.Report{}
	c.header()
	for _, i := range chosen {
		if err := c.ctx.Err(); err != nil {
			return err
		}
		source, err := c.source.Finds.Get(int(i))
		if err != nil {
			return fmt.Errorf("reading find %d again: %w", i+1, err)
		}
		c.at = &c.finds[i]
		copied := c.find(source)
		c.out.Back[copied.ID] = c.at.id
		c.remember(copied)
		c.out.places = append(c.out.places, int32(to.Len()))
		if err := to.Put(to.Len(), copied); err != nil {
			return fmt.Errorf("keeping the copy: %w", err)
		}
	}
	c.around()
	if err := c.order(); err != nil {
		return err
	}
	return c.offerNotes(chosen)
}

// copier makes one copy.
type copier struct {
	ctx      context.Context // of the one call of Copy
	source   Source
	head     *find.Report // of the source
	o        Options
	ids      keyed
	out      *Copied
	own      map[string]bool            // permissions of a landowner
	people   map[string]bool            // local ids of people that the copy names
	finds    []fact                     // of the source
	byID     map[string]int32           // of them, by their ids
	fields   map[string]bool            // names of fields and parishes
	before   map[string][]register.Told // by digest, what was told of a find earlier
	mine     map[string][]register.Told // the same, of what this receiver knows
	sieve    *sieve                     // of free words
	gone     []string                   // pointers of what the header lacks
	numbers  map[string]string          // new ones of the finds that it may tell of, by their ids in the copy
	doubted  []string                   // members of the find that is being copied of which the words were withheld
	at       *fact                      // what is remembered of it
	label    string                     // of it
	aparts   map[string]bool            // outings on which a find was made that is told apart from its land, as outingKeys
	smallest map[string]int64           // side of the cells that are told of the finds of a permission
	measure  *find.Quantity             // of which a part is being copied
	unshown  map[string]bool            // leaves that stand in hidden columns
}

// shows reports whether a find of the source is in the copy.
func (c *copier) shows(id string) bool {
	i, ok := c.byID[id]
	return ok && c.finds[i].why == ""
}

// choose settles which finds are in the copy.
func (c *copier) choose() (chosen []int32) {
	asked := wanted(c.o.Finds)
	for i := range c.finds {
		f := &c.finds[i]
		f.kept = f.why != ""
		c.out.labels[f.id] = f.label
		if c.o.Audience == Landowner && !c.own[f.permission] || !asked(f.number) {
			c.out.Left++
			if c.o.Audience == Landowner && c.own[f.permission] {
				c.notShown(f, "not chosen")
			}
			f.why = "not asked for"
			continue
		}
		if f.why == "" && slices.Contains(c.o.Without, f.id) {
			f.why = "told before"
		}
		if f.why != "" {
			c.out.Left++
			c.out.Out = append(c.out.Out, LeftOut{Find: f.label, Why: f.why})
			if c.o.Audience == Landowner {
				c.notShown(f, f.why)
			}
			continue
		}
		chosen = append(chosen, int32(i))
	}
	c.renumber()
	return chosen
}

// notShown notes a find of the landowner's own land that the copy lacks: a page says so above the signature.
func (c *copier) notShown(f *fact, why string) {
	c.out.NotShown = append(c.out.NotShown, LeftOut{f.label, why, f.date})
}

// keptBack says why a find is in no copy for this audience, empty where it is.
func (c *copier) keptBack(s *said, group bool) string {
	f := s.Find
	a := c.o.Audience
	if a == Self || a == Landowner || a == Recorder {
		return ""
	}
	unnamed := a.strangers() || c.o.Receiver == "" // partner and club
	if a.coarse() && s.wordy {
		return "more words than can be looked through"
	}
	switch {
	case a == Public && sensitivity(f) == "closed":
		return "closed"
	case unnamed && embargoed(f, c.o.Day):
		return "embargo"
	case a.strangers() && f.Retracted != nil:
		return "withdrawn"
	case !unnamed:
		return ""
	}
	switch {
	case askedToKeep(s, c.o.Day):
		return "asked to be kept back"
	case a != Public:
		return ""
	case humanRemains(s), c.o.Remains[findLabel(f)]:
		return "human remains"
	case s.speaks("police"):
		return "a matter for the police"
	case mayBeTreasure(s, group):
		return "may be treasure"
	}
	return ""
}

// find makes the copy of one find.
func (c *copier) find(source *find.Find) *find.Find {
	if c.o.Audience == Self {
		return clone(source)
	}
	f := new(find.Find)
	c.label, c.doubted = findLabel(source), nil
	source = c.alone(source)
	gone := c.record(f, source, "finds")
	c.label = ""
	if c.apart() {
		f.Permission, f.Outing = "", ""
		for _, key := range outingKeys(c.at) {
			c.aparts[key] = true
		}
	}
	c.position(f, source, &gone)
	c.district(f, source, &gone)
	c.day(f, source, &gone)
	c.depth(f, source, &gone)
	c.measures(f, source)
	c.pictures(f, source, &gone)
	if f.ObjectClass != nil && c.o.Audience.coarse() && c.action("finds.name") != withhold && f.Name == "" &&
		source.Name != "" {
		if label := label("object-class", f.ObjectClass.Code); label != "" {
			f.Name = label
			f.Generalised = generalisedAs(f.Generalised, "/name", "class")
		}
	}
	f.Absent = c.marks(source.Absent, gone, "finds")
	if f.Name == "" && source.Name != "" {
		f.Absent = noted(f.Absent, "/name")
	}
	for _, pointer := range c.doubted {
		switch {
		case c.o.Audience == Public || pointer == "/number": // the public copy says nothing of what its source has
		case has(f, pointer):
			f.Generalised = generalisedAs(f.Generalised, pointer, "words")
		default:
			f.Absent = noted(f.Absent, pointer)
		}
	}
	if f.Layer != nil && f.Generalised["/depth"] != "" {
		f.Absent = noted(f.Absent, "/depth")
	}
	for pointer, there := range map[string]bool{"/position": f.Position != nil, "/found": f.Found != nil,
		"/finder": f.Finder != "", "/depth": f.Depth != nil || f.Layer != nil, "/permission": f.Permission != ""} {
		if reason := f.Absent[pointer]; !there && (reason == "" || reason == "blank") && f.Generalised[pointer] == "" &&
			(c.o.Audience.coarse() || lost(source, f, pointer)) {
			f.Absent = noted(f.Absent, pointer) // always, so that it tells nothing
		}
	}
	if c.o.Drop != nil && !c.o.Unsafe[source.ID] {
		for _, pointer := range c.o.Drop(&profile.Subject{Find: source, Permission: c.landOf(source)}, f) {
			f.Absent = noted(f.Absent, pointer)
		}
	}
	return f
}

// alone is a find without its links to those that are left out without a word, of which a mark would tell.
func (c *copier) alone(f *find.Find) *find.Find {
	silent := func(id string) bool {
		i, ok := c.byID[id]
		return ok && c.finds[i].kept
	}
	if !silent(f.PartOf) && !slices.ContainsFunc(f.Associated, func(a find.Association) bool { return silent(a.Find) }) {
		return f
	}
	out := *f
	if silent(f.PartOf) {
		out.PartOf = ""
	}
	out.Associated = slices.DeleteFunc(slices.Clone(f.Associated), func(a find.Association) bool { return silent(a.Find) })
	if len(out.Associated) == 0 {
		out.Associated = nil
	}
	return &out
}

// has reports whether a find has something of a member.
func has(f *find.Find, pointer string) bool {
	v := reflect.ValueOf(f).Elem()
	for i := range v.NumField() {
		if name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ","); "/"+name == pointer {
			return !v.Field(i).IsZero()
		}
	}
	return false
}

// lost reports whether the source has a member that the copy lacks.
func lost(source, told *find.Find, pointer string) bool {
	return has(source, pointer) || pointer == "/position" && source.Place != nil && told.Place == nil ||
		pointer == "/depth" && source.Layer != nil
}

// header makes the report around the finds.
func (c *copier) header() {
	s, h, a := c.head, c.out.Report, c.o.Audience
	if a == Self {
		*h = *s
		h.Audience, h.Changed = string(Self), c.o.Changed
		return
	}
	c.gone = c.record(h, s, "")
	h.Findslip, h.Audience, h.Changed = find.Version, string(a), c.o.Changed
	if len(h.Changed) > 10 {
		h.Changed = a.DayTold(h.Changed[:10]) + h.Changed[10:]
		if a.coarse() {
			h.Changed = h.Changed[:10] + "T00:00:00Z"
		}
	}
	h.ID = c.ids.urn(s.ID + "\n" + c.o.Changed)
	if c.o.OwnIDs {
		h.ID = find.NewReportID()
	}
	if a.answers() {
		h.CopyOf = c.ids.urn(s.ID)
		if c.o.OwnIDs {
			h.CopyOf = s.ID
		}
	}
}

// around makes the records around the finds, once it is known which people these name.
func (c *copier) around() {
	s, h, a := c.head, c.out.Report, c.o.Audience
	if a == Self {
		return
	}
	if !a.strangers() {
		goes := c.goAlong()
		for i := range s.Permissions {
			if p := &s.Permissions[i]; goes(p.ID, "permission "+p.ID) {
				h.Permissions = append(h.Permissions, *around(c, p, "permissions"))
			}
		}
		for i := range s.Outings {
			if o := &s.Outings[i]; goes(o.Permission, "outing "+o.ID, "day "+o.Date+" "+o.Permission) {
				h.Outings = append(h.Outings, *around(c, o, "outings"))
			}
		}
	}
	// Of a find that is kept back nobody is to know who found it; one that is not wanted hides nobody who agreed.
	secret := slices.ContainsFunc(c.finds, func(x fact) bool { return x.why != "" && x.why != notWanted })
	for i := range s.People {
		if p := &s.People[i]; c.people[p.ID] || (a == Partner || a == Recorder) &&
			(c.out.Left == 0 || !secret && consents(p, a)) {
			h.People = append(h.People, *around(c, p, "people"))
		}
	}
	h.Absent = c.marks(s.Absent, c.gone, "")
	if a.strangers() {
		h.Absent = nil
		for _, list := range []string{"/title", "/people", "/permissions", "/outings"} {
			if list != "/people" || len(h.People) == 0 {
				h.Absent = noted(h.Absent, list)
			}
		}
	}
}

// around copies a record that stands around the finds.
func around[T find.Record](c *copier, source *T, kind string) *T {
	out := new(T)
	gone := c.record(out, source, kind)
	absent, _ := marksOf(out)
	from, _ := marksOf(source)
	*absent = c.marks(*from, gone, kind)
	if o, ok := any(source).(*find.Outing); ok {
		secret := c.aparts["outing "+o.ID] || c.aparts["day "+o.Date+" "+o.Permission]
		if to := any(out).(*find.Outing); secret && to.Permission != "" {
			// the day of the find would lead to it, and it to the land
			to.Permission, *absent = "", noted(*absent, "/permission")
		}
		// An outing has a day and no month, so that it has none where a find has the month.
		if to := any(out).(*find.Outing); to.Date != "" && (secret || c.action("outings.date") != keep) {
			to.Date, *absent = "", noted(*absent, "/date")
		}
	}
	return out
}

// goAlong tells which permissions and outings go with the finds: those that a find of the copy leads to, and in a copy
// of all finds those that no find of the source leads to. One that only finds lead to that are left out would tell of
// them.
func (c *copier) goAlong() func(land string, keys ...string) bool {
	some, gone := map[string]bool{}, map[string]bool{}
	for i := range c.finds {
		f := &c.finds[i]
		keys := outingKeys(f)
		if f.outing != "" {
			keys = keys[:1] // the day is told by the outing
		}
		if f.permission != "" {
			keys = append(keys, "permission "+f.permission)
		}
		of := some
		if c.at = f; f.why != "" || c.apart() {
			of = gone
		}
		for _, key := range keys {
			of[key] = true
		}
	}
	return func(land string, keys ...string) bool {
		if c.o.Audience == Landowner {
			return c.own[land]
		}
		met, left := false, len(c.o.Finds) > 0 || gone["permission "+land] && !some["permission "+land]
		for _, key := range keys {
			met, left = met || some[key], left || gone[key]
		}
		return met || !left
	}
}

// marksOf returns the maps of what is absent and what was made coarser.
func marksOf[T find.Record](record *T) (absent, generalised *map[string]string) {
	switch r := any(record).(type) {
	case *find.Find:
		return &r.Absent, &r.Generalised
	case *find.Person:
		return &r.Absent, &r.Generalised
	case *find.Permission:
		return &r.Absent, &r.Generalised
	case *find.Outing:
		return &r.Absent, &r.Generalised
	case *find.Report:
		return &r.Absent, &r.Generalised
	}
	return nil, nil
}

// marks are what a record of the copy says is absent: the reasons of the source for what the audience would
// see, and withheld for what went. For those who may be anybody the table says what they do not see, and a
// mark would only tell what the source has.
func (c *copier) marks(source map[string]string, gone []string, kind string) (out map[string]string) {
	for pointer, reason := range source {
		if known, seen := c.sees(kind, pointer); known && seen && absenceReasons().Has(reason) &&
			!(c.o.Audience.coarse() && reason == "blank") {
			if out == nil {
				out = map[string]string{}
			}
			out[pointer] = reason
		}
	}
	if !c.o.Audience.coarse() {
		for _, pointer := range gone {
			out = noted(out, pointer)
		}
	}
	return out
}

// sees reports whether a pointer names leaves of a record, and whether the audience sees any of them.
func (c *copier) sees(kind, pointer string) (known, seen bool) {
	parts := []string{}
	if kind != "" {
		parts = append(parts, kind)
	}
	for _, part := range strings.Split(strings.TrimPrefix(pointer, "/"), "/") {
		if _, err := strconv.Atoi(part); err != nil {
			parts = append(parts, part)
		}
	}
	name := strings.Join(parts, ".")
	for leaf := range published().leaves {
		if leaf == name || strings.HasPrefix(leaf, name+".") {
			known = true
			if act := c.action(leaf); act == keep || act == code || act == key {
				return true, true
			}
		}
	}
	return known, false
}

// findLabel of a find: its number, else its name.
func findLabel(f *find.Find) string {
	if f.Number != "" {
		return f.Number
	}
	return f.Name
}

func noted(absent map[string]string, pointer string) map[string]string {
	if absent == nil {
		absent = map[string]string{}
	}
	absent[pointer] = "withheld"
	return absent
}

func generalisedAs(generalised map[string]string, pointer, how string) map[string]string {
	if generalised == nil {
		generalised = map[string]string{}
	}
	generalised[pointer] = how
	return generalised
}

// landOf is the permission of a find; nil where the report has none.
func (c *copier) landOf(f *find.Find) *find.Permission {
	for i := range c.head.Permissions {
		if p := &c.head.Permissions[i]; p.ID == f.Permission {
			return p
		}
	}
	return nil
}
