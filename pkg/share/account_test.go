package share

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/go-json-experiment/json"

	"github.com/findslip/findslip/pkg/find"
)

// texts counts the values of a record in JSON by pointer, the items of a list under the pointer of the list.
func texts(t *testing.T, record any) map[string]int {
	t.Helper()
	raw, err := find.Marshal(record)
	if err != nil {
		t.Fatal(err)
	}
	var tree any
	if err := json.Unmarshal(raw, &tree); err != nil {
		t.Fatal(err)
	}
	out := map[string]int{}
	var walk func(at string, v any)
	walk = func(at string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for name, inner := range v {
				walk(at+"/"+name, inner)
			}
		case []any:
			for _, inner := range v {
				walk(at, inner)
			}
		default:
			out[at]++
		}
	}
	walk("", tree)
	return out
}

// fill gives every member of a record a value, in lists one.
func fill(v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem())
	case reflect.Slice:
		if v.Type().Elem().Kind() != reflect.Uint8 {
			v.Set(reflect.MakeSlice(v.Type(), 1, 1))
			fill(v.Index(0))
		}
	case reflect.Map:
		v.Set(reflect.ValueOf(map[string]string{"Mood": "sunny"}))
	case reflect.String:
		v.SetString("word")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Struct:
		if v.Type() == numberType {
			v.Set(reflect.ValueOf(find.Int(1)))
			return
		}
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; name != "Unknown" && name != "Absent" && name != "Generalised" {
				fill(v.Field(i))
			}
		}
	}
}

func accountedReports(t *testing.T) map[string]*find.Report {
	t.Helper()
	out := map[string]*find.Report{}
	names, err := filepath.Glob("../../testdata/valid/*.json")
	if err != nil || len(names) == 0 {
		t.Fatalf("no valid reports: %v", err)
	}
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		s, err := find.DecodeJSON(f, find.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r := *s.Report
		for e, err := range s.Entries {
			if err != nil {
				t.Fatal(err)
			}
			if e.Find != nil {
				r.Finds = append(r.Finds, clone(e.Find))
			}
		}
		out[filepath.Base(name)] = &r
	}
	for _, sensitivity := range []string{"", "open", "coarse", "restricted"} {
		f, p, m, o := new(find.Find), new(find.Person), new(find.Permission), new(find.Outing)
		for _, record := range []any{f, p, m, o} {
			fill(reflect.ValueOf(record).Elem())
		}
		f.Found.Date, f.Sensitivity, f.Extensions = "2026-04-12", sensitivity, []byte(`{"x-a":{"b":"word"}}`)
		f.Unknown, f.Depth.Unknown, f.Media[0].Unknown, f.Retracted.Unknown = []byte(`{"whim":"zanzibar"}`), []byte(`{"whim":"zanzibar"}`), []byte(`{"whim":"zanzibar"}`), []byte(`{"whim":"zanzibar"}`)
		f.Materials = append(f.Materials, find.Material{Term: find.Term{Verbatim: "lead, or pewter"}}, find.Material{Term: find.Term{Code: "lead"}})
		p.ID, m.ID, o.ID, f.Finder, f.Permission, f.Outing, o.Permission = "person-1", "permission-1", "outing-1", "person-1", "permission-1", "outing-1", "permission-1"
		p.Unknown, m.Unknown, o.Unknown, m.Place.Unknown = f.Unknown, f.Unknown, f.Unknown, f.Unknown
		p.Consents[0].Audience = string(Recorder)
		r := &find.Report{Findslip: find.Version, ID: find.NewReportID(), Title: "a log", Accepted: []find.Acceptance{{Code: "word"}}, Extensions: f.Extensions,
			People: []find.Person{*p}, Permissions: []find.Permission{*m}, Outings: []find.Outing{*o}, Finds: []*find.Find{f}}
		out["everything, "+sensitivity] = r
	}
	return out
}

