package share

import (
	"bytes"
	"math/rand/v2"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"
	"github.com/santhosh-tekuri/jsonschema/v5"

	"github.com/findslip/findslip/pkg/coordinate"
	"github.com/findslip/findslip/pkg/find"
	"github.com/findslip/findslip/pkg/limit"
	"github.com/findslip/findslip/pkg/register"
	"github.com/findslip/findslip/pkg/testkit/cases"
	"github.com/findslip/findslip/schema"
)

func policySchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, _ := schema.Text("policy")
	s, err := jsonschema.CompileString(schema.ID("policy"), string(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const oneRow = `{"findslipPolicy": "1", "members": [ROW]}`

func TestPolicyIsStricter(t *testing.T) {
	published := policySchema(t)
	source := randomReport(rand.New(rand.NewPCG(41, 42)))
	for _, f := range source.Finds {
		f.Sensitivity, f.Notes = "open", "still bright"
	}
	for row, check := range map[string]func(*find.Find) bool{
		`{"member": "notes", "recorder": "withhold"}`: func(f *find.Find) bool {
			return f.Notes == "" &&
				f.Absent["/notes"] == "withheld"
		},
		`{"member": "position", "recorder": "cell"}`: func(f *find.Find) bool {
			return f.Generalised["/position"] == "grid-0.01" && f.Position.Verbatim == ""
		},
		`{"member": "position", "recorder": "cell-1"}`: func(f *find.Find) bool {
			return f.Generalised["/position"] == "grid-1"
		},
		`{"member": "position", "recorder": "withhold"}, {"member": "place", "recorder": ` +
			`"district"}`: func(f *find.Find) bool {
			return f.Position == nil && f.Absent["/position"] == "withheld" && f.Place.Name == "" && f.Place.Region == "Midshire"
		},
		`{"member": "found", "recorder": "year"}`: func(f *find.Find) bool {
			return f.Found.Date == "2026" &&
				f.Generalised["/found/date"] == "year"
		},
		`{"member": "depth", "recorder": "band"}`: func(f *find.Find) bool {
			return f.Depth == nil &&
				f.Layer.Code == "plough-depth-unclear" // nobody gave the plough depth
		},
		`{"member": "materials", "recorder": "codes"}`: func(f *find.Find) bool {
			return f.Materials[0].Verbatim == "" &&
				f.Materials[0].Code == "lead"
		},
	} {
		text := strings.Replace(oneRow, "ROW", row, 1)
		var v any
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		if err := published.Validate(v); err != nil {
			t.Errorf("%s: %v", row, err)
		}
		p, err := ReadPolicy(strings.NewReader(text), limit.Limits{})
		if err != nil {
			t.Errorf("%s: %v", row, err)
			continue
		}
		c, err := Copy(t.Context(), source, Options{Audience: Recorder, Policy: p})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range c.Report.Finds {
			if !check(f) {
				t.Errorf("%s: the recorder sees %+v", row, f)
			}
		}
	}
}

func TestPolicyIsNeverLooser(t *testing.T) {
	published := policySchema(t)
	for row, want := range cases.Table[map[string]string](t, "PolicyIsNeverLooser") {
		text := strings.Replace(oneRow, "ROW", row, 1)
		if _, err := ReadPolicy(strings.NewReader(text), limit.Limits{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", row, err, want)
		}
	}
	for _, text := range []string{``, `[]`, `{"findslipPolicy": "2", "members": []}`,
		`{"findslipPolicy": "1", "members": [], "audiences": {}}`, `{"members": []}`} {
		if _, err := ReadPolicy(strings.NewReader(text), limit.Limits{}); err == nil {
			t.Errorf("%q is read", text)
		}
		var v any
		if json.Unmarshal([]byte(text), &v) == nil && published.Validate(v) == nil {
			t.Errorf("the schema accepts %q", text)
		}
	}
}

// A policy that hides places hides them in the permissions too, and the leak check then knows them
// for secrets.
func TestPolicyHidesTheLand(t *testing.T) {
	p, err := ReadPolicy(strings.NewReader(strings.Replace(oneRow, "ROW",
		`{"member": "place", "recorder": "district"}, {"member": "position", "recorder": "cell"}, {"member": `+
			`"otherPositions", "recorder": "withhold"}, {"member": "found", "recorder": "month"}, {"member": "notes", `+
			`"recorder": "withhold"}, {"member": "materials", "recorder": "codes"}, {"member": "depth", "recorder": "codes"}`,
		1)), limit.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	source := randomReport(rand.New(rand.NewPCG(43, 44)))
	source.Title = "log"
	c, err := Copy(t.Context(), source, Options{Audience: Recorder, Policy: p})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range c.Report.Permissions {
		if x.Place != nil || x.Absent["/place"] != "withheld" {
			t.Errorf("the permission shows %+v", x)
		}
	}
	for format, data := range encodings(t, c.Report) {
		if strings.Contains(string(data), "Long Furlong") || strings.Contains(string(data),
			source.Finds[0].Position.Latitude.String()) {
			t.Errorf("%s shows the place", format)
		}
		if leaks := leaksOf(t, data, source, c, Recorder); len(leaks) > 0 {
			t.Errorf("%s: %v", format, leaks)
		}
	}
	f := source.Finds[0]
	for text, kind := range map[string]string{"at Long Furlong": "place",
		"at " + f.Position.Latitude.String(): "position"} {
		if leaks := leaksOf(t, []byte(text), source, c, Recorder); len(leaks) == 0 || leaks[0].Kind != kind {
			t.Errorf("%q: %v", text, leaks)
		}
	}
}

// The own land of a landowner is named by the id of a permission or by the name of the land; where a name
// is not of one permission alone, nothing is guessed.
func TestLandByName(t *testing.T) {
	source := &find.Report{Findslip: find.Version, ID: find.NewReportID(), Permissions: []find.Permission{
		{ID: "permission-1", Place: &find.Place{Name: "Long Furlong"}},
		{ID: "permission-2", Place: &find.Place{Name: "Chapel Piece"}},
		{ID: "permission-3", Place: &find.Place{Name: "chapel  piece"}}, {ID: "permission-4"}},
		Finds: []*find.Find{{ID: find.FindID("urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "1"), Number: "1",
			Permission: "permission-1"},
			{ID: find.FindID("urn:uuid:5a7a1d8e-6f0c-5a0e-9c3f-0f6a3c1d2b4e", "2"), Number: "2", Permission: "permission-2"}}}
	for _, name := range []string{"permission-1", "Long Furlong", " long  FURLONG "} {
		c, err := Copy(t.Context(), source, Options{Audience: Landowner, Permissions: []string{name}})
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		if len(c.Report.Finds) != 1 || c.Report.Finds[0].Number != "1" || len(c.Report.Permissions) != 1 {
			t.Errorf("%q: %d finds on %d permissions", name, len(c.Report.Finds), len(c.Report.Permissions))
		}
	}
	for name, want := range map[string]string{"Chapel Piece": "more than one",
		"Short Furlong": "it has permission-1, permission-2", "": "it has permission-1"} {
		if _, err := Copy(t.Context(), source, Options{Audience: Landowner, Permissions: []string{name}}); err == nil ||
			!strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "Furlong,") {
			t.Errorf("%q: %v, want %q", name, err, want)
		}
	}
	if _, err := Copy(t.Context(), source, Options{Audience: Landowner}); err == nil || !strings.Contains(err.Error(),
		"permission-4") {
		t.Errorf("no land named: %v", err)
	}
}

// Ids and cells as another program worked them out from the specification (testdata/vectors/sharing.json).
func TestVectors(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/vectors/sharing.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Secret string
		IDs    []struct{ Audience, Receiver, Object, ID string }
		Cells  []struct{ Latitude, Longitude, Side, CentreLatitude, CentreLongitude int64 }
	}
	if err := json.Unmarshal(raw, &file, json.MatchCaseInsensitiveNames(true)); err != nil {
		t.Fatal(err)
	}
	if len(file.IDs) == 0 || len(file.Cells) == 0 {
		t.Fatal("there are no vectors")
	}
	for _, v := range file.IDs {
		if got := register.KeyedID(file.Secret, v.Audience, v.Receiver, v.Object); got != v.ID {
			t.Errorf("%+v: %s", v, got)
		}
	}
	for _, v := range file.Cells {
		a := anchorOf(coordinate.Point{Latitude: float64(v.Latitude) / 1e7, Longitude: float64(v.Longitude) / 1e7})
		if lat, lon := cellAround(a, v.Side); lat != v.CentreLatitude || lon != v.CentreLongitude {
			t.Errorf("%+v: %d, %d", v, lat, lon)
		}
	}
}

// eachLeaf plants what its type can hold in every leaf of a record, one at a time, and takes it away again.
func eachLeaf(v reflect.Value, list []*node, secret string, figure find.Number, planted func(n *node)) {
	for _, n := range list {
		field := v.Field(n.index)
		before := reflect.New(field.Type()).Elem()
		before.Set(field)
		item := field
		switch {
		case field.Kind() == reflect.Pointer:
			item = reflect.New(field.Type().Elem()).Elem()
			if !field.IsNil() {
				item.Set(field.Elem())
			}
			field.Set(item.Addr())
		case field.Kind() == reflect.Slice && field.Type().Elem().Kind() != reflect.Uint8:
			list := reflect.MakeSlice(field.Type(), 1, 1)
			if item = list.Index(0); field.Len() > 0 {
				item.Set(field.Index(0))
			}
			field.Set(list)
		}
		switch item.Kind() {
		case reflect.String:
			item.SetString(secret)
		case reflect.Slice:
			item.SetBytes([]byte(`{"x-whim":"` + secret + `","type":"` + secret + `"}`))
		case reflect.Map:
			item.Set(reflect.ValueOf(map[string]string{secret: secret}))
		case reflect.Struct:
			if item.Type() == numberType {
				item.Set(reflect.ValueOf(figure))
			}
		}
		if n.children != nil {
			eachLeaf(item, n.children, secret, figure, planted)
		} else if n.path != "finds.id" && n.path != "people.id" && n.path != "permissions.id" && n.path != "outings.id" {
			planted(n)
		}
		field.Set(before)
	}
}

// A secret stands in no copy for those who see places by cells, whatever leaf it was written into: leaves of closed
// forms hold what is of their form, others words that are known. What a thing is worth and where it is kept stands in
// no leaf of words of the others' copies but those of names, numbers and places, as they are looked at apart.
func TestSecretInEveryLeaf(t *testing.T) {
	source := fieldAt([2]float64{52.4999, -1.2001})
	f := source.Finds[0]
	q := func(unit string) *find.Quantity {
		return &find.Quantity{Min: find.Int(3), Max: find.Int(3), Unit: unit}
	}
	f.Weight, f.Count, f.Depth = q("g"), q(""), &find.Depth{Quantity: *q("cm")}
	f.Dimensions = &find.Dimensions{Length: q("mm"), Width: q("mm"), Height: q("mm"), Thickness: q("mm"),
		Diameter: q("mm")}
	f.Lot = &find.Lot{Breakdown: []find.Breakdown{{Name: "key", Count: q(""), Weight: q("g")}}}
	f.Dating = &find.Dating{Date: "1830", Earliest: find.Int(1830), Latest: find.Int(1830),
		Period: &find.Period{Label: "Roman"}}
	f.Owners, f.ObjectClass = []find.Owner{{Code: "finder"}}, &find.Term{Code: "button"}
	f.Outing, f.Finder, f.Sensitivity = "outing-1", "person-1", "open"
	source.People = []find.Person{{ID: "person-1", Consents: []find.Consent{{Audience: "club"}}}}
	source.Outings = []find.Outing{{ID: "outing-1", Permission: "permission-1", Date: "2026-04-01"}}
	figure := find.Float(5270.66391)
	leaves := 0
	for _, secret := range []string{"old-tamsin", "1830, tamsin", "in the biscuit tin, worth 300 pounds"} {
		check := func(n *node) {
			leaves++
			for _, a := range []Audience{Public, Expert, Club, Partner, Recorder, Landowner} {
				class := published().leaves[n.path]
				if !a.coarse() && (!strings.Contains(secret, " tin") || n.shape == nil && unspoken[class]) ||
					published().action(n.path, a) == consent {
					continue
				}
				c, err := Copy(t.Context(), source, Options{Audience: a, Day: "2026-06-01", Receiver: "somebody"})
				if err != nil {
					continue // it says so
				}
				var b bytes.Buffer
				if err := find.EncodeJSON(&b, find.StreamOf(c.Report)); err != nil {
					t.Fatal(err)
				}
				if text := b.String(); strings.Contains(text, secret) || a.coarse() && strings.Contains(text, figure.String()) {
					t.Errorf("%s for %s: %q is told", n.path, a, secret)
				}
			}
		}
		eachLeaf(reflect.ValueOf(source).Elem(), nodes()[""], secret, figure, check)
		eachLeaf(reflect.ValueOf(f).Elem(), nodes()["finds"], secret, figure, check)
		eachLeaf(reflect.ValueOf(&source.People[0]).Elem(), nodes()["people"], secret, figure, check)
		eachLeaf(reflect.ValueOf(&source.Permissions[0]).Elem(), nodes()["permissions"], secret, figure, check)
		eachLeaf(reflect.ValueOf(&source.Outings[0]).Elem(), nodes()["outings"], secret, figure, check)
	}
	if leaves < 3*500 {
		t.Errorf("only %d leaves were tried", leaves)
	}
}
