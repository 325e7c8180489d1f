package share

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"fmt"
	"maps"
	"path"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/vocabulary"
)

// Options of Copy.
type Options struct {
	Audience    Audience
	Permissions []string // landowner: the local ids, or the names, of the owner's own land; empty: the only one of the report
	Changed     string   // RFC 3339 stamp of the copy; empty: none
	Pictures    string   // folder in which the copy names its pictures, slash path; empty: beside the copy
	Notes       bool     // keep notes that the audience would not see, where nothing in them leaks
	Policy      *Policy  // makes the published table stricter; nil: the table
	Key         []byte   // makes the new ids of a public copy, so that the finder can tell them apart later; empty: random
}

// Copied is a copy and the way back from it, which stays with the finder.
type Copied struct {
	Report *find.Report
	Key    []byte            // that made the new ids
	Back   map[string]string // id in the copy to id in the source
	Left   int               // finds that are not in the copy at all
	// Pictures are the names of pictures in the copy and in the source; Copy only names them.
	Pictures map[string]string
	labels   map[string]string // id in the source to number or name there
	Held     []Span            // notes that Options.Notes would have kept, but for what leaks in them
}

// Copy makes a copy of a report for an audience. The source is left alone. An audience that is not
// known, and for a landowner land that is not settled, is an error.
func Copy(ctx context.Context, r *find.Report, o Options) (*Copied, error) {
	if !slices.Contains(Audiences(), o.Audience) {
		return nil, fmt.Errorf("audience %q is not known", o.Audience)
	}
	c := &copier{ctx: ctx, source: r, o: o, out: &Copied{Key: o.Key, Back: map[string]string{}, Pictures: map[string]string{}, labels: map[string]string{}}, names: map[string]string{}, from: map[*find.Find]*find.Find{}}
	if len(c.out.Key) == 0 {
		c.out.Key = make([]byte, 32)
		if _, err := rand.Read(c.out.Key); err != nil {
			return nil, err
		}
	}
	if err := c.land(); err != nil {
		return nil, err
	}
	for _, f := range r.Finds {
		c.out.labels[f.ID] = findLabel(f)
	}
	c.header()
	c.crowds()
	c.neighbours()
	closed := 0
	for _, f := range r.Finds {
		if ctx.Err() != nil {
			break
		}
		if !c.own(f) {
			c.out.Left++
			continue
		}
		if o.Audience == Public && sensitivity(f) == "closed" {
			closed++
			continue
		}
		copied := c.find(f)
		c.from[copied] = f
		c.out.Report.Finds = append(c.out.Report.Finds, copied)
	}
	if o.Audience == Public {
		c.scatter(closed)
	}
	if o.Notes {
		c.offerNotes()
	}
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("making the copy: %w", err)
	}
	return c.out, nil
}

type copier struct {
	ctx     context.Context // of the one call of Copy
	source  *find.Report
	o       Options
	out     *Copied
	lands   map[string]bool
	guarded map[string]bool                // outings and days of finds whose place is withheld
	bound   map[string]bool                // ids of finds that belong to one whose place is withheld
	from    map[*find.Find]*find.Find      // copy of a find to what it is of: ids may be there twice by mistake
	names   map[string]string              // name of a picture in the source to that in the copy
	crowd   []map[[2]int64]map[string]bool // by step: cell to the permissions in it
}

// land settles which permissions a landowner may see.
func (c *copier) land() error {
	c.lands = map[string]bool{}
	if c.o.Audience != Landowner {
		return nil
	}
	ids := c.o.Permissions
	if len(ids) == 0 {
		if len(c.source.Permissions) != 1 {
			return fmt.Errorf("a landowner sees own land only: name the permissions of the land, by id or by the name of the land as the report has it (--permission); %s", c.permissions())
		}
		ids = []string{c.source.Permissions[0].ID}
	}
	for _, id := range ids {
		found := c.source.Permission(id) != nil
		if found {
			c.lands[id] = true
		}
		for i := range c.source.Permissions {
			p := &c.source.Permissions[i]
			if !found && p.Place != nil && p.Place.Name != "" && find.FoldName(p.Place.Name) == find.FoldName(id) {
				if p.ID == "" || c.named(p.Place.Name) > 1 {
					return fmt.Errorf("more than one permission is for land named %q: name them by id; %s", id, c.permissions())
				}
				c.lands[p.ID] = true
				found = true
			}
		}
		if !found {
			return fmt.Errorf("there is no permission %q in the report, by id or by the name of the land; %s", id, c.permissions())
		}
	}
	return nil
}

