package share

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/edtf"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/testkit/cases"
)

// Every leaf of the record has its class, every class says what each audience gets, and the table speaks of
// nothing else.
func TestTableIsWhole(t *testing.T) {
	table, used := published(), map[string]bool{}
	left := maps.Clone(table.leaves)
	for _, leaf := range leavesOf() {
		class := table.leaves[leaf]
		if class == "" {
			t.Errorf("%s has no sharing class in schema/data/sharing.json, so that nobody gets it", leaf)
		}
		used[class] = true
		delete(left, leaf)
	}
	for leaf := range left {
		t.Errorf("the table speaks of %s, which is no leaf", leaf)
	}
	known := []string{keep, withhold, key, fresh, code, lexicon, consent, cell, district, month, band, step}
	for class, actions := range table.classes {
		if !used[class] {
			t.Errorf("no leaf is of the class %s", class)
		}
		for _, a := range Audiences() {
			if a != Self && !slices.Contains(known, actions[string(a)]) {
				t.Errorf("the class %s says %q to %s", class, actions[string(a)], a)
			}
		}
	}
	for member, classes := range table.along {
		for _, class := range classes {
			if table.classes[class] == nil {
				t.Errorf("along with %s goes %s, which is no class", member, class)
			}
		}
	}
	if got := table.action("finds.colour", Recorder); got != withhold {
		t.Errorf("a leaf that is not known is %s", got)
	}
}

// canaries fills every leaf of a record with a text of its own, as far as its type lets it.
func canaries(v reflect.Value, list []*node, planted map[string]string) {
	for _, n := range list {
		field := v.Field(n.index)
		if field.Kind() == reflect.Pointer {
			field.Set(reflect.New(field.Type().Elem()))
			field = field.Elem()
		}
		item := field
		if field.Kind() == reflect.Slice && field.Type().Elem().Kind() != reflect.Uint8 {
			field.Set(reflect.MakeSlice(field.Type(), 1, 1))
			item = field.Index(0)
		}
		if n.children != nil {
			canaries(item, n.children, planted)
			continue
		}
		text := fmt.Sprintf("zq%sqz", strings.NewReplacer(".", "", "0", "").Replace(n.path))
		switch item.Kind() {
		case reflect.String:
			item.SetString(text)
			planted[n.path] = text
		case reflect.Map:
			item.Set(reflect.ValueOf(map[string]string{"/" + text: text}))
			planted[n.path] = text
		case reflect.Bool:
			item.SetBool(true)
		case reflect.Slice:
			item.SetBytes([]byte(`{"x-` + text + `":"` + text + `"}`))
			planted[n.path] = text
		case reflect.Struct:
			item.Set(reflect.ValueOf(find.Int(7)))
		}
	}
}

