package share

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/geojson"
	"github.com/findslip/findslip/pkg/limit"
)

func TestPolicyKnowsEveryMember(t *testing.T) {
	table := maps.Clone(published())
	typ := reflect.TypeFor[find.Find]()
	for i := range typ.NumField() {
		name, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
		if name == "" {
			continue
		}
		for _, a := range Audiences() {
			if a != Self && table[name][a] == "" {
				t.Errorf("the policy says nothing of %s for %s", name, a)
			}
		}
		delete(table, name)
	}
	for name := range table {
		t.Errorf("the policy speaks of %s, which is no member of a find", name)
	}
	if got := (*Policy)(nil).action("colour", Public); got != drop {
		t.Errorf("a member that is not known is %s", got)
	}
}

// The sides of cells at 52 degrees, worked out with GeographicLib's GeodSolve in the tests of
// package coordinate: 0.01 degree is about 1.11 km by 0.69 km. Sensitive-data guidance names steps
// of 0.1, 0.01 and 0.001 degree.
func TestCells(t *testing.T) {
	for _, c := range []struct {
		value, side, want int64
	}{{525_063_914, 100_000, 525_050_000}, {-12_249_252, 100_000, -12_250_000}, {-1, 100_000, -50_000}, {0, 100_000, 50_000}, {525_063_914, 1_000_000, 525_500_000}} {
		if got := centre(c.value, c.side); got != c.want {
			t.Errorf("centre(%d, %d) = %d, want %d", c.value, c.side, got, c.want)
		}
	}
	if half := halfDiagonal(525_050_000, -12_250_000, 100_000); math.Abs(half-653) > 5 {
		t.Errorf("half diagonal of 0.01 degree at 52.5 is %.0f m", half)
	}
}

func TestGeneralise(t *testing.T) {
	for range 5000 {
		lat, lon := rand.Float64()*178-89, rand.Float64()*360-180
		p := find.Position{Latitude: find.Float(coordinate.Round7(lat)), Longitude: find.Float(coordinate.Round7(lon)), Uncertainty: find.Int(rand.IntN(2000) + 1), Verbatim: "by the gate"}
		before := coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}
		truth := p.Uncertainty.Float()
		step := rand.IntN(2)
		name := generalise(&p, step, "")
		after := coordinate.Point{Latitude: p.Latitude.Float(), Longitude: p.Longitude.Float()}
		if d := coordinate.Distance(before, after); d+truth > p.Uncertainty.Float() {
			t.Fatalf("the true point may lie %.0f m away, the copy says %s", d+truth, p.Uncertainty)
		}
		if p.Verbatim != "" || name == steps[0].name && step > 0 {
			t.Fatalf("words stay or the cell is too fine: %s", name)
		}
		again := p
		if second := generalise(&again, step, name); second != name || !cmp.Equal(p, again, cmp.AllowUnexported(find.Number{})) {
			t.Fatalf("twice is not once: %v, %v", p, again)
		}
	}
}

// randomReport makes a report full of things that must not leak.
func randomReport(r *rand.Rand) *find.Report {
	rep := &find.Report{Findslip: "1.0", ID: find.NewReportID(), Title: "Secretfield log",
		People: []find.Person{{ID: "person-1", Name: "Hilda Whitethorn", Handle: "finder-a", Contact: "hilda@thornmere.example"}, {ID: "person-2", Name: "Old Barnaby", Handle: "barnaby7"}},
		Permissions: []find.Permission{{ID: "permission-1", Place: &find.Place{Name: "Long Furlong", Parish: "Thornmere"}, GrantedBy: "person-2"},
			{ID: "permission-2", Place: &find.Place{Name: "Chapel Piece"}}}}
	lat, lon := r.Float64()*100-50, r.Float64()*300-150
	for i := range 12 {
		la, lo := coordinate.Round7(lat+r.Float64()*0.02), coordinate.Round7(lon+r.Float64()*0.02)
		f := &find.Find{ID: find.FindID(rep.ID, fmt.Sprint(i)), Number: fmt.Sprintf("SF-%03d", i), Name: "button", Finder: "person-1", Permission: fmt.Sprintf("permission-%d", 1+i%2),
			Found:          &find.Found{Date: "2026-04-12", Time: "14:30", Verbatim: "Sunday at Long Furlong"},
			Place:          &find.Place{Name: "Long Furlong", Parish: "Thornmere", Region: "Midshire", Country: "GB", Verbatim: "behind the barn"},
			Position:       &find.Position{Latitude: find.Float(la), Longitude: find.Float(lo), Uncertainty: find.Int(5), Verbatim: fmt.Sprintf("%.6f, %.6f", la, lo), Method: &find.Term{Code: "phone", Verbatim: "my phone"}},
			Depth:          &find.Depth{Quantity: find.Quantity{Min: find.Int(20), Max: find.Int(20), Unit: "cm", Verbatim: "20 cm near the gate of Long Furlong"}, Basis: &find.Term{Code: "tape-measured"}},
			Materials:      []find.Material{{Term: find.Term{Code: "lead", Verbatim: "lead, like at Chapel Piece"}}},
			Identification: &find.Identification{Certainty: "probable", By: "person-1"},
			Notes:          "call Hilda Whitethorn, barn at Long Furlong", StoragePlace: "tin in the loft", Value: "about 40 pounds", Columns: map[string]string{"Where": "Long Furlong"},
			Sensitivity: []string{"", "open", "coarse", "restricted", "closed", "odd"}[i%6], Source: &find.Source{File: "/Users/hilda/secret.xlsx"}, Extensions: []byte(`{"x-where":"Long Furlong"}`), Unknown: []byte(`{"spot":"Long Furlong"}`)}
		rep.Finds = append(rep.Finds, f)
	}
	return rep
}