// named counts the permissions for land of one name.
func (c *copier) named(name string) (n int) {
	for i := range c.source.Permissions {
		if p := &c.source.Permissions[i]; p.Place != nil && find.FoldName(p.Place.Name) == find.FoldName(name) {
			n++
		}
	}
	return n
}

// permissions says which there are, by id alone.
func (c *copier) permissions() string {
	const most = 8
	var ids []string
	for i := range c.source.Permissions {
		if i == most {
			ids = append(ids, fmt.Sprintf("and %d more", len(c.source.Permissions)-most))
			break
		}
		ids = append(ids, c.source.Permissions[i].ID)
	}
	if len(ids) == 0 {
		return "it has none: a permission ties finds to land, in a column Permission or Field"
	}
	return "it has " + strings.Join(ids, ", ")
}

func (c *copier) own(f *find.Find) bool {
	return c.o.Audience != Landowner || c.lands[f.Permission]
}

// header makes the report around the finds.
func (c *copier) header() {
	s := c.source
	h := &find.Report{Findslip: find.Version, ID: find.NewReportID(), Language: s.Language, Changed: c.o.Changed,
		VocabularyVersion: s.VocabularyVersion, Audience: string(c.o.Audience), Reuse: s.Reuse}
	c.out.Report = h
	defer func() { h.Absent = accounted(s, h, h.Absent) }()
	switch c.o.Audience {
	case Self:
		*h = *s
		h.Finds, h.Audience, h.Changed = nil, string(Self), c.o.Changed
		return // all of it
	case Public:
		h.Absent = map[string]string{"/title": "withheld", "/people": "withheld", "/permissions": "withheld", "/outings": "withheld"}
		return
	}
	h.CopyOf = s.ID
	if c.o.Audience == Expert {
		h.Absent = map[string]string{"/people": "withheld", "/permissions": "withheld", "/outings": "withheld", "/title": "withheld"}
		return
	}
	h.Title = s.Title
	for _, p := range s.Permissions {
		if c.o.Audience != Landowner || c.lands[p.ID] {
			h.Permissions = append(h.Permissions, permission(p))
		}
	}
	for _, o := range s.Outings {
		if c.o.Audience != Landowner || c.lands[o.Permission] {
			h.Outings = append(h.Outings, outing(o))
		}
	}
	c.narrow(h)
	known := c.known(h)
	for _, p := range s.People {
		if known == nil || known[p.ID] {
			h.People = append(h.People, person(p, c.o.Audience))
		}
	}
}

// permission leaves columns out, and what is not known.
func permission(p find.Permission) find.Permission {
	out := clone(&p)
	out.Columns = nil
	dropUnknown(reflect.ValueOf(out))
	out.Absent = accounted(&p, out, p.Absent)
	return *out
}

// outing leaves columns out, and what is not known.
func outing(o find.Outing) find.Outing {
	out := clone(&o)
	out.Columns = nil
	dropUnknown(reflect.ValueOf(out))
	out.Absent = accounted(&o, out, o.Absent)
	return *out
}

// narrow takes the places of permissions away where a policy takes those of finds.
func (c *copier) narrow(h *find.Report) {
	places, spots := c.action("place") != keep, c.action("position") != keep
	for i := range h.Permissions {
		p := &h.Permissions[i]
		gone := maps.Clone(p.Absent)
		if gone == nil {
			gone = map[string]string{}
		}
		if places && p.Place != nil {
			p.Place = nil
			gone["/place"] = "withheld"
		}
		if (places || spots) && p.Area != nil {
			p.Area = nil
			gone["/area"] = "withheld"
		}
		if (places || spots) && p.Excluded != nil {
			p.Excluded = nil
			gone["/excluded"] = "withheld"
		}
		if len(gone) > 0 {
			p.Absent = gone
		}
	}
}

// known are the people that a landowner may know of: those who were on the own land, and who stands
// in its papers. Nil: all.
func (c *copier) known(h *find.Report) map[string]bool {
	if c.o.Audience != Landowner {
		return nil
	}
	out := map[string]bool{}
	for i := range h.Permissions {
		out[h.Permissions[i].GrantedBy], out[h.Permissions[i].Occupier] = true, true
	}
	for i := range h.Outings {
		for _, id := range h.Outings[i].People {
			out[id] = true
		}
	}
	for _, f := range c.source.Finds {
		if !c.own(f) {
			continue
		}
		for cell := range find.Flat(f) {
			out[cell.Text] = true // local ids stand in many members
		}
	}
	return out
}