// A canary in every leaf: what the table withholds from an audience is not in its copy, in any format that
// writes what the copy holds; what it keeps is there.
func TestCanaries(t *testing.T) {
	planted := map[string]string{}
	f, p, m, o := new(find.Find), new(find.Person), new(find.Permission), new(find.Outing)
	source := new(find.Report)
	canaries(reflect.ValueOf(source).Elem(), nodes()[""], planted)
	canaries(reflect.ValueOf(f).Elem(), nodes()["finds"], planted)
	canaries(reflect.ValueOf(p).Elem(), nodes()["people"], planted)
	canaries(reflect.ValueOf(m).Elem(), nodes()["permissions"], planted)
	canaries(reflect.ValueOf(o).Elem(), nodes()["outings"], planted)
	f.ID, f.Finder, f.Permission, f.Outing, p.ID, m.ID, o.ID, o.Permission = find.NewReportID(), "person-1",
		"permission-1", "outing-1", "person-1", "permission-1", "outing-1", "permission-1"
	f.Sensitivity, f.EmbargoUntil, f.Retracted, f.HumanRemains, f.PartOf, f.Associated = "open", "2020-01-01", nil, nil,
		"", nil
	f.Notified[0].Status = &find.Term{Code: "closed"}
	f.Materials[0].Term, f.ObjectClass, f.Hazards,
		f.SensitivityReasons[0].Code = find.Term{Code: "lead", Verbatim: f.Materials[0].Verbatim}, nil, nil, "theft-risk"
	f.Name, f.Type, f.Description, f.Found.Date = "Zqfindsnameqz", "Zqfindstypeqz", "Zqfindsdescriptionqz", "2026-04-12"
	f.Position = &find.Position{Latitude: find.Float(52.5063914), Longitude: find.Float(-1.2249252),
		Verbatim: f.Position.Verbatim, TakenAt: f.Position.TakenAt, By: f.Position.By,
		ReferenceSystem: f.Position.ReferenceSystem}
	p.Consents[0].Audience = "nobody"
	source.People, source.Permissions, source.Outings, source.Finds = []find.Person{*p}, []find.Permission{*m},
		[]find.Outing{*o}, []*find.Find{f}
	f.Unknown, p.Unknown = []byte(`{"whim":"zqunknownqz"}`), []byte(`{"whim":"zqunknownqz"}`)
	for _, a := range Audiences() {
		if a == Self {
			continue
		}
		c, err := Copy(t.Context(), source, Options{Audience: a, Day: "2026-06-01", Receiver: "somebody"})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Report.Finds) != 1 {
			t.Fatalf("%s: %v", a, c.Out)
		}
		for format, data := range encodings(t, c.Report) {
			text := strings.ToLower(string(data))
			if strings.Contains(text, "zqunknownqz") {
				t.Errorf("%s for %s holds a member that is not known", format, a)
			}
			for leaf, canary := range planted {
				act := published().action(leaf, a)
				there := strings.Contains(text, strings.ToLower(canary))
				if there && (act == withhold || act == fresh || act == key || act == consent || act == district || a == Public &&
					act == lexicon) {
					t.Errorf("%s for %s holds %s, which the table says is %s", format, a, leaf, act)
				}
			}
		}
	}
}

// The sides of cells at 52 degrees, worked out with GeographicLib's GeodSolve in the tests of
// package coordinate: 0.01 degree is about 1.11 km by 0.69 km. Guidance on sensitive records (Chapman 2020)
// names steps of 1, 0.1, 0.01 and 0.001 degree.
func TestCells(t *testing.T) {
	for _, c := range []struct {
		value, side, want int64
	}{{525_063_914, 100_000, 525_050_000}, {-12_249_252, 100_000, -12_250_000}, {-1, 100_000, -50_000},
		{0, 100_000, 50_000}, {525_063_914, 1_000_000, 525_500_000}} {
		if got := centre(c.value, c.side); got != c.want {
			t.Errorf("centre(%d, %d) = %d, want %d", c.value, c.side, got, c.want)
		}
	}
	if got := radiusOf(525_050_000, -12_250_000, 100_000); got != 1400 { // the diagonal is 1,305 m
		t.Errorf("the circle of 0.01 degree at 52.5 has a radius of %.0f m", got)
	}
	for lat := int64(-900_000_000); lat <= 900_000_000; lat += 12_345_678 {
		a := register.Cell{floorDiv(lat, anchorSide), floorDiv(lat*2, anchorSide)}
		for i := 1; i < len(sides); i++ {
			la, lo := cellAround(a, sides[i-1].side)
			pa, po := cellAround(a, sides[i].side)
			if centre(la, sides[i].side) != pa || centre(lo, sides[i].side) != po {
				t.Fatalf("a cell of %s does not lie within that of %s", sides[i-1].name, sides[i].name)
			}
		}
	}
}