// fourDecimals returns a number cut after its fourth decimal, empty if it has fewer.
func fourDecimals(n find.Number) string {
	whole, decimals, ok := strings.Cut(strings.TrimPrefix(n.String(), "-"), ".")
	if !ok || len(decimals) < 4 {
		return ""
	}
	return whole + "." + decimals[:4]
}

func encodings(t *testing.T, r *find.Report) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for name, encode := range map[string]func(*bytes.Buffer) error{
		"json":    func(b *bytes.Buffer) error { return find.EncodeJSON(b, find.StreamOf(r)) },
		"jsonl":   func(b *bytes.Buffer) error { return find.EncodeJSONL(b, find.StreamOf(r)) },
		"geojson": func(b *bytes.Buffer) error { return geojson.Encode(b, find.StreamOf(r), geojson.Options{}) },
	} {
		var b bytes.Buffer
		if err := encode(&b); err != nil {
			t.Fatal(err)
		}
		out[name] = b.Bytes()
	}
	return out
}

// The attack: no copy for those who may not know a place holds the place in any spelling, a name,
// or anything else of its source that was to stay; and the leak check says so as well.
func TestNothingLeaks(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 100 {
		source := randomReport(r)
		for _, a := range []Audience{Public, Expert} {
			c, err := Copy(t.Context(), source, Options{Audience: a})
			if err != nil {
				t.Fatal(err)
			}
			for format, data := range encodings(t, c.Report) {
				text := string(data)
				for _, secret := range []string{"Hilda", "Barnaby", "barnaby7", "Long Furlong", "Chapel Piece", "Thornmere", "barn", "loft", "pounds", "/Users/", "thornmere.example", "my phone"} {
					if strings.Contains(text, secret) {
						t.Fatalf("%s for %s holds %q:\n%s", format, a, secret, text)
					}
				}
				for _, f := range source.Finds {
					for _, n := range []find.Number{f.Position.Latitude, f.Position.Longitude} {
						if x := fourDecimals(n); x != "" && strings.Contains(text, x) {
							t.Fatalf("%s for %s holds digits of a position", format, a)
						}
					}
				}
				leaks, err := Leaks(t.Context(), data, source, c.Report, a, limit.Limits{})
				if err != nil || len(leaks) > 0 {
					t.Fatalf("%s for %s: %v %v", format, a, leaks, err)
				}
			}
		}
	}
}

// Many exports of one find tell no more than one: the place is the same each time.
func TestManyExportsTellNoMore(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(3, 4)))
	places := map[string]bool{}
	for range 20 {
		c, err := Copy(t.Context(), source, Options{Audience: Public})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.Report.Finds {
			if source := c.Back[f.ID]; source != "" && f.Position != nil {
				places[source+" "+f.Position.Latitude.String()+" "+f.Position.Longitude.String()] = true
			}
		}
	}
	seen := map[string]bool{}
	for p := range places {
		id, _, _ := strings.Cut(p, " ")
		if seen[id] {
			t.Errorf("a find was put in two places: %s", p)
		}
		seen[id] = true
	}
	if len(seen) == 0 {
		t.Error("no positions at all")
	}
}