// Requirement 9-1, for every audience and every member: what a record of the source has and its copy has
// not is named in absent or lies in what generalised names, and what absent names anew the source had and
// the copy has not. Of what the format does not know nothing is left, at any depth, nor is it named.
func TestEverythingTakenAwayIsNamed(t *testing.T) {
	for name, source := range accountedReports(t) {
		for _, a := range Audiences() {
			t.Run(fmt.Sprint(name, ", ", a), func(t *testing.T) {
				o := Options{Audience: a}
				switch {
				case a == Landowner && len(source.Permissions) == 0:
					return // nobody's land
				case a == Landowner:
					o.Permissions = []string{source.Permissions[0].ID}
				}
				c, err := Copy(t.Context(), source, o)
				if err != nil {
					t.Fatal(err)
				}
				for _, f := range c.Report.Finds {
					id := f.ID
					if back := c.Back[id]; back != "" {
						id = back
					}
					i := slices.IndexFunc(source.Finds, func(s *find.Find) bool { return s.ID == id })
					if i < 0 {
						continue // the record that counts what is closed
					}
					s := source.Finds[i]
					exempt := []string{"/source", "/changed", "/media/sha256"}
					compare(t, "find", a, texts(t, s), texts(t, f), s.Absent, f.Absent, f.Generalised, exempt)
				}
				for i := range c.Report.People {
					p := &c.Report.People[i]
					s := source.Person(p.ID)
					compare(t, "person", a, texts(t, s), texts(t, p), s.Absent, p.Absent, nil, nil)
				}
				for i := range c.Report.Permissions {
					p := &c.Report.Permissions[i]
					s := source.Permission(p.ID)
					compare(t, "permission", a, texts(t, s), texts(t, p), s.Absent, p.Absent, nil, nil)
				}
				for i := range c.Report.Outings {
					o := &c.Report.Outings[i]
					s := source.Outing(o.ID)
					compare(t, "outing", a, texts(t, s), texts(t, o), s.Absent, o.Absent, nil, nil)
				}
				head, was := *c.Report, *source
				head.People, head.Permissions, head.Outings, head.Finds = nil, nil, nil, nil
				was.People, was.Permissions, was.Outings, was.Finds = nil, nil, nil, nil
				exempt := []string{"/id", "/findslip", "/idBasis", "/changed", "/generator", "/vocabularyVersion", "/audience", "/copyOf", "/extensionsUsed",
					"/title", "/people", "/permissions", "/outings"}
				compare(t, "report", a, texts(t, &was), texts(t, &head), was.Absent, head.Absent, nil, exempt[:9], exempt[9:]...)
			})
		}
	}
}

// compare holds the marks of a copy to what went; stock are marks that copies have whether there was
// something or not.
func compare(t *testing.T, what string, a Audience, source, copied map[string]int, before, absent, generalised map[string]string, exempt []string, stock ...string) {
	t.Helper()
	if a == Self {
		for pointer, n := range source {
			if copied[pointer] != n && !slices.Contains(exempt, pointer) {
				t.Errorf("%s: the finder's own copy has not all of %s", what, pointer)
			}
		}
		return
	}
	under := func(pointer string, of map[string]string) bool {
		for p := range of {
			if of[p] != "" && (pointer == p || strings.HasPrefix(pointer, p+"/")) {
				return true
			}
		}
		return false
	}
	for pointer, n := range source {
		if copied[pointer] >= n || strings.HasPrefix(pointer, "/absent") || strings.HasPrefix(pointer, "/generalised") || slices.ContainsFunc(exempt, func(e string) bool { return pointer == e || strings.HasPrefix(pointer, e+"/") }) {
			continue
		}
		if strings.HasSuffix(pointer, "/whim") {
			continue
		}
		if !under(pointer, absent) && !under(pointer, generalised) {
			t.Errorf("%s: %s went and nothing says so", what, pointer)
		}
	}
	for pointer := range copied {
		if strings.HasSuffix(pointer, "/whim") {
			t.Errorf("%s: %s, which the format does not know, is still there", what, pointer)
		}
	}
	for pointer, how := range absent {
		if how != "withheld" || before[pointer] != "" || slices.Contains(stock, pointer) {
			continue
		}
		had, has := 0, 0
		for p, n := range source {
			if under(p, map[string]string{pointer: how}) {
				had, has = had+n, has+copied[p]
			}
		}
		if strings.HasSuffix(pointer, "/whim") || had <= has && pointer != "/position" {
			t.Errorf("%s: absent names %s, and nothing of it went", what, pointer)
		}
	}
}