// fieldAt makes a log of one field with finds at some places.
func fieldAt(at ...[2]float64) *find.Report {
	r := &find.Report{Findslip: "1.0", ID: "urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e",
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"}}}}
	for i, p := range at {
		r.Finds = append(r.Finds, &find.Find{ID: find.FindID(r.ID, fmt.Sprint(i+1)), Number: fmt.Sprint(i + 1),
			Name: "button", Permission: "permission-1", Sensitivity: "coarse",
			Materials: []find.Material{{Term: find.Term{Code: "lead"}}},
			Found:     &find.Found{Date: fmt.Sprintf("2026-04-%02d", i+1)},
			Position:  &find.Position{Latitude: find.Float(p[0]), Longitude: find.Float(p[1]), Uncertainty: find.Int(5)}})
	}
	return r
}

// A field over the corner of four cells shows in one of them, and every spot lies in its circle.
func TestOneCellALand(t *testing.T) {
	source := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.5001, -1.2001}, [2]float64{52.4999, -1.1999},
		[2]float64{52.5001, -1.1999})
	c, err := Copy(t.Context(), source, Options{Audience: Public})
	if err != nil {
		t.Fatal(err)
	}
	if circles := c.Circles(); len(circles) != 1 || circles[0].Finds != 4 {
		t.Fatalf("the field shows as %+v", circles)
	}
	circle := c.Circles()[0]
	for _, f := range source.Finds {
		if d := coordinate.Distance(circle.Centre, *pointOf(f)); d+5 > circle.Radius {
			t.Errorf("a spot lies %.0f m off, beyond the circle of %.0f m", d, circle.Radius)
		}
	}
	// A field that reaches further than its circle goes to the parent cell.
	source = fieldAt([2]float64{52.41, -1.29}, [2]float64{52.62, -1.11})
	if c, err = Copy(t.Context(), source, Options{Audience: Public}); err != nil || len(c.Circles()) != 1 ||
		c.Circles()[0].Grid != "grid-0.5" {
		t.Errorf("%v %+v", err, c.Circles())
	}
}

// shareWith makes a copy and hands it out.
func shareWith(t *testing.T, r *register.Register, source *find.Report, o Options, at string) *Copied {
	t.Helper()
	o.Register = r
	c, err := Copy(t.Context(), source, o)
	if err != nil {
		t.Fatal(err)
	}
	events, err := c.Issue(t.Context(), at, at[:10], "copy.json", "")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range events {
		r.Add(e)
	}
	return c
}

// What was told once is told so always: more finds, an outline, another name and a split of the land move
// no cell; ids and days stay; and nothing new is narrower.
func TestToldOnce(t *testing.T) {
	r := register.New("2026-01-01T00:00:00Z")
	source := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.4998, -1.2003})
	first := shareWith(t, r, source, Options{Audience: Public}, "2026-05-01T00:00:00Z")
	place := func(c *Copied, number string) string {
		for _, f := range c.Report.Finds {
			if c.labels[c.Back[f.ID]] == number {
				return fmt.Sprint(f.ID, f.Position.Latitude, f.Position.Longitude, f.Generalised["/position"], f.Found.Date)
			}
		}
		return "gone"
	}
	later := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.4998, -1.2003}, [2]float64{52.5040, -1.1950},
		[2]float64{52.5041, -1.1950})
	later.Permissions[0].Place.Name = "Furlong, the long one"
	later.Permissions = append(later.Permissions, find.Permission{ID: "permission-2"})
	later.Finds[1].Permission = "permission-2"
	again := shareWith(t, r, later, Options{Audience: Public}, "2026-06-01T00:00:00Z")
	for _, number := range []string{"1", "2"} {
		if a, b := place(first, number), place(again, number); a != b {
			t.Errorf("find %s was told as %s and then as %s", number, a, b)
		}
	}
	if a, b := place(again, "1"), place(again, "3"); strings.Fields(a)[1] != strings.Fields(b)[1] {
		t.Errorf("the land shows in two cells: %s, %s", a, b)
	}
	if list := again.Narrowings(); len(list) > 0 {
		t.Errorf("narrower: %v", list)
	}
}