func TestAudiences(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(5, 6)))
	copyFor := func(a Audience, permissions ...string) *find.Report {
		c, err := Copy(t.Context(), source, Options{Audience: a, Permissions: permissions})
		if err != nil {
			t.Fatal(err)
		}
		return c.Report
	}
	if got := copyFor(Self); !cmp.Equal(source.Finds, got.Finds, cmp.AllowUnexported(find.Number{})) {
		t.Error("self does not see all")
	}
	owner := copyFor(Landowner, "permission-1")
	if len(owner.Finds) != 6 || len(owner.Permissions) != 1 || owner.Finds[0].Position.Latitude != source.Finds[0].Position.Latitude {
		t.Errorf("the landowner sees %d finds and %d permissions", len(owner.Finds), len(owner.Permissions))
	}
	recorder := copyFor(Recorder)
	if f := recorder.Finds[0]; f.Value != "" || f.StoragePlace != "" || f.Absent["/value"] != "withheld" || f.Position.Verbatim == "" || recorder.CopyOf != source.ID {
		t.Errorf("the recorder sees %+v", f)
	}
	if recorder.People[0].Name != "" || recorder.People[0].Absent["/name"] != "withheld" {
		t.Error("a name is shown without consent")
	}
	for _, f := range copyFor(Expert).Finds {
		if f.Position != nil {
			t.Error("the expert sees the place of a find from the outing of a restricted one")
		}
	}
	for i, f := range source.Finds {
		f.Found.Date = fmt.Sprintf("2026-04-%02d", i+1)
	}
	expert := copyFor(Expert)
	if expert.Finds[0].Position == nil {
		t.Error("the expert sees no place at all")
	}
	for _, f := range expert.Finds {
		if f.Position != nil && f.Generalised["/position"] != "grid-0.1" {
			t.Errorf("the expert sees a position on %q", f.Generalised["/position"])
		}
	}
	public := copyFor(Public)
	if public.CopyOf != "" || public.ID == source.ID || len(public.People) != 0 {
		t.Error("the public copy leads back")
	}
	closed := public.Finds[len(public.Finds)-1]
	if closed.Count == nil || closed.Count.Min.Int() != 4 {
		t.Errorf("closed finds are counted as %+v", closed.Count)
	}
	for _, f := range public.Finds[:len(public.Finds)-1] {
		if f.Found == nil || f.Found.Date != "2026-04" || f.Found.Time != "" || f.Depth != nil || f.Layer == nil || f.Layer.Code != "within-plough-depth" || strings.HasPrefix(f.Number, "SF") {
			t.Errorf("the public sees %+v", f)
		}
	}
	if _, err := Copy(t.Context(), source, Options{Audience: Landowner}); err == nil {
		t.Error("a landowner of no named land is accepted")
	}
}