func (c *copier) action(member string) string { return c.o.Policy.action(member, c.o.Audience) }

// person shows a name only to an audience that the person has consented to; a handle stands in its
// place, else nothing but the id.
func person(p find.Person, a Audience) find.Person {
	from := clone(&p)
	out := find.Person{ID: p.ID, Handle: p.Handle, Roles: from.Roles, Generalised: from.Generalised}
	if slices.ContainsFunc(p.Consents, func(c find.Consent) bool { return c.Audience == string(a) }) {
		out.Name = p.Name
		if a == Recorder {
			out.Contact = p.Contact
		}
	}
	dropUnknown(reflect.ValueOf(&out))
	out.Absent = accounted(&p, &out, p.Absent)
	return out
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

// find makes the copy of one find.
func (c *copier) find(source *find.Find) *find.Find {
	f := clone(source)
	if c.o.Audience == Self {
		return f
	}
	dropUnknown(reflect.ValueOf(f))
	w := &worker{c: c, f: f, source: source}
	v := reflect.ValueOf(f).Elem()
	for i := range v.NumField() {
		name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		if name == "" || v.Field(i).IsZero() {
			continue
		}
		w.member(name, v.Field(i))
	}
	w.pictures()
	w.opinion()
	w.account()
	return f
}

// worker works on one find.
type worker struct {
	c         *copier
	f, source *find.Find
}

func (w *worker) absent(pointer string) {
	if w.f.Absent == nil {
		w.f.Absent = map[string]string{}
	}
	w.f.Absent[pointer] = "withheld"
}

func (w *worker) generalised(pointer, how string) {
	if w.f.Generalised == nil {
		w.f.Generalised = map[string]string{}
	}
	w.f.Generalised[pointer] = how
}

func (w *worker) member(name string, v reflect.Value) {
	switch act := w.c.action(name); act {
	case keep:
	case withhold:
		v.SetZero()
		w.absent("/" + name)
	case codes:
		stripWords(v)
		if v.IsZero() {
			w.absent("/" + name)
		}
	case cell, cellTen, cellOne:
		w.position(act)
	case region:
		w.place()
	case month, year:
		w.day(act)
	case band:
		w.band()
	case renumber: // after all finds are known
	default:
		v.SetZero()
	}
}

// place leaves the region and the country, and nothing where the find is closed.
func (w *worker) place() {
	p := w.f.Place
	*p = find.Place{Region: p.Region, Country: p.Country}
	if p.Region == "" && p.Country == "" || sensitivity(w.source) == "closed" {
		w.f.Place = nil
		w.absent("/place")
		return
	}
	w.generalised("/place", "region")
}

// day leaves the month or the year of the day of finding.
func (w *worker) day(how string) {
	d := w.f.Found
	date, err := edtf.Parse(d.Date)
	if err != nil {
		w.f.Found = nil
		w.absent("/found")
		return
	}
	precision := edtf.PrecisionMonth
	if how == year {
		precision = edtf.PrecisionYear
	}
	coarse := date.Coarsen(precision)
	w.f.Found = &find.Found{Date: coarse.String()}
	if coarse.String() != d.Date || d.Time != "" || d.Verbatim != "" {
		w.generalised("/found/date", how)
	}
}

// band turns the depth into whether it lay within the plough depth.
func (w *worker) band() {
	d := w.f.Depth
	w.f.Depth = nil
	w.generalised("/depth", "plough-band")
	w.absent("/depth")
	if !d.HasValue() {
		return
	}
	limit := 30.0
	if p := w.c.source.Permission(w.source.Permission); p != nil && p.PloughDepth.HasValue() && p.PloughDepth.Max.Known() {
		limit = p.PloughDepth.Max.Float()
	}
	code := "plough-depth-unclear"
	switch {
	case d.Max.Known() && d.Max.Float() <= limit:
		code = "within-plough-depth"
	case d.Min.Known() && d.Min.Float() > limit:
		code = "below-plough-depth"
	}
	w.f.Layer = &find.Term{Code: code}
}

// opinion leaves out who said what the find is, for the one who is asked.
func (w *worker) opinion() {
	if w.c.o.Audience == Expert && w.f.Identification != nil {
		w.f.Identification.By, w.f.Identification.Follows = "", ""
	}
}

// pictures leaves out what a picture tells of its place: those of the hole and the land.
func (w *worker) pictures() {
	kept := w.f.Media[:0]
	for _, m := range w.f.Media {
		if w.c.o.Audience == Expert && m.View.Is("in-hole", "hole-section") {
			w.absent("/media")
			continue
		}
		if w.c.o.Audience == Expert {
			m.By, m.TakenAt = "", ""
		}
		if m.File != "" {
			m.File, m.SHA256 = w.c.pictureName(m.File), "" // the copy of a picture has other bytes
		}
		kept = append(kept, m)
	}
	if w.f.Media = kept; len(kept) == 0 {
		w.f.Media = nil
	} else if w.f.Absent["/media"] != "" {
		delete(w.f.Absent, "/media")
		w.absent("/media/view")
	}
}

// pictureName gives a picture a name that says nothing; the same picture has the same one.
func (c *copier) pictureName(file string) string {
	name, ok := c.names[file]
	if !ok {
		ext := ".jpg"
		if strings.EqualFold(path.Ext(file), ".png") {
			ext = ".png"
		}
		name = path.Join(c.o.Pictures, fmt.Sprintf("picture-%03d%s", len(c.names)+1, ext))
		c.names[file], c.out.Pictures[name] = name, file
	}
	return name
}

// stripWords takes the words out of a member and leaves the canonical values.
func stripWords(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			stripWords(v.Elem())
			if v.Elem().IsZero() {
				v.SetZero()
			}
		}
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.Uint8 {
			return
		}
		kept := 0
		for i := range v.Len() {
			stripWords(v.Index(i))
			if !v.Index(i).IsZero() {
				v.Index(kept).Set(v.Index(i))
				kept++
			}
		}
		if v.SetLen(kept); kept == 0 {
			v.SetZero()
		}
	case reflect.Struct:
		t := v.Type()
		for i := range t.NumField() {
			switch name := t.Field(i).Name; {
			case name == "Verbatim" || name == "Unknown" || name == "Note" || name == "By" || name == "On":
				v.Field(i).SetZero()
			case t == reflect.TypeFor[find.Term]() && (name == "Label" || name == "Basis" && !vocabulary.Get("identification-basis").Has(v.Field(i).String())):
				v.Field(i).SetZero()
			case v.Field(i).Kind() == reflect.Pointer || v.Field(i).Kind() == reflect.Slice || v.Field(i).Kind() == reflect.Struct && t.Field(i).Type != reflect.TypeFor[find.Number]():
				stripWords(v.Field(i))
			}
		}
		if onlyDoubt(v) {
			v.SetZero()
		}
	}
}