// Ids are the same for one receiver and different for two, and without the secret nobody can make them.
func TestIdsAreKeyed(t *testing.T) {
	r := register.New("2026-01-01T00:00:00Z")
	source := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.4998, -1.2003})
	seen := map[string]string{}
	for _, o := range []Options{{Audience: Public}, {Audience: Expert}, {Audience: Expert, Receiver: "a"},
		{Audience: Expert, Receiver: "b"}, {Audience: Recorder, Receiver: "a"}, {Audience: Partner}, {Audience: Club},
		{Audience: Landowner}} {
		o.Register = r
		c, err := Copy(t.Context(), source, o)
		again, err2 := Copy(t.Context(), source, o)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if !cmp.Equal(c.Back, again.Back) || c.Report.CopyOf != again.Report.CopyOf {
			t.Errorf("%+v: the ids change from copy to copy", o)
		}
		name := string(o.Audience) + " " + o.Receiver
		for id := range c.Back {
			if other := seen[id]; other != "" || id[23] != '8' {
				t.Errorf("the id %s stands in copies for %s and %s", id, other, name)
			}
			seen[id] = name
		}
		if (c.Report.CopyOf == "") != (o.Audience == Public) || c.Report.CopyOf == source.ID || c.Report.CopyOf != "" &&
			seen[c.Report.CopyOf] != "" {
			t.Errorf("%s: copyOf is %q", name, c.Report.CopyOf)
		}
	}
	if c, err := Copy(t.Context(), source, Options{Audience: Recorder, OwnIDs: true}); err != nil ||
		c.Report.Finds[0].ID != source.Finds[0].ID {
		t.Errorf("own ids: %v", err)
	}
	source.IDBasis = "file-name"
	if _, err := Copy(t.Context(), source, Options{Audience: Recorder, OwnIDs: true}); err == nil {
		t.Error("ids that are made from the name of a file go out")
	}
}

// What is closed, under embargo, human remains or may be treasure is not in a public copy, and nothing says
// so but the account for the owner.
func TestSilentForThePublic(t *testing.T) {
	yes := true
	for why, change := range map[string]func(f *find.Find){
		"closed":                func(f *find.Find) { f.Sensitivity = "closed" },
		"embargo":               func(f *find.Find) { f.EmbargoUntil = "2030" },
		"asked to be kept back": func(f *find.Find) { f.Columns = map[string]string{"Embargo until": "2030-01-01"} },
		"human remains":         func(f *find.Find) { f.HumanRemains = &yes },
		"may be treasure":       func(f *find.Find) { f.Materials[0].Code = "gold" },
		"withdrawn":             func(f *find.Find) { f.Retracted = &find.Retraction{On: "2026-05-01"} },
	} {
		source := fieldAt([2]float64{52.4999, -1.2001}, [2]float64{52.4998, -1.2003})
		change(source.Finds[0])
		source.Finds[1].Associated = []find.Association{{Find: source.Finds[0].ID,
			Relation: &find.Term{Code: "duplicate-of"}}}
		c, err := Copy(t.Context(), source, Options{Audience: Public, Day: "2026-06-01"})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Report.Finds) != 1 || len(c.Out) != 1 || c.Out[0] != (LeftOut{Find: "1", Why: strings.TrimSpace(why)}) {
			t.Errorf("%s: %d finds, %v", why, len(c.Report.Finds), c.Out)
			continue
		}
		if f := c.Report.Finds[0]; f.Number != "1" || len(f.Associated) > 0 {
			t.Errorf("%s: the copy shows that something is missing: %+v", why, f)
		}
		if c, err = Copy(t.Context(), source, Options{Audience: Landowner}); err != nil || len(c.Report.Finds) != 2 {
			t.Errorf("%s is hidden from the landowner: %v", why, err)
		}
	}
	for day, holds := range map[string]bool{"": true, "2029-12-31": true, "2030-12-30": true, "2030-12-31": false,
		"2031-01-01": false} {
		if got := embargoed(&find.Find{EmbargoUntil: "2030"}, day); got != holds {
			t.Errorf("on %q the embargo until 2030 holds: %v", day, got)
		}
	}
}