// The leak check finds each sort of leak in the bytes of a copy that is otherwise sound.
func TestLeaksAreFound(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(7, 8)))
	p := source.Finds[0].Position
	p.Latitude, p.Longitude = find.Float(52.5063914), find.Float(-1.2249252)
	c, err := Copy(t.Context(), source, Options{Audience: Public})
	if err != nil {
		t.Fatal(err)
	}
	clean := encodings(t, c.Report)["json"]
	for text, kind := range map[string]string{
		"at 52.50639 north": "position", "SP 52700 90115": "grid-reference", "30U XD 2054 1921": "grid-reference", `52°30'23"N 1°13'29"W`: "grid-reference", "ask Hilda Whitethorn": "name",
		"on LONG FURLONG": "place", "me@thornmere.example": "email", "ring 01632 960123": "phone", "at ZZ9 9ZZ": "postcode", "car AB12 CDE": "plate",
		`C:\finds\log.xlsx`: "file-path", "in a tin in the loft": "storage", source.Finds[1].ID: "id",
	} {
		dirty := bytes.Replace(clean, []byte(`"name": "button"`), []byte(`"name": "button, `+strings.ReplaceAll(strings.ReplaceAll(text, `\`, `\\`), `"`, `\"`)+`"`), 1)
		if bytes.Equal(clean, dirty) {
			t.Fatal("nothing was put in")
		}
		leaks, err := Leaks(t.Context(), dirty, source, c.Report, Public, limit.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, l := range leaks {
			found = found || l.Kind == kind
			if strings.Contains(l.String(), text) {
				t.Errorf("the leak quotes %q", text)
			}
		}
		if !found {
			t.Errorf("%q is not found as %s: %v", text, kind, leaks)
		}
	}
}

func FuzzLeaks(f *testing.F) {
	source := randomReport(rand.New(rand.NewPCG(9, 9)))
	c, err := Copy(f.Context(), source, Options{Audience: Public})
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte("SP 5270 9011, 52.5 N"))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _ = Leaks(t.Context(), data, source, c.Report, Public, limit.Limits{})
	})
}

// Neighbours in the source are not neighbours in a public copy: over many exports a find stands
// beside one of its two neighbours as often as chance has it, 4 of 9 for ten finds in any order.
func TestOrderIsBroken(t *testing.T) {
	source := &find.Report{Findslip: "1.0", ID: find.NewReportID()}
	for i := range 10 {
		source.Finds = append(source.Finds, &find.Find{ID: find.FindID(source.ID, fmt.Sprint(i)), Number: fmt.Sprint(i + 1), Name: "button", Found: &find.Found{Date: fmt.Sprintf("2026-04-%02d", i+1)},
			Sensitivity: []string{"coarse", "restricted"}[i%2]})
	}
	const runs = 3000
	beside := 0
	for range runs {
		c, err := Copy(t.Context(), source, Options{Audience: Public})
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]int{}
		for i, f := range c.Report.Finds {
			at[c.Back[f.ID]] = i
			if f.Number != fmt.Sprint(i+1) || f.Found.Date != "2026-04" {
				t.Fatalf("find %d has the number %s and the day %s", i, f.Number, f.Found.Date)
			}
		}
		for _, j := range []int{4, 6} {
			if d := at[source.Finds[5].ID] - at[source.Finds[j].ID]; d == 1 || d == -1 {
				beside++
			}
		}
	}
	// Two pairs, each beside one another in 2 of 10 orders; five times the deviation of chance.
	want, slack := 0.4*runs, 5*math.Sqrt(runs*2*0.2*0.8)
	if math.Abs(float64(beside)-want) > slack {
		t.Errorf("neighbours stand together %d times in %d, by chance %.0f", beside, runs, want)
	}
}

func TestNarrowings(t *testing.T) {
	grade := func(position, lat, lon, date string) Grade {
		la, _ := find.ParseNumber(lat)
		lo, _ := find.ParseNumber(lon)
		return Grade{ID: "a", Position: position, Latitude: la, Longitude: lo, Date: date}
	}
	for _, c := range []struct {
		name      string
		old, next Grade
		audience  Audience
		warns     bool
	}{
		{"the same again", grade("grid-0.1", "52.55", "-1.25", "2026-04"), grade("grid-0.1", "52.55", "-1.25", "2026-04"), Public, false},
		{"another cell", grade("grid-0.1", "52.55", "-1.25", "2026-04"), grade("grid-0.1", "52.45", "-1.25", "2026-04"), Public, true},
		{"a cell that nests", grade("grid-0.1", "52.55", "-1.25", "2026-04"), grade("grid-0.01", "52.505", "-1.225", "2026-04"), Recorder, false},
		{"finer for the same audience", grade("grid-0.1", "52.55", "-1.25", "2026-04"), grade("grid-0.01", "52.505", "-1.225", "2026-04"), Public, true},
		{"finer place, then finer day", grade("grid-0.01", "52.505", "-1.225", "2026-04"), grade("grid-0.1", "52.55", "-1.25", "2026-04-12"), Expert, true},
		{"all was told before", grade("exact", "52.5063914", "-1.2249252", "2026-04-12"), grade("grid-0.1", "52.55", "-1.25", "2026-04"), Recorder, false},
		{"day without place", grade("none", "", "", "2026-04-12"), grade("grid-0.1", "52.55", "-1.25", "2026-04"), Expert, true},
	} {
		old := Export{Audience: c.audience, Finds: []Grade{c.old}}
		if c.audience == Expert && c.next.Date == "2026-04-12" {
			old.Audience = Public
		}
		got := Narrowings([]Export{old}, Export{Audience: Public, Finds: []Grade{c.next}})
		if (len(got) > 0) != c.warns {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	var log bytes.Buffer
	e := Export{Day: "2026-04-12", Audience: Public, Finds: []Grade{grade("grid-0.1", "52.55", "-1.25", "2026-04")}}
	for range 2 {
		if err := e.Append(&log); err != nil {
			t.Fatal(err)
		}
	}
	back, err := ReadLog(&log, limit.Limits{})
	if err != nil || len(back) != 2 || !cmp.Equal(back[1], e, cmp.AllowUnexported(find.Number{})) {
		t.Errorf("the log is %v, %v", back, err)
	}
	if _, err := ReadLog(strings.NewReader("{\n"), limit.Limits{}); err == nil {
		t.Error("a damaged log is taken")
	}
}

func TestNotesAreOfferedBack(t *testing.T) {
	source := randomReport(rand.New(rand.NewPCG(21, 22)))
	source.Finds[0].Notes = "still has its pea"
	c, err := Copy(t.Context(), source, Options{Audience: Public, Notes: true})
	if err != nil {
		t.Fatal(err)
	}
	kept := 0
	for _, f := range c.Report.Finds {
		if f.Notes != "" {
			kept++
			if f.Notes != "still has its pea" || f.Absent["/notes"] != "" {
				t.Errorf("notes %q, absent %v", f.Notes, f.Absent)
			}
		}
	}
	// "call Hilda Whitethorn, barn at Long Furlong": the name is characters 6 to 21.
	named := false
	for _, s := range c.Held {
		named = named || s.Kind == "name" && s.From == 5 && s.To == 21 && s.Pointer == "/notes" && s.Find == "SF-001"
	}
	if kept != 1 || !named {
		t.Errorf("%d notes are kept, held back are %v", kept, c.Held)
	}
}