// onlyDoubt tells a term of which nothing is left but its certainty.
func onlyDoubt(v reflect.Value) bool {
	t, ok := v.Interface().(find.Term)
	if m, isMaterial := v.Interface().(find.Material); isMaterial {
		t, ok = m.Term, true
	}
	if tr, isTrace := v.Interface().(find.Trace); isTrace {
		t, ok = tr.Term, true
	}
	return ok && t.Code == ""
}

// scatter breaks what leads back in a public copy: new ids, new numbers in the order of the ids, and
// one record that only counts what is closed.
func (c *copier) scatter(closed int) {
	finds := c.out.Report.Finds
	for _, f := range finds {
		mac := hmac.New(sha256.New, c.out.Key)
		mac.Write([]byte(f.ID))
		id := "urn:uuid:" + uuid.NewSHA1(uuid.Nil, mac.Sum(nil)).String()
		c.out.Back[id] = f.ID
		f.ID = id
	}
	slices.SortFunc(finds, func(a, b *find.Find) int { return strings.Compare(a.ID, b.ID) })
	for i, f := range finds {
		f.Number = strconv.Itoa(i + 1)
		delete(f.Absent, "/number")
	}
	if closed == 0 {
		return
	}
	count := find.Int(closed)
	c.out.Report.Finds = append(finds, &find.Find{ID: find.NewReportID(), Number: strconv.Itoa(len(finds) + 1), Name: "finds that are not shown", Sensitivity: "closed",
		Count:  &find.Quantity{Min: count, Max: count},
		Absent: map[string]string{"/position": "withheld", "/place": "withheld", "/found": "withheld", "/finder": "withheld", "/depth": "withheld"}})
}

// label of a find: its number, else its name.
func findLabel(f *find.Find) string {
	if f.Number != "" {
		return f.Number
	}
	return f.Name
}