// What an audience was told is put beside what it is told: an earlier smaller cell, another cell, a cell and
// a region in words, another day.
func TestNarrowings(t *testing.T) {
	for name, c := range cases.Table[map[string]struct {
		Old, Now register.Told
		Narrows  bool
	}](t, "Narrowings") {
		if got := narrower(&c.Old, &c.Now); (got != "") != c.Narrows {
			t.Errorf("%s: %q", name, got)
		}
	}
	// From end to end: open to the public first, then to an expert.
	r := register.New("2026-01-01T00:00:00Z")
	source := fieldAt([2]float64{52.5063914, -1.2249252})
	source.Finds[0].Sensitivity = "open"
	shareWith(t, r, source, Options{Audience: Public}, "2026-05-01T00:00:00Z")
	c, err := Copy(t.Context(), source, Options{Audience: Expert, Register: r})
	if err != nil || len(c.Narrowings()) != 0 || c.Report.Finds[0].Generalised["/position"] != "grid-0.01" {
		t.Errorf("the expert gets less than the public: %v %v", c.Narrowings(), err)
	}
	// Weight 9.9 g and then 10.1 g, in steps: together the weight itself. Told again, it goes.
	source.Finds[0].Weight = &find.Quantity{Min: find.Float(9.9), Max: find.Float(9.9), Unit: "g"}
	shareWith(t, r, source, Options{Audience: Public}, "2026-05-02T00:00:00Z")
	source.Finds[0].Weight = &find.Quantity{Min: find.Float(10.1), Max: find.Float(10.1), Unit: "g"}
	if c, err = Copy(t.Context(), source, Options{Audience: Public, Register: r}); err != nil || len(c.Narrowings()) != 1 {
		t.Errorf("two steps tell the weight: %v %v", c.Narrowings(), err)
	}
	if c, err = Copy(t.Context(), source, Options{Audience: Public, Register: r, Again: true}); err != nil ||
		len(c.Narrowings()) != 0 || c.Report.Finds[0].Weight != nil {
		t.Errorf("told again with the weight: %v %v", c.Narrowings(), err)
	}
	other := register.New("2026-01-01T00:00:00Z") // and to an expert first: then the public copy tells the expert more
	shareWith(t, other, source, Options{Audience: Expert, Receiver: "A. Vane"}, "2026-05-01T00:00:00Z")
	if c, err = Copy(t.Context(), source, Options{Audience: Public, Register: other}); err != nil ||
		len(c.Narrowings()) != 1 {
		t.Errorf("the order of copies tells: %v %v", c.Narrowings(), err)
	}
	if c, err = Copy(t.Context(), source, Options{Audience: Expert, Receiver: "B. Ash", Register: other}); err != nil ||
		len(c.Narrowings()) != 0 {
		t.Errorf("two experts do not see each other's copies: %v %v", c.Narrowings(), err)
	}
	if c, err = Copy(t.Context(), source, Options{Audience: Partner, Register: r}); err != nil ||
		len(c.Narrowings()) != 0 {
		t.Errorf("a partner sees the exact place: %v %v", c.Narrowings(), err)
	}
}

// Weights and sizes widen to the steps around them, and twice is once. The steps are those of 1-2-5
// (ISO 3, rounded).
func TestSteps(t *testing.T) {
	for v := 0.01; v < 5000; v *= 1.0173 {
		q := &find.Quantity{Min: find.Float(v), Max: find.Float(v), Unit: "g"}
		once := inSteps(q)
		if low, high := once.Min.Float(), once.Max.Float(); low > v+1e-9 || high < v-1e-9 || high/low > 2.5+1e-9 ||
			low >= high {
			t.Fatalf("%v becomes %v to %v", v, low, high)
		}
		if twice := inSteps(once); twice.Min != once.Min || twice.Max != once.Max {
			t.Fatalf("%v: twice is not once: %v, %v", v, once, twice)
		}
	}
	if q := inSteps(&find.Quantity{Min: find.Float(5), Max: find.Float(5)}); q.Min.String() != "5" ||
		q.Max.String() != "10" {
		t.Errorf("5 becomes %v", q)
	}
}

// A quarter of a year is one closed interval of EDTF, and is told where few finds are new.
func TestQuarters(t *testing.T) {
	for date, want := range map[string]string{"2026-04": "2026-04/2026-06", "2026-12": "2026-10/2026-12", "2026": "2026",
		"2026-21": "2026-21"} {
		got := quarter(date)
		if d, err := edtf.Parse(got); got != want || err != nil || !edtf.ValidFound(d) {
			t.Errorf("%s: %s, want %s: %v", date, got, want, err)
		}
	}
	if math.Abs(stepAbove(9.1)-10) > 1e-9 {
		t.Error("there is no step above 9.1")
	}
}

// The leaves that hold codes know the lists of them: else every code would count as words.
func TestCodesKnowTheirLists(t *testing.T) {
	lists := map[string]string{}
	var walk func(list []*node)
	walk = func(list []*node) {
		for _, n := range list {
			lists[n.path] = n.list
			walk(n.children)
		}
	}
	for _, list := range nodes() {
		walk(list)
	}
	for leaf, want := range map[string]string{"finds.materials.code": "material", "finds.objectClass.code": "object-class",
		"finds.kind": "kind", "finds.hazards.code": "hazard",
		"finds.materials.basis": "identification-basis", "finds.dating.certainty": "certainty",
		"finds.condition.wear.code": "wear", "people.roles.code": "role"} {
		if lists[leaf] != want {
			t.Errorf("%s is of the list %q, want %q", leaf, lists[leaf], want)
		}
	}
}

// In a club's copy nothing leads from a secret find over its day and its outing to the land, of which other finds show
// a cell; and what lay with it is told to the public as it is to an expert, where the find is in both.
func TestClubTellsNoSecretLand(t *testing.T) {
	for _, sensitivity := range []string{"closed", "restricted"} {
		source := fieldAt([2]float64{52.5063914, -1.2249252}, [2]float64{52.5064, -1.2249}, [2]float64{52.5065, -1.2248})
		source.Outings = []find.Outing{{ID: "outing-1", Date: "2026-05-09", Permission: "permission-1"},
			{ID: "outing-2", Date: "2026-05-16", Permission: "permission-1"}}
		for i, f := range source.Finds {
			f.Found = &find.Found{Date: source.Outings[i/2].Date}
			f.Outing, f.Permission = source.Outings[i/2].ID, "permission-1"
		}
		source.Finds[0].Sensitivity = sensitivity
		club, err := Copy(t.Context(), source, Options{Audience: Club})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range club.Report.Finds {
			apart := club.Back[f.ID] != source.Finds[2].ID
			if apart != (f.Found.Date == "2026-05") || apart != (f.Permission == "") || apart != (f.Outing == "") {
				t.Errorf("%s: find %s has %s, land %q, outing %q", sensitivity, f.Number, f.Found.Date, f.Permission, f.Outing)
			}
		}
		for _, o := range club.Report.Outings {
			if (o.Permission == "") != (o.Date == "") || o.Date == "2026-05-09" {
				t.Errorf("%s: an outing of %s is on land %q", sensitivity, o.Date, o.Permission)
			}
		}
		side := func(a Audience) string {
			c, err := Copy(t.Context(), source, Options{Audience: a})
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range c.Report.Finds {
				if c.Back[f.ID] == source.Finds[1].ID {
					return f.Generalised["/position"]
				}
			}
			return "gone"
		}
		// the closed one is in no public copy
		want := map[string]string{"closed": "grid-0.1", "restricted": side(Expert)}[sensitivity]
		if got := side(Public); got != want {
			t.Errorf("%s: what lay with it is told to the public as %q, want %q", sensitivity, got, want)
		}
	}
}

// A copy does not tell of what is left out of it: it is that of a log in which the find, its outing and its land never
// were.
func TestNothingOfWhatIsLeftOut(t *testing.T) {
	for name, change := range map[string]func(f *find.Find){
		"closed":  func(f *find.Find) { f.Sensitivity = "closed" },
		"unknown": func(f *find.Find) { f.Sensitivity = "strange" },
		"restricted": func(f *find.Find) {
			f.Sensitivity, f.Materials = "restricted", []find.Material{{Term: find.Term{Code: "gold"}}}
		},
		"remains": func(f *find.Find) { yes := true; f.HumanRemains = &yes },
		"embargo": func(f *find.Find) { f.EmbargoUntil = "2031-01-01" },
		"words":   func(f *find.Find) { f.Notes = "please keep this one back" },
	} {
		log := func(out bool) *find.Report {
			r := fieldAt([2]float64{52.5063914, -1.2249252}, [2]float64{52.5064, -1.2249}, [2]float64{52.5265, -1.2648},
				[2]float64{52.5065, -1.2247})
			r.Permissions = append(r.Permissions, find.Permission{ID: "permission-2", Place: &find.Place{Name: "Chapel Piece"}})
			r.Outings = []find.Outing{{ID: "outing-1", Date: "2026-05-09", Permission: "permission-1"},
				{ID: "outing-2", Date: "2026-05-16", Permission: "permission-2"}}
			for i, f := range r.Finds {
				f.Sensitivity, f.Outing, f.Permission = "open", r.Outings[i/2].ID, r.Permissions[i/2].ID
				f.Number, f.Found = fmt.Sprintf("%03d", i+1), &find.Found{Date: r.Outings[i/2].Date}
				f.Materials, f.Name = []find.Material{{Term: find.Term{Code: "iron"}}}, "key"
			}
			r.Finds[3].Outing, r.Finds[3].Permission, r.Finds[3].Found.Date = "outing-1", "permission-1", "2026-05-09"
			if out {
				r.Finds = slices.Delete(slices.Delete(r.Finds, 2, 3), 0, 1)
				r.Outings, r.Permissions = r.Outings[:1], r.Permissions[:1]
			} else {
				r.Finds[0].Sensitivity = "coarse"
				r.Finds[1].Associated = []find.Association{{Find: r.Finds[2].ID, Relation: &find.Term{Code: "duplicate-of"}}}
				r.Finds[2].Number = "7a" // whose form is not that of the others
				change(r.Finds[0])
				change(r.Finds[2])
			}
			return r
		}
		keep := register.New("2026-01-01T00:00:00Z")
		for _, a := range []Audience{Public, Expert, Club, Partner} {
			if a != Public && name != "embargo" && name != "words" {
				continue // it is in that copy
			}
			var texts [2]string
			for i, out := range []bool{false, true} {
				c, err := Copy(t.Context(), log(out), Options{Audience: a, Register: keep, Day: "2026-07-01"})
				if err != nil {
					t.Fatal(err)
				}
				for i, f := range c.Report.Finds {
					if a.coarse() && (f.Number == "004" || a != Public && len(f.Number) != 3) && !out {
						t.Errorf("%s, %s: the number %s tells of it", name, a, f.Number)
					}
					f.Number = fmt.Sprint(i)
				}
				var b bytes.Buffer
				if err := find.EncodeJSON(&b, find.StreamOf(c.Report)); err != nil {
					t.Fatal(err)
				}
				texts[i] = b.String()
			}
			if texts[0] != texts[1] {
				t.Errorf("%s, %s: the copy tells of it:\n%s\n%s", name, a, texts[0], texts[1])
			}
		}
	}
}
